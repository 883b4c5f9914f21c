"""After a stop: which adjusters are put back, and where to.

A threshold is never put back to where damping was missing, whatever was
confirmed there: then to the latest position below at which damping came in.
"""

from __future__ import annotations

from shared_models.calculations.tuning import suggest
from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.checks.tuning_course import THRESHOLD, course_of
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
        if function == THRESHOLD:
            wanted = _without_missing(view, wanted)
        if amount_from(now[function]) != amount_from(wanted):
            found[function] = (now[function], wanted)
    return found


def _without_missing(view: FittingView, wanted: str) -> str:
    """Return where the threshold goes instead of where damping was missing."""
    adjuster, position = view.adjuster(THRESHOLD), amount_from(wanted)
    if adjuster is None or position is None or not adjuster.lowest <= position <= adjuster.highest:
        return wanted
    known = view.edition.findings_of(THRESHOLD)
    found = suggest(adjuster, position, course_of(view, THRESHOLD), known, position)
    if found.missing_from is None or position < found.missing_from:
        return wanted
    return text_of(adjuster.lowest if found.position is None else found.position)
