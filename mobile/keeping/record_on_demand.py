"""The record of a tablet, read from its store one fitting at a time.

What the clinic holds in common (people at work, keys, tablets, component
sheets) is read at once; a fitting and its person are read when somebody asks
for them, and only the last few stay in memory, so that a tablet with thousands
of fittings opens as quickly as one with ten.  Whatever is in memory is the
same fold over the same entries as if all of them had been read.
"""

from __future__ import annotations

import threading
from typing import Iterable, Mapping

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.entries.signatures import Signature
from shared_models.entries.slots import Slot
from shared_models.ledger.store import EntryStore

#: Types of subject that are read when asked for; there may be thousands.
ON_DEMAND = ("fitting", "person")
#: How many of each stay in memory: those opened in a day, with some to spare.
KEPT = 12


class RecordOnDemand(Record):
    """Folds what is asked for; what is added is taken in where it is in memory.

    Whoever adds entries has stored them before, so what is not in memory is
    found in the store when it is asked for.
    """

    def __init__(self, store: EntryStore, kept: int = KEPT) -> None:
        super().__init__()
        self._store, self._kept = store, kept
        #: Subjects in memory with the people and earlier visits they name, the one asked for last at the end.
        self._here: dict[Subject, list[Subject]] = {}
        self._lock = threading.RLock()
        #: Counts what was taken in since: the same count, the same record.
        self.grown = 0
        common = store.entries(but_types=ON_DEMAND)
        super().add(common, store.signatures(signs=[e.digest for e in common]))

    def add(
        self, entries: Iterable[Entry] = (), signatures: Iterable[Signature] = ()
    ) -> None:
        """Take in entries and signatures of what is in memory; the rest is in the store."""
        with self._lock:
            self.grown += 1
            entries = [e for e in entries if self._is_followed(e.subject)]
            super().add(entries)
            if entries:  # a signature may have arrived before what it signs
                super().add(signatures=self._store.signatures(signs=[e.digest for e in entries]))
            for entry in entries:  # an opening that arrives late names people too
                for person in subjects_named([entry]):
                    if person not in self._here[entry.subject]:
                        self._here[entry.subject].append(person)
                    self._read(person)
            super().add(signatures=(s for s in signatures if s.signs in self.entries))

    def slots(self, subject: Subject) -> Mapping[str, Slot]:
        """Return the slots of a subject that hold anything."""
        self._read(subject)
        return super().slots(subject)

    def slot(self, subject: Subject, name: str) -> Slot:
        """Return one slot of a subject; an empty one when nothing is there."""
        self._read(subject)
        return super().slot(subject, name)

    def needs_newer(self, subject: Subject) -> list[Entry]:
        """Entries kept of a kind or version that this program does not know."""
        self._read(subject)
        return super().needs_newer(subject)

    def subjects(self, type_: str) -> list[str]:
        """Return the ids of all subjects of one type, sorted."""
        return self._store.subject_ids(type_) if type_ in ON_DEMAND else super().subjects(type_)

    def view_alone(self, fitting: str) -> FittingView:
        """Return a fitting read for itself, leaving what is in memory as it is."""
        alone = Record()
        with self._lock:
            alone.sheets_read = self.sheets_read
            alone.add(e for e in self.entries.values() if e.subject.type not in ON_DEMAND)
        waiting, read = [Subject("fitting", fitting)], set()
        while waiting:
            subject = waiting.pop()
            if subject in read:
                continue
            read.add(subject)
            own = self._store.entries(subject=subject)
            alone.add(own, self._store.signatures(signs=[e.digest for e in own]))
            waiting += subjects_named(own)
        return FittingView(alone, fitting)

    def _is_followed(self, subject: Subject) -> bool:
        return subject.type not in ON_DEMAND or subject in self._here

    def _read(self, subject: Subject) -> None:
        """Read a subject from the store unless it is in memory; a fitting with its person."""
        if subject.type not in ON_DEMAND or not subject.id:
            return
        with self._lock:
            if subject in self._here:
                self._here[subject] = self._here.pop(subject)
                return
            found = self._store.entries(subject=subject)
            people = subjects_named(found) if subject.type == "fitting" else []
            self._here[subject] = people
            super().add(found, self._store.signatures(signs=[e.digest for e in found]))
            # What is checked of a fitting may name entries of its person, a visit those before it.
            for person in people:
                self._read(person)
            self._drop_oldest(but=subject)

    def _drop_oldest(self, but: Subject) -> None:
        """Let go of what was asked for longest ago; never of a person or an earlier visit of a fitting that stays."""
        for type_ in ON_DEMAND:
            named = {person for people in self._here.values() for person in people}
            here = [s for s in self._here if s.type == type_ and s not in named]
            for subject in here[:max(len(here) - self._kept, 0)]:
                if subject != but:
                    del self._here[subject]
                    self.forget(subject)


def subjects_named(entries: Iterable[Entry]) -> list[Subject]:
    """Return the people, and the visits before, that the opening of a fitting names."""
    found = {
        Subject(type_, str(e.body.get(field) or ""))
        for e in entries if e.kind == "opened" for type_, field in (("person", "person"), ("fitting", "after"))
    }
    return sorted((s for s in found if s.id), key=lambda s: (s.type, s.id))
