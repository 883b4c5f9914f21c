"""After a stop: which adjusters are put back, and where to."""

from __future__ import annotations

from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from, text_of


def to_restore(view: FittingView) -> dict[str, tuple[str, str]]:
    """Return per function (position now, last confirmed or start) where they differ."""
    now, confirmed = view.settings(), view.last_confirmed()
    found = {}
    for function in FUNCTIONS:
        adjuster = view.adjuster(function)
        if adjuster is None or function not in now:
            continue
        wanted = confirmed.get(function, text_of(adjuster.start))
        if amount_from(now[function]) != amount_from(wanted):
            found[function] = (now[function], wanted)
    return found
