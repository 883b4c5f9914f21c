"""What was changed since the last walk: of two changes at once the next walk tells of neither alone.

What counts as a change is data of the edition (`changes.toml`).  Before the first
walk on the knee built in nothing was walked that could be told apart, so nothing
counts.  At a visit the person comes walking: changes count from how it was found.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import Any, Callable, Iterator, Mapping

from shared_models.catalogue.changes import FIGURE, PLACE, Change
from shared_models.catalogue.edition import slot_matches
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import kept, rule
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from

#: The field that says why a second thing is changed before the next walk.
BESIDES = "besides_because"


@dataclass(frozen=True)
class Changed:
    """One thing that stands otherwise than in the last walk.

    ``slot`` is where it was recorded last, ``figure`` the field where the thing is a
    figure; ``is_new``: by what is asked about, an entry or a form still to be saved.
    """

    sort: str
    slot: str
    figure: str = ""
    is_new: bool = False

    @property
    def code(self) -> str:
        """The thing as one text, for a remark: slot and figure."""
        return f"{self.slot}#{self.figure}" if self.figure else self.slot


@dataclass(frozen=True)
class _Fact:
    """What was recorded in a slot at a place in time; ``is_new`` of what is asked about."""

    slot: str
    body: Mapping[str, Any]
    order: Any = None
    is_new: bool = False


def changed_since_walk(view: FittingView) -> tuple[Changed, ...]:
    """Return what stands otherwise than in the last walk; () before the first one on this knee."""
    return tuple(_changed(view, _facts(view), _last_walk(view)))


def second_change(view: FittingView, slot: str, body: Mapping[str, Any]) -> tuple[Changed, ...]:
    """Return what would be changed at once if a body were recorded in a slot, with what was before it.

    () where the body changes nothing, or is the only change since the last walk.
    """
    if not _may_change(view, slot):
        return ()
    facts = [*_facts(view), _Fact(slot, body, is_new=True)]
    return _at_once(_changed(view, facts, _last_walk(view)))


def second_change_by(view: FittingView, slot: str, entry: Entry) -> tuple[Changed, ...]:
    """Return what was changed at once when an entry was recorded; () when it was the only change."""
    place = view.slot(slot)
    order = place.root(entry).order
    walk = _last_walk(view, lambda trial: trial < order)

    def facts(name: str = "") -> list[_Fact]:
        return [
            _Fact(f.slot, f.body, f.order, f.slot == slot and f.order == order)
            for f in _facts(view, name) if f.order <= order
        ]

    # Most entries change nothing that was walked: then nothing else has to be read.
    if walk is None or not any(c.is_new for c in _changed(view, facts(slot), walk)):
        return ()
    return _at_once(_changed(view, facts(), walk))


@rule
def one_change_between_walks(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A second change before the next walk is said, with its reason; nobody is stopped by it."""
    at_once = second_change_by(view, slot, entry)
    if not at_once:
        return []
    besides = [c for c in at_once if not c.is_new] or list(at_once)
    figures = {"besides": " ".join(c.code for c in besides)}
    if not kept(entry, BESIDES):
        return [Remark("second_change_unsaid", slot, entry.digest, figures, blocks=False)]
    figures["stated"] = str(entry.body[BESIDES]).strip()
    return [Remark("second_change", slot, entry.digest, figures, blocks=False)]


def _at_once(found: Iterator[Changed]) -> tuple[Changed, ...]:
    things = tuple(found)
    return things if len(things) > 1 and any(t.is_new for t in things) else ()


# The last walk ---------------------------------------------------------------------

#: Nothing of this visit comes before the walk in which the person came.
_CAME_WALKING = object()


def _last_walk(view: FittingView, before: Callable[[Any], bool] = lambda _: True) -> Any:
    """Return the place in time of the last walk on this knee; None without any, `_CAME_WALKING` at a visit."""
    own = [order for order in _walks(view) if before(order)]
    if own:
        return max(own)
    former = view.former if view.after and "knee" not in view.exchanged else None
    while former is not None:
        if _walks(former):
            return _CAME_WALKING
        former = former.former if "knee" not in former.exchanged else None
    return None


def _walks(view: FittingView) -> list[Any]:
    return [
        view.slot(kind.slot).root(trial).order
        for kind in view.edition.kinds.values() if kind.group == "trial"
        for trial in view.trials(kind.slot) if view.was_on_this_knee(trial)
    ]


# What stands otherwise ----------------------------------------------------------------


def _facts(view: FittingView, only: str = "") -> list[_Fact]:
    """What was recorded here, in its order, in the slots where something can be changed, or in one of them."""
    found = []
    for name, slot in view.record.slots(view.subject).items():
        if only in ("", name) and _may_change(view, name):
            found += [
                _Fact(name, e.body, slot.root(e).order) for e in slot.history()
                if e.because_code != "settled" and view.record.kind_of(e) is not None
            ]
    return sorted(found, key=lambda f: f.order)


def _may_change(view: FittingView, slot: str) -> bool:
    return any(slot_matches(pattern, slot) for change in view.edition.changes for pattern in change.slots)


def _changed(view: FittingView, facts: list[_Fact], walk: Any) -> Iterator[Changed]:
    if walk is None:
        return
    sorts: set[str] = set()
    for change in view.edition.changes:
        told = sorts.intersection(change.told_by)
        for changed in _of_sort(view, change, facts, walk):
            sorts.add(change.key)
            if not told:
                yield changed


def _of_sort(view: FittingView, change: Change, facts: list[_Fact], walk: Any) -> Iterator[Changed]:
    own = [f for f in facts if any(slot_matches(pattern, f.slot) for pattern in change.slots)]
    for (name, figures), group in _things(change, own).items():
        after = [f for f in group if walk is _CAME_WALKING or f.order is None or f.order > walk]
        before = group[: len(group) - len(after)]
        if change.came_with and walk is _CAME_WALKING and not before:
            before, after = after[:1], after[1:]
        last = _last_change(view, change, figures, before, after)
        if last is not None:
            yield Changed(change.key, last.slot, name if change.each == FIGURE else "", last.is_new)


def _things(change: Change, facts: list[_Fact]) -> dict[tuple[str, tuple[str, ...]], list[_Fact]]:
    """The facts of each thing, by its name and the figures that are compared."""
    found: dict[tuple[str, tuple[str, ...]], list[_Fact]] = {}
    for fact in facts:
        if change.each == FIGURE:
            names = [(key, (key,)) for key in change.figures if fact.body.get(key) not in (None, "")]
        elif change.each == PLACE:
            names = [(fact.slot.partition("/")[2].partition(".")[0], change.figures)]
        else:
            names = [(fact.slot, change.figures)]
        for name in names:
            found.setdefault(name, []).append(fact)
    return found


def _last_change(
    view: FittingView, change: Change, figures: tuple[str, ...], before: list[_Fact], after: list[_Fact],
) -> _Fact | None:
    """Return the fact that made it stand otherwise than in the last walk, None where it does not."""
    if not figures:
        acts = [f for f in after if change.counts(f.body)]
        if change.again and not before and not _left(view, change, (after or before)[0].slot, ""):
            acts = acts[1:]
        return acts[-1] if acts else None
    if not after or not change.counts(after[-1].body):
        return None
    last = after[-1]
    stood = before[-1].body if before else _left(view, change, last.slot, change.found_at)
    differs = partial(_differs, stood, last.body, change.within)
    return last if any(differs(key) for key in figures) else None


def _left(view: FittingView, change: Change, slot: str, found_at: str) -> Mapping[str, Any]:
    """What a visit starts from: how it was found, or how it was left last time; {} without either."""
    key = slot.partition("/")[2]
    found = view.head(found_at.replace("*", key)) if found_at and view.after else None
    if found is not None:
        return found.body
    former = view.former
    while former is not None:
        head = former.head(slot)
        if head is not None:
            return head.body
        former = former.former
    return {}


def _differs(stood: Mapping[str, Any], stands: Mapping[str, Any], within: str, key: str) -> bool:
    """Whether a figure, or a word, is another one, by more than its readings are right to."""
    was, now = stood.get(key), stands.get(key)
    if was in (None, "") or now in (None, ""):
        return False
    one, other = amount_from(was), amount_from(now)
    if one is None or other is None:
        return str(was).strip().casefold() != str(now).strip().casefold()
    right_to = sum((amount_from(body.get(within)) or Decimal(0) for body in (stood, stands)), Decimal(0)) if within else Decimal(0)
    return abs(other - one) > right_to
