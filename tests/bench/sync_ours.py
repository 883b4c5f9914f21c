"""This project's side of the bench: a server process, a tablet that records and one that fetches."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

from mobile.demo import demo_newcomers
from mobile.keeping.courier import Courier
from mobile.keeping.line import open_client
from mobile.keeping.session import Session
from mobile.keeping.tablet import Tablet
from mobile.rehearsal.server_process import ServerProcess
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import new_key, public_text
from tests.bench.sync_measured import Counting, Typed, Watched, photo
from tests.shared_models.making import CHEAP

ROOT = Path(__file__).resolve().parents[2]
A_FITTING = 40  # entries; more would make one fitting's history, not a clinic's
AT_ONCE = 2000
CORRECTIONS = 10
SLOT = "setting/swing_flexion"


class Ours:
    """One server, two tablets; ``held`` entries of the bench lie in all three stores."""

    def __init__(self, folder: Path, entries: int, rounds: int) -> None:
        self._entries, self._rounds, self._typed = entries, rounds, Typed(1)
        self._folder = folder
        self._server = ServerProcess(folder / "server")
        self._wire = Counting()
        self._tablet, self._a, self._send = self._joined("a", self._server.code)
        self._other, self._b, self._fetch = self._joined("b", self._another_code())
        self._held = self._photos = 0
        self._settle()

    def fill(self, held: int) -> None:
        """Record until so many entries are held, and bring them everywhere; not measured."""
        while self._held < held:
            self._record(min(AT_ONCE, held - self._held))
            self._sync(self._a, self._send)
        self._settle()

    def measure(self) -> Watched:
        """Measure every case at what is held now."""
        watched = Watched(self._server._process.pid, self._wire)
        for _ in range(self._rounds):
            self._record(self._entries)
            with watched.round(f"push {self._entries} entries", self._entries):
                self._sync(self._a, self._send)
            with watched.round(f"pull {self._entries} entries", self._entries):
                self._sync(self._b, self._fetch)
        self._settle()
        for _ in range(self._rounds):
            with watched.round("nothing new"):
                self._sync(self._a, self._send)
        for number in range(self._rounds):
            self._correct(number)
            with watched.round("ten corrections, push", CORRECTIONS):
                self._sync(self._a, self._send)
            with watched.round("ten corrections, pull", CORRECTIONS):
                self._sync(self._b, self._fetch)
        for _ in range(self._rounds):
            entry = self._with_photo()
            with watched.round("a photo, first time", 1):
                self._sync(self._a, self._send)
            self._a.correct(entry, {**entry.body, "note": "seen from the side"}, "mistyped")
            with watched.round("a photo, after its words changed", 1):
                self._sync(self._a, self._send)
        return watched

    def close(self) -> str:
        """End all; return what the stores say of themselves."""
        self._settle()
        clinic, stores = self._a.clinic, [self._a.entries, self._b.entries]
        one, other = (entries.fingerprint(clinic) for entries in stores)
        held = stores[0].count(clinic)
        self._tablet.close(), self._other.close()
        self._server.close()
        verified = subprocess.run(
            [sys.executable, "-m", "shared_models.command", "verify", str(self._server.store)],
            cwd=ROOT, capture_output=True, text=True,
        )
        return (f"at the end {held} entries on each tablet, the same on both: {one == other}; stancebook verify "
                f"of the server's store: {(verified.stdout or verified.stderr).strip().splitlines()[-1]}")

    def _joined(self, name: str, code: str) -> tuple[Tablet, Session, Courier]:
        courier = Courier(lambda: open_client(self._wire), works_ahead=True)
        key = new_key()
        enrolment = courier.enrol(self._server.address, code, f"bench-{name}", public_text(key))
        tablet = Tablet(self._folder / name, CHEAP)
        return tablet, tablet.join(enrolment, courier.fetch_all(enrolment), key, demo_newcomers()[0]), courier

    def _another_code(self) -> str:
        told = subprocess.run(
            [sys.executable, "-m", "sync_server.main", "--store", str(self._server.store), "--enrol-code"],
            cwd=ROOT, capture_output=True, text=True, timeout=120, check=True,
        )
        return told.stdout.rpartition(": ")[2].strip()

    def _sync(self, session: Session, courier: Courier) -> Any:
        found = courier.sync(session, lambda _words, _share: None, session.absorb, lambda: False)
        if found.refused:
            raise RuntimeError(f"refused: {found.refused[:3]}")
        return found

    def _settle(self) -> None:
        for session, courier in ((self._a, self._send), (self._b, self._fetch), (self._a, self._send)):
            self._sync(session, courier)

    def _record(self, count: int) -> None:
        """Record entries of about 2 KB, composed as ever and stored in one transaction."""
        made: list[Entry] = []
        for number in range(self._held, self._held + count):
            at = number % A_FITTING
            body = {
                "function": ("swing_flexion", "stance_threshold")[number % 2],
                "position": str(number % 9 + 1), "reason": "trial",
            }
            entry = self._a.author.record_fact(
                "setting", Subject("fitting", f"bench-{number // A_FITTING}"), body, self._a.staff,
                note=self._typed.text(1450) if at > 1 else "",
            )
            self._a.author.accepted(entry)
            self._a.record.add([entry])
            made.append(entry)
        self._a.entries.add_all(made)
        self._held += count

    def _correct(self, number: int) -> None:
        for at in range(CORRECTIONS):
            fitting = self._a.fitting(f"bench-{at % 5}")
            wrong = fitting.head(SLOT)
            position = str((number * CORRECTIONS + at) % 9 + 1)
            self._a.correct(wrong, {**wrong.body, "position": position}, "mistyped")

    def _with_photo(self) -> Entry:
        self._photos += 1
        data = photo(self._photos)
        return self._a.save("photo", Subject("fitting", "bench-0"), {
            "photo": f"photo-{self._photos}", "shows": "other", "sha256": self._a.entries.keep_attachment(data),
            "media_type": "image/jpeg", "size_kb": str(len(data) // 1000),
            "width_px": "1600", "height_px": "1200",
        })

