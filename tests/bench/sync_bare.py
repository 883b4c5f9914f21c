"""The other side of the bench: the bare route, and a client as bare as itself."""

from __future__ import annotations

import base64
import json
import sqlite3
import subprocess
import sys
from pathlib import Path

import httpx

from tests.bench.sync_measured import Counting, Typed, Watched, photo

BATCH = 400
CORRECTIONS = 10


class Bare:
    """Documents of 2 KB in one server's file and one client's, both durable."""

    def __init__(self, folder: Path, entries: int, rounds: int) -> None:
        self._entries, self._rounds, self._typed = entries, rounds, Typed(1)
        folder.mkdir(parents=True)
        self._server = subprocess.Popen(
            [sys.executable, str(Path(__file__).with_name("bare_server.py")), str(folder / "bare.sqlite")],
            stdout=subprocess.PIPE, text=True,
        )
        assert self._server.stdout is not None
        self._address = self._server.stdout.readline().split()[-1]
        self._wire = Counting()
        self._client = httpx.Client(transport=self._wire, timeout=120)
        self._here = sqlite3.connect(folder / "client.sqlite", isolation_level=None)
        for setting in ("journal_mode = WAL", "synchronous = FULL"):
            self._here.execute(f"PRAGMA {setting}")
        self._here.execute("CREATE TABLE doc (id TEXT PRIMARY KEY, body TEXT)")
        self._held = self._cursor = 0
        self._first: list[dict] = []

    def fill(self, held: int) -> None:
        """Push and pull until so many documents are held; not measured."""
        while self._held < held:
            self._push(self._documents(min(2000, held - self._held)))
        self._pull()

    def measure(self) -> Watched:
        """Measure every case at what is held now."""
        watched = Watched(self._server.pid, self._wire)
        for _ in range(self._rounds):
            documents = self._documents(self._entries)
            with watched.round(f"push {self._entries} entries", self._entries):
                self._push(documents)
            with watched.round(f"pull {self._entries} entries", self._entries):
                self._pull()
        for _ in range(self._rounds):
            with watched.round("nothing new"):
                self._pull()
        for number in range(self._rounds):
            with watched.round("ten corrections, push", CORRECTIONS):
                self._push([{**doc, "position": str(number)} for doc in self._first])
            with watched.round("ten corrections, pull", CORRECTIONS):
                self._pull()
        for number in range(self._rounds):
            seen = {**self._first[0], "photo": base64.b64encode(photo(number)).decode()}
            with watched.round("a photo, first time", 1):
                self._push([seen])
            with watched.round("a photo, after its words changed", 1):
                self._push([{**seen, "text": "seen from the side"}])
        self._pull()
        return watched

    def close(self) -> str:
        """End all."""
        self._server.terminate()
        self._server.wait()
        return f"at the end {self._held} documents"

    def _documents(self, count: int) -> list[dict]:
        found = [
            {"id": f"doc-{number}", "text": self._typed.text(1940), "position": str(number % 9)}
            for number in range(self._held, self._held + count)
        ]
        self._first = self._first or found[:CORRECTIONS]
        self._held += count
        return found

    def _push(self, documents: list[dict]) -> None:
        for start in range(0, len(documents), BATCH):
            self._client.post(self._address + "/docs", json=documents[start:start + BATCH]).raise_for_status()

    def _pull(self) -> None:
        while True:
            answer = self._client.get(f"{self._address}/docs?after={self._cursor}").json()
            if not answer["docs"]:
                return
            self._here.execute("BEGIN IMMEDIATE")
            self._here.executemany("INSERT OR REPLACE INTO doc VALUES (?, ?)", [
                (doc["id"], json.dumps(doc)) for doc in answer["docs"]
            ])
            self._here.execute("COMMIT")
            self._cursor = answer["next"]
