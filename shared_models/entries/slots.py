"""Slots: which entries hold a place now, which are history, which are disputed.

A slot is a place of a subject that one fact holds at a time: the position of a
valve, the latest trial of a function, the final torque of a screw.  The entries
of a slot form a graph by what each one replaces; its leaves are what holds the
place now.  One leaf is current, several were made apart and are disputed.  No
clock takes part, so every machine with the same entries sees the same.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Callable, Iterable

from shared_models.entries.envelope import Entry

WITHDRAWN = "withdrawn"


@dataclass
class Slot:
    """All entries of one slot of one subject."""

    name: str
    entries: dict[str, Entry] = field(default_factory=dict)

    def add(self, entry: Entry) -> None:
        """Take in an entry; adding one twice changes nothing."""
        self.entries[entry.digest] = entry

    def leaves(self) -> tuple[Entry, ...]:
        """Entries that nothing replaces, withdrawals among them, in order."""
        replaced = {d for e in self.entries.values() for d in e.replaces}
        found = [e for d, e in self.entries.items() if d not in replaced]
        return tuple(sorted(found, key=lambda e: e.order))

    def heads(self) -> tuple[Entry, ...]:
        """What holds the place now: none, one, or several that are disputed.

        A lone withdrawal gives the place back to what it took away had
        replaced; a withdrawal beside another leaf is one side of a dispute.
        """
        leaves = self.leaves()
        if len(leaves) != 1 or leaves[0].kind != WITHDRAWN:
            return leaves
        return self._before(leaves[0])

    def _before(self, withdrawal: Entry) -> tuple[Entry, ...]:
        found: dict[str, Entry] = {}
        seen: set[str] = set()
        queue = [withdrawal]
        while queue:
            for taken in self._known(queue.pop().replaces):
                for earlier in self._known(taken.replaces):
                    if earlier.digest in seen:
                        continue
                    seen.add(earlier.digest)
                    if earlier.kind == WITHDRAWN:
                        queue.append(earlier)
                    else:
                        found[earlier.digest] = earlier
        # An author who lacked an entry between two others named both as
        # current; only the later of the two comes back.
        older = {d for e in found.values() for d in self._ancestors(e)} if len(found) > 1 else set()
        back = [e for d, e in found.items() if d not in older]
        return tuple(sorted(back, key=lambda e: e.order))

    def _ancestors(self, entry: Entry) -> set[str]:
        found: set[str] = set()
        queue = [entry]
        while queue:
            for earlier in self._known(queue.pop().replaces):
                if earlier.digest not in found:
                    found.add(earlier.digest)
                    queue.append(earlier)
        return found

    def _known(self, digests: Iterable[str]) -> list[Entry]:
        return [self.entries[d] for d in digests if d in self.entries]

    def withdrawn(self) -> set[str]:
        """Digests that a withdrawal took away and no other withdrawal gave back."""
        withdrawals = [e for e in self.entries.values() if e.kind == WITHDRAWN]
        takers: dict[str, list[Entry]] = {}
        for entry in withdrawals:
            for digest in entry.replaces:
                takers.setdefault(digest, []).append(entry)
        stands: dict[str, bool] = {}
        for first in withdrawals:
            pending = [first]
            while pending:
                by = takers.get(pending[-1].digest, [])
                missing = [e for e in by if e.digest not in stands]
                if missing:
                    pending.extend(missing)
                    continue
                stands[pending.pop().digest] = not any(stands[e.digest] for e in by)
        return {d for e in withdrawals if stands[e.digest] for d in e.replaces}

    def same_fact(self, entry: Entry, alike: Callable[[Entry, Entry], bool]) -> set[str]:
        """Digests of ``entry`` and of earlier versions that ``alike`` accepts.

        ``alike(later, earlier)`` says whether a proof that named the earlier
        one still stands when the later one holds the place.
        """
        same, queue = {entry.digest}, [entry]
        while queue:
            later = queue.pop()
            for earlier in self._known(later.replaces):
                if earlier.digest not in same and alike(later, earlier):
                    same.add(earlier.digest)
                    queue.append(earlier)
        return same

    def history(self) -> list[Entry]:
        """Every fact of the slot, oldest first, each in its newest version.

        A correction stands in the place of what it corrects; what was
        withdrawn is left out (``entries`` still holds it).
        """
        hidden = self.withdrawn()
        facts = [
            e for e in self.entries.values()
            if e.kind != WITHDRAWN and e.digest not in hidden
        ]
        for entry in facts:
            if entry.is_correction:
                hidden |= {v.digest for v in self.versions(entry)} - {entry.digest}
        shown = [e for e in facts if e.digest not in hidden]
        depth: dict[str, int] = {}
        return sorted(shown, key=lambda e: (self._depth(e, depth), self.root(e).order, e.order))

    def root(self, entry: Entry) -> Entry:
        """The entry whose place a correction keeps (itself for any other)."""
        seen = set()
        while entry.is_correction and entry.digest not in seen:
            seen.add(entry.digest)
            known = self._known(entry.replaces)
            if not known:
                break
            entry = min(known, key=lambda e: e.order)
        return entry

    def versions(self, entry: Entry) -> list[Entry]:
        """The chain of corrections that ended in ``entry``, oldest first."""
        same = self.same_fact(entry, lambda later, _: later.is_correction)
        return sorted((self.entries[d] for d in same), key=lambda e: e.order)

    def _depth(self, entry: Entry, known: dict[str, int]) -> int:
        """How many changes of the world lie before an entry."""
        pending = [entry]
        while pending:
            last = pending[-1]
            if last.digest in known:
                pending.pop()
                continue
            before = self._known(last.replaces)
            missing = [e for e in before if e.digest not in known]
            if missing:
                pending.extend(missing)
                continue
            step = 0 if last.is_correction else 1
            known[last.digest] = max((known[e.digest] for e in before), default=-1) + step
            pending.pop()
        return known[entry.digest]
