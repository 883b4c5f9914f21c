"""Words of what was changed since the last walk, and of a second change before the next."""

from __future__ import annotations

from typing import Sequence

from shared_models.checks.changed_since import Changed
from shared_models.entries.fitting import FittingView
from shared_models.language import Phrases, spoken, within

REMARKS = Phrases({
    "second_change": "{place}: changed before the same walk as {besides_words}, because: {stated}",
    "second_change_unsaid": "{place}: changed before the same walk as {besides_words}, and no reason is given. That walk tells of neither alone.",
})


def thing_words(code: str, view: FittingView) -> str:
    """Return a thing that was changed as people name it, begun large; ``code`` as of `Changed`."""
    slot, _, figure = code.partition("#")
    _, _, key = slot.partition("/")
    kind = view.edition.kind_of_slot(slot)
    if figure:
        return kind.field(figure).label.partition(",")[0]
    if kind.for_each in ("function", "place"):
        return view.edition.words(kind.for_each, key)
    screw = view.screw(key)
    return f"{kind.title}, {within(screw.screw.name)}" if screw else kind.title


def besides_words(codes: str, view: FittingView) -> str:
    """Return the things of a remark, within a sentence; ``codes`` stand apart by a space."""
    return ", ".join(within(thing_words(code, view)) for code in codes.split())


def second_change_words(at_once: Sequence[Changed], view: FittingView) -> str:
    """Return what is in the way of a second change before the next walk; '' for none."""
    if not at_once:
        return ""
    before = " ".join(c.code for c in at_once if not c.is_new)
    if before:
        return spoken(
            "Changed since the last walk already: {named}. With two changes at once the next walk tells of neither alone. Walk first, or say why.",
            named=besides_words(before, view),
        )
    return spoken(
        "Changed at once here: {named}. With two changes at once the next walk tells of neither alone. Change one and walk, or say why.",
        named=besides_words(" ".join(c.code for c in at_once), view),
    )
