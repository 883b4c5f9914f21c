"""Whether a proof still stands: what it named against what holds now.

A proof names, by digest, what was in force when it was made.  It is stale as
soon as one of those is no longer what holds the place, or when a place that it
depends on has been filled since.  No clock decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from shared_models.catalogue.edition import Kind
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import edition_of
from shared_models.entries.slots import WITHDRAWN


@dataclass(frozen=True)
class Cause:
    """Why a proof is stale: ``code``, the slot, the entry that made it so.

    Codes: ``replaced`` (another fact holds the place), ``filled`` (the place
    was empty when the proof was made), ``corrected`` (a figure it rests on was
    corrected), ``taken_away`` (withdrawn), ``changed_apart`` (disputed),
    ``not_here`` (it rests on an entry that has not arrived).
    """

    code: str
    slot: str
    entry: str


class Freshness:
    """Judges the proofs of one fitting view; remembers what it judged."""

    def __init__(self, view: FittingView) -> None:
        self.view = view
        self._known: dict[str, tuple[Cause, ...]] = {}

    def causes(self, entry: Entry) -> tuple[Cause, ...]:
        """Return every cause that makes a proof stale; () when it stands."""
        if entry.digest not in self._known:
            self._known[entry.digest] = ()
            self._known[entry.digest] = self._judge(entry)
        return self._known[entry.digest]

    def _judge(self, entry: Entry) -> tuple[Cause, ...]:
        edition = edition_of(entry)
        kind = edition.kinds.get(entry.kind) if edition else None
        if kind is None:
            return ()
        by_figure, by_act, _ = self.view.rests(kind, entry.body)
        found: dict[str, Cause] = {}
        named = set(entry.rests_on)
        whole = "@whole_fitting" in kind.rests_on
        for slot in by_figure:
            if whole and slot != "identity":
                self._compare_exactly(slot, named, found)
            else:
                self._compare(slot, named, True, found)
        for slot in by_act:
            self._compare(slot, named, False, found)
        for digest in sorted(named):
            if digest not in self.view.record.entries:
                found.setdefault(digest, Cause("not_here", "", digest))
        return tuple(found[key] for key in sorted(found))

    def _compare(
        self, slot: str, named: set[str], figures: bool, found: dict[str, Cause]
    ) -> None:
        """Compare what a proof named of a slot with what holds it now."""
        heads = self.view.heads(slot)
        everything = self.view.slot(slot).entries
        if not heads:
            if named & set(everything):
                found.setdefault(slot, Cause("taken_away", slot, self._withdrawal(slot)))
            return
        if len(heads) > 1:
            if not {h.digest for h in heads} <= named:
                found.setdefault(slot, Cause("changed_apart", slot, heads[-1].digest))
            return
        head = heads[0]
        same = self.view.slot(slot).same_fact(
            head, same_figures if figures else same_act
        )
        if same & named:
            for cause in self.causes(head):
                found.setdefault(cause.slot or cause.entry, cause)
            return
        found.setdefault(slot, self._cause(slot, head, named))

    def _compare_exactly(self, slot: str, named: set[str], found: dict[str, Cause]) -> None:
        """Whoever looked at the whole fitting saw these entries and no others."""
        heads = self.view.heads(slot)
        unseen = [h for h in heads if h.digest not in named]
        if unseen and len(heads) > 1:
            found.setdefault(slot, Cause("changed_apart", slot, unseen[-1].digest))
        elif unseen:
            found.setdefault(slot, self._cause(slot, unseen[0], named))
        elif not heads and named & set(self.view.slot(slot).entries):
            found.setdefault(slot, Cause("taken_away", slot, self._withdrawal(slot)))

    def _cause(self, slot: str, head: Entry, named: set[str]) -> Cause:
        """Say what put ``head``, which a proof did not name, into its place."""
        place = self.view.slot(slot)
        leaves = place.leaves()
        if len(leaves) == 1 and leaves[0].kind == WITHDRAWN:
            return Cause("taken_away", slot, leaves[0].digest)
        if not named & set(place.entries):
            return Cause("filled", slot, head.digest)
        return Cause("corrected" if head.is_correction else "replaced", slot, head.digest)

    def _withdrawal(self, slot: str) -> str:
        leaves = self.view.slot(slot).leaves()
        return leaves[-1].digest if leaves else ""


def same_act(later: Entry, earlier: Entry) -> bool:
    """A correction moves no part of the leg; settling may choose a side."""
    if later.is_correction:
        return True
    return later.because_code == "settled" and same_bearing(later, earlier)


def same_figures(later: Entry, earlier: Entry) -> bool:
    """A correction, or a settlement, that leaves every bearing figure as it was."""
    if later.is_correction or later.because_code == "settled":
        return same_bearing(later, earlier)
    return False


def same_bearing(later: Entry, earlier: Entry) -> bool:
    """Tell whether two entries agree in every field that a proof may rest on."""
    return later.kind == earlier.kind and _bearing(later) == _bearing(earlier)


def _bearing(entry: Entry) -> dict[str, Any]:
    edition = edition_of(entry)
    kind = edition.kinds.get(entry.kind) if edition else None
    silent = _silent(kind) if kind else set()
    return {name: value for name, value in entry.body.items() if name not in silent}


def _silent(kind: Kind) -> set[str]:
    return {field.key for field in kind.fields if not field.bears}
