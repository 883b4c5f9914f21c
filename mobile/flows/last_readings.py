"""The figure recorded last for the same thing, to hold a new reading against.

It is shown and offered, never taken over: what was measured once is measured
again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Iterator
from weakref import WeakKeyDictionary

from shared_models.catalogue.edition import Kind
from shared_models.checks.as_typed import typed_words
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import now_here
from shared_models.wording.entering import last_words
from shared_models.wording.sentences import typed_as_words
from mobile.flows.units_of_field import as_in_unit
from mobile.keeping.session import Session


@dataclass(frozen=True)
class LastReading:
    """One figure as it is recorded, when that was, and what was typed in another unit ('' otherwise)."""

    value: str
    happened_at: str
    as_typed: str = ""

    @property
    def words(self) -> str:
        """The figure and its day, as it stands beside a field."""
        return self.words_in("", "")

    def words_in(self, unit: str, own: str) -> str:
        """The same beside a field that is typed in ``unit`` now; ``own`` is the record's, said where it differs."""
        figure = self.value if unit == own or own.startswith("@") else f"{self.value} {own}"
        return last_words(f"{figure}{typed_as_words(self.as_typed)}", self.happened_at, now_here().date())

    def figure_in(self, unit: str, own: str) -> str:
        """The last figure as it can be typed again in ``unit``; '' where it was recorded in another one."""
        if unit == own or own.startswith("@"):
            return self.value
        return as_in_unit(self.as_typed, unit)


class LastReadings:
    """Finds figures recorded before: in the slot, elsewhere in the fitting, in the person's earlier fittings.

    ``wrong`` is an entry being corrected, which is no earlier reading.
    """

    def __init__(self, session: Session, view: FittingView, slot: str, kind: Kind, wrong: Entry | None = None) -> None:
        self._session, self._view, self._slot, self._kind = session, view, slot, kind
        self._wrong = wrong.digest if wrong else ""
        self._earlier: list[FittingView] | None = None

    def of(self, key: str) -> LastReading | None:
        """Return the last reading of a field, None when there is none or it is disputed."""
        here = max(self._in(self._view, key), key=lambda e: e.order, default=None)
        if here is None and not self._kind.for_each:
            found = [e for view in self._earlier_fittings() for e in self._in(view, key)]
            here = max(found, key=lambda e: e.order, default=None)
        return LastReading(str(here.body[key]), here.happened_at, typed_words(here.body, key)) if here else None

    def _in(self, view: FittingView, key: str) -> Iterator[Entry]:
        for slot in self._slots(key):
            head = view.head(slot)
            if head is not None and head.digest != self._wrong and head.body.get(key) not in (None, ""):
                yield head

    def _slots(self, key: str) -> list[str]:
        """The own slot; and where a field is read in several places of a fitting, those."""
        if self._kind.for_each or "{" in self._kind.slot:
            return [self._slot]
        same = [
            kind.slot for kind in self._view.edition.kinds.values()
            if kind.subject == self._kind.subject and "{" not in kind.slot and any(f.key == key for f in kind.fields)
        ]
        return list(dict.fromkeys([self._slot, *same]))

    def _earlier_fittings(self) -> list[FittingView]:
        """The person's other fittings; read once for each form."""
        if self._earlier is None:
            others = [f for f in fittings_of(self._session, self._view.person.id) if f != self._view.id]
            self._earlier = [self._session.fitting(fitting) for fitting in others]
        return self._earlier


_KNOWN: WeakKeyDictionary[Session, dict[str, list[str]]] = WeakKeyDictionary()


def fittings_of(session: Session, person: str) -> list[str]:
    """Return the ids of a person's fittings, from the list of fittings; looked for once while somebody is at work."""
    known = _KNOWN.setdefault(session, {})
    if person not in known:
        known[person] = [s.fitting for s in session.summaries() if s.person == person] if person else []
    return known[person]
