"""A tablet with thousands of fittings on it, made from one whole fitting.

Every entry is truly digested, chained and sealed; only the signatures of the
one fitting are not made again for its copies, so these stand as not signed.
Beyond ``WHOLE`` fittings the copies hold their opening only: what a list, a
search and an unlocking cost does not depend on it, and the store stays small
enough to be made while somebody waits.
"""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path

import uuid6

from shared_models.checks.summarising import summary_of
from shared_models.checks.verdict import judge
from shared_models.entries.envelope import Entry, entry_from
from shared_models.quantities.moments import now_here
from mobile.keeping.tablet import Newcomer, Tablet
from tests.fitting_desk import CLINIC, PROSTHETIST, Desk
from tests.shared_models.making import CHEAP

PIN = "604815"
WHOLE = 2_000
GIVEN = ("Ada", "Bo", "Cleo", "Dara", "Emre", "Fia", "Gil", "Hana", "Ivo", "Juniper")
#: So many entries go into one transaction.
_AT_ONCE = 4_000
_THIN = ("identity", "opened")


def make(folder: Path, count: int) -> None:
    """Make a tablet's folder with ``count`` invented fittings."""
    desk = Desk.finished()
    tablet = Tablet(folder, CHEAP)
    session = tablet.found(CLINIC, "Big clinic (invented)", [
        Newcomer(PROSTHETIST, "Pia Example (invented)", ("prosthetist",), PIN),
    ])
    entries = sorted(desk.record.entries.values(), key=lambda e: e.order)
    common = [e for e in entries if e.subject.type not in ("fitting", "person")]
    session.entries.add_all([e for e in common if e.subject.id != PROSTHETIST])
    own = [e for e in entries if e.subject.type in ("fitting", "person")]
    copier = _Copier(own, desk.fitting.id)
    waiting: list[Entry] = []
    for number in range(count):
        waiting += copier.copy(number, only=() if number < WHOLE else _THIN)
        if len(waiting) >= _AT_ONCE or number == count - 1:
            session.entries.add_all(waiting)
            waiting = []
    _summaries(session, copier.people)
    tablet.close()


class _Copier:
    def __init__(self, entries: list[Entry], fitting: str) -> None:
        self._entries, self._fitting = entries, fitting
        self._number, self._previous = 0, ""
        #: Fitting id -> what is different in its summary.
        self.people: dict[str, dict[str, str]] = {}

    def copy(self, number: int, only: tuple[str, ...]) -> list[Entry]:
        """Return the entries of one more fitting, on the chain of another tablet."""
        fitting, person = str(uuid6.uuid7()), str(uuid6.uuid7())
        names = {
            "given_name": GIVEN[number % len(GIVEN)], "family_name": f"Example-{number:05d}",
            "file_number": f"D-{number:05d}",
        }
        self.people[fitting] = {"person": person, **names}
        digests: dict[str, str] = {}
        made = []
        for entry in self._entries:
            if only and entry.kind not in only:
                continue
            envelope = dict(entry.envelope)
            envelope["id"] = str(uuid6.uuid7())
            is_fitting = entry.subject.type == "fitting"
            envelope["subject"] = {"type": entry.subject.type, "id": fitting if is_fitting else person}
            body = dict(entry.body)
            body |= {"person": person} if "person" in body else {}
            body |= names if entry.kind == "identity" else {}
            envelope["body"] = body
            for name in ("rests_on", "replaces"):
                envelope[name] = sorted(digests.get(d, d) for d in envelope[name])
            self._number += 1
            envelope |= {"tablet": "tablet-of-before", "number": self._number, "previous": self._previous}
            envelope["clock"] = f"{int(entry.clock[:12], 16) + number * 60_000:012x}{entry.clock[12:]}"
            copied = entry_from(envelope)
            digests[entry.digest] = self._previous = copied.digest
            made.append(copied)
        return made


def _summaries(session, people: dict[str, dict[str, str]]) -> None:
    """Work out one whole and one thin summary, and keep the others with their own names."""
    rows = session.entries.summary_rows()
    worked: dict[bool, object] = {}
    thin = set(list(people)[WHOLE:])
    with session.entries._store.together():
        for row in rows:
            is_thin = row.fitting in thin
            if is_thin not in worked:
                view = session.record.view_alone(row.fitting)
                worked[is_thin] = summary_of(view, judge(view, now_here().date()), session.tablet)
            said = replace(worked[is_thin], fitting=row.fitting, **people[row.fitting])
            session.entries.keep_summary(row, said.person, asdict(said))
