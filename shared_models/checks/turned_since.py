"""What was turned since the last walk: two changes at once, and the next walk tells of neither alone."""

from __future__ import annotations

from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from

#: A turn made to try something; the first position and what is put back are no trial of it.
_TRIED = "trial"


def turned_since_walk(view: FittingView) -> tuple[str, ...]:
    """Return the functions whose adjusters stand elsewhere than in the last walk, for trial; () before a walk.

    What was turned back again to where it stood in that walk is no change.
    """
    walks = [
        view.slot(kind.slot).root(trial).order
        for kind in view.edition.kinds.values() if kind.group == "trial"
        for trial in view.trials(kind.slot)
    ]
    return tuple(f for f in FUNCTIONS if walks and _is_turned(view, f, max(walks)))


def _is_turned(view: FittingView, function: str, walked) -> bool:
    slot = view.slot(f"setting/{function}")
    before, after = [], []
    for entry in slot.history():
        (after if slot.root(entry).order > walked else before).append(entry)
    if not after or after[-1].body.get("reason") != _TRIED:
        return False
    stood, stands = (amount_from(e.body.get("position")) if e else None for e in (before[-1] if before else None, after[-1]))
    return stood is not None and stood != stands
