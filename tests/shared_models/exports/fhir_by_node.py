"""A fourth check of a FHIR bundle: the npm package ``fhir``, by the structure definitions of R4.

It is no part of the project and is asked only where it was installed:
``npm install --ignore-scripts --prefix FOLDER fhir@4.12.0`` and
``STANCEBOOK_NODE_FHIR=FOLDER``.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

#: Reads one bundle a line, writes one list of errors a line.
_ASKS = """
const { Fhir } = require(process.argv[1] + '/node_modules/fhir');
const fhir = new Fhir();
for (const line of require('fs').readFileSync(0, 'utf8').split('\\n').filter(Boolean)) {
  const found = fhir.validate(JSON.parse(line), { errorOnUnexpected: true });
  const wrong = found.messages.filter(m => m.severity === 'error' || m.severity === 'fatal');
  console.log(JSON.stringify(wrong.map(m => `${m.location}: ${m.message}`)));
}
"""


def why_not() -> str:
    """Return why it can't be asked; '' when it can."""
    folder = os.environ.get("STANCEBOOK_NODE_FHIR", "")
    if not folder:
        return "STANCEBOOK_NODE_FHIR names no folder with the npm package fhir"
    if not shutil.which("node"):
        return "there is no Node here"
    if not (Path(folder) / "node_modules" / "fhir").is_dir():
        return "the folder that STANCEBOOK_NODE_FHIR names does not hold node_modules/fhir"
    return ""


def errors_of(bundles: list[dict[str, Any]]) -> list[list[str]]:
    """Return what it finds wrong in each bundle."""
    done = subprocess.run(
        ["node", "-e", _ASKS, os.environ["STANCEBOOK_NODE_FHIR"]], check=True, capture_output=True, text=True,
        input="\n".join(json.dumps(bundle) for bundle in bundles), timeout=300,
    )
    return [json.loads(line) for line in done.stdout.splitlines()]
