"""Which way imports point is a contract, and the check of it can fail."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("shared_models", "mobile", "sync_server")


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the contract of a folder's pyproject on that folder's packages."""
    return subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()",
         "--no-cache"],
        cwd=folder, capture_output=True, text=True, timeout=300, check=False,
        env={**os.environ, "PYTHONPATH": str(folder), "PYTHONIOENCODING": "utf-8"},
    )


@pytest.fixture(scope="module")
def copy(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("contract")
    shutil.copy(ROOT / "pyproject.toml", folder)
    for name in PACKAGES:
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    return folder


def test_every_import_points_the_way_the_contract_says():
    found = lint(ROOT)
    assert found.returncode == 0, found.stdout + found.stderr


@pytest.mark.parametrize(("module", "line"), [
    ("shared_models/quantities/planted.py", "import shared_models.entries.envelope"),
    ("shared_models/checks/planted.py", "import sqlalchemy"),
    ("shared_models/wording/planted.py", "import kivy.clock"),
    ("shared_models/entries/planted.py", "import pydantic"),
    ("mobile/keeping/planted.py", "import kivy.clock"),
    ("mobile/widgets/planted.py", "import shared_models.quantities.moments"),
    ("mobile/device/planted.py", "import sync_server"),
    ("sync_server/services/planted.py", "import fastapi"),
    ("shared_models/chores/__init__.py", "WITHOUT_A_PLACE = True"),
])
def test_a_planted_import_breaks_the_contract(copy, module, line):
    planted = copy / module
    planted.parent.mkdir(exist_ok=True)
    planted.write_text(line + "\n", encoding="utf-8")
    try:
        found = lint(copy)
    finally:
        planted.unlink()
        if planted.name == "__init__.py":
            shutil.rmtree(planted.parent)
    assert found.returncode != 0
    said = found.stdout + found.stderr
    assert "planted" in said or "chores" in said
