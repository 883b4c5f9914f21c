"""A server of its own for the rehearsal: another process, on loopback only."""

from __future__ import annotations

import subprocess
import sys
import time
from importlib.util import find_spec
from pathlib import Path

START_SECONDS = 60


class ServerNotStarted(RuntimeError):
    """The server did not come up; holds what it printed."""


class ServerProcess:
    """Starts `stancebook server --demo` on a free port of this machine."""

    def __init__(self, folder: Path) -> None:
        if find_spec("uvicorn") is None:
            # The command says which extra brings it.
            raise ModuleNotFoundError("uvicorn is not installed", name="uvicorn")
        folder.mkdir(parents=True, exist_ok=True)
        self.store = folder / "stancebook.server"
        self._log = folder / "server.log"
        self._code = folder / "enrolment-code"
        self._out = self._log.open("w", encoding="utf-8")
        self._process = subprocess.Popen(
            [
                sys.executable, "-m", "sync_server.main", "--demo", "--port", "0",
                "--store", str(self.store), "--print-code", str(self._code),
            ],
            stdout=self._out, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
        )
        self.address = self._wait_for_address()
        self.code = self._code.read_text("utf-8").strip()

    def _wait_for_address(self) -> str:
        end = time.monotonic() + START_SECONDS
        while time.monotonic() < end:
            for line in self._log.read_text("utf-8").splitlines():
                if "listening on " in line:
                    return line.partition("listening on ")[2].strip()
            if self._process.poll() is not None:
                break
            time.sleep(0.05)
        self.close()
        raise ServerNotStarted(self._log.read_text("utf-8")[-2000:])

    def close(self) -> None:
        """End the server; what it acknowledged is durable."""
        if self._process.poll() is None:
            self._process.terminate()
            try:
                self._process.wait(timeout=10)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._process.wait()
        self._out.close()
