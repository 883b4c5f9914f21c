"""Judging anew, beside serving, what very many verdicts rest on: see ``ledger.judging_anew``."""

from __future__ import annotations

import json
import logging
import threading
import time
import traceback

from shared_models.ledger.judging_anew import PIECE, clinics_waiting, next_marked
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal
from sync_server.services.station import Station

_LOG = logging.getLogger("stancebook.server.judging")
#: So often it is looked for what another process marked or left, in seconds.
LOOK_EVERY_S = 20.0
#: After each piece others get at least this long; otherwise as long as the piece took.
SHORTEST_PAUSE_S = 0.02


class JudgingAnew:
    """A thread that works off what is marked, in pieces, leaving half of the time to pushes and pages."""

    def __init__(self, station: Station) -> None:
        self._station = station
        self._ended = threading.Event()
        #: What could not be judged by this program: our fault, logged once; the rest goes on.
        self._set_aside: set[tuple[str, str, str]] = set()
        self._thread = threading.Thread(target=self._run, name="judging-anew", daemon=True)

    def __enter__(self) -> "JudgingAnew":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._ended.set()
        self._station.marked.set()
        self._thread.join(timeout=10)

    def _run(self) -> None:
        while not self._ended.is_set():
            self._station.marked.clear()
            try:
                self.work_off()
            except Refusal as refusal:  # the disk is full, the database away: later
                _say(logging.WARNING, "judging_waits", code=refusal.code)
            self._station.marked.wait(LOOK_EVERY_S)

    def work_off(self) -> int:
        """Judge all that is marked; return how many pieces it took."""
        pieces = 0
        with self._station.store.reading() as connection:
            clinics = list(clinics_waiting(connection))
        for clinic in clinics:
            while not self._ended.is_set() and self._piece(clinic):
                pieces += 1
        return pieces

    def _piece(self, clinic: str) -> bool:
        """Judge one piece and give others their turn; False when nothing is left."""
        began = time.monotonic()
        left = {(sort, id_) for of, sort, id_ in self._set_aside if of == clinic}
        try:
            done = self._station.judge_piece(clinic, without=left)
        except Refusal:
            raise
        except Exception:
            done = self._one_by_one(clinic, left)
        self._ended.wait(max(SHORTEST_PAUSE_S, time.monotonic() - began))
        return bool(done)

    def _one_by_one(self, clinic: str, left: set[tuple[str, str]]) -> bool:
        """Find the one in a piece that can't be judged, and set it aside."""
        for _ in range(PIECE):
            try:
                if not self._station.judge_piece(clinic, most=1, without=left):
                    return False
            except Refusal:
                raise
            except Exception as error:
                self._set_aside_next(clinic, left, error)
        return True

    def _set_aside_next(self, clinic: str, left: set[tuple[str, str]], error: Exception) -> None:
        """Leave out what is next; the log says what the fault was and where, and no word of a record."""
        with self._station.reading(clinic) as reading:
            aside = next_marked(reading, 1, left)
        place = traceback.extract_tb(error.__traceback__)[-1]
        _say(
            logging.ERROR, "not_judged", sort=aside[0][0] if aside else "",
            error=f"{type(error).__module__}.{type(error).__name__}", where=f"{place.name}:{place.lineno}",
        )
        for sort, id_ in aside:
            left.add((sort, id_))
            self._set_aside.add((clinic, sort, id_))


def _say(level: int, event: str, **fields: str) -> None:
    """One line of the operator's log, of the form of the others."""
    _LOG.log(level, json.dumps({"at": moment_text(now_here()), "event": event, **fields}))
