"""How many taps and typed characters a fitting took, for each fact it recorded.

A fact is one field with a value that a person gave: what the slot itself fills
in (which screw, which place) is none, each finding of a trial is one, and what
was corrected counts once more.  The taps are all that were made from the first
page of the fitting to its last, PINs, jumps between steps and refused tries
included.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from mobile.device.finger import Finger
from mobile.flows.forms import FIXED


@dataclass(frozen=True)
class Effort:
    """Taps and typed characters, and the facts they recorded."""

    taps: int
    typed: int
    facts: int

    @property
    def per_fact(self) -> float:
        """Taps and typed characters for each fact."""
        return (self.taps + self.typed) / self.facts

    def __str__(self) -> str:
        return (
            f"{self.taps} taps and {self.typed} typed characters for {self.facts} recorded facts: "
            f"{self.per_fact:.2f} for each"
        )


class Counting:
    """Counts from the moment it is made; ``view`` gives the fitting as recorded so far."""

    def __init__(self, finger: Finger, view: Callable[[], FittingView | None]) -> None:
        self._finger, self._view = finger, view
        self._taps, self._typed = finger.taps, finger.typed
        self._facts = self._recorded()

    def effort(self) -> Effort:
        """Return what was done since this counting began."""
        return Effort(
            self._finger.taps - self._taps, self._finger.typed - self._typed,
            self._recorded() - self._facts,
        )

    def _recorded(self) -> int:
        view = self._view()
        return facts_of(view) if view is not None else 0


def facts_of(view: FittingView) -> int:
    """Return how many facts are recorded of a fitting and of its person."""
    found = list(view.entries())
    person = str(view.opened.body.get("person", "")) if view.opened else ""
    slot = view.record.slot(Subject("person", person), "identity")
    return sum(_facts(entry, view) for entry in (*found, *slot.entries.values()))


def _facts(entry: Entry, view: FittingView) -> int:
    kind = view.edition.kinds.get(entry.kind)
    if kind is None:
        return 0
    count = 0
    for field in kind.fields:
        value = entry.body.get(field.key)
        if value in (None, "", []) or field.type in (*FIXED, "person"):
            continue
        count += len(value) if field.type == "findings" else 1
    return count
