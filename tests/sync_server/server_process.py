"""A real server process over a store that others may serve as well."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path


class ServerProcess:
    """``python -m sync_server.main`` on a free port; ``address`` once it listens."""

    def __init__(self, store: str, key_file: Path, *more: str, **environment: str) -> None:
        self._log = tempfile.TemporaryFile("w+", encoding="utf-8")  # a full pipe would halt it
        self._process = subprocess.Popen(
            [sys.executable, "-m", "sync_server.main", "--port", "0", *more],
            env={**os.environ, "STANCEBOOK_STORE": store, "STANCEBOOK_KEY_FILE": str(key_file), **environment},
            stdout=subprocess.PIPE, stderr=self._log, text=True,
        )
        self.said: list[str] = []
        self.address = ""
        for line in iter(self._process.stdout.readline, ""):
            self.said.append(line)
            if "listening on" in line:
                self.address = line.split()[-1]
                break
        assert self.address, self._logged()

    def kill(self) -> None:
        """End it as a power cut would."""
        self._process.kill()
        self._process.wait(timeout=20)
        self._process.stdout.close()

    def stop(self) -> int:
        """Ask it to end; return its exit code, and keep what it said."""
        if self._process.poll() is None:
            self._process.terminate()
        code = self._process.wait(timeout=30)
        if not self._process.stdout.closed:
            self.said += self._process.stdout.readlines()
            self._process.stdout.close()
            self.said += self._logged().splitlines(keepends=True)
        return code

    def _logged(self) -> str:
        self._log.seek(0)
        return self._log.read()
