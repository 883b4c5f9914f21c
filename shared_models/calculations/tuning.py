"""The next step of an adjuster from what a trial showed.

Plain rules, common practice: change one thing, in the sheet's own steps, never
past the range or the largest step; the stance threshold is approached from its
low end only and goes back to the last confirmed position when damping does not
come in.  A suggestion carries its reason; the clinician decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Mapping, Sequence

from shared_models.catalogue.edition import Finding
from shared_models.catalogue.sheets import Adjuster

_WEIGHT = {"none": 0, "slight": 1, "marked": 2}


@dataclass(frozen=True)
class Suggestion:
    """What to do next.

    ``action``: confirm, turn, restore, look (no adjuster cures it),
    contradiction, or end_of_range.  ``position`` is where to turn to.
    ``finding`` is the key of what led there ("" for none).
    """

    action: str
    position: Decimal | None = None
    finding: str = ""


def suggest(
    adjuster: Adjuster,
    position: Decimal,
    findings: Sequence[Mapping[str, str]],
    known: Sequence[Finding],
    last_confirmed: Decimal | None,
) -> Suggestion:
    """Suggest the next step for one adjuster.

    ``findings`` are ``{"finding": key, "grade": none|slight|marked}``;
    ``position`` is where the adjuster stands, ``last_confirmed`` where it stood
    in the latest confirmed trial (its start when there was none).
    """
    by_key = {f.key: f for f in known}
    felt = [
        (by_key[i["finding"]], _WEIGHT.get(i.get("grade", ""), 0))
        for i in findings if i.get("finding") in by_key
    ]
    felt = [(f, w) for f, w in felt if w]
    if not felt:
        return Suggestion("confirm", position)
    for finding, _ in felt:
        if finding.restore:
            back = last_confirmed if last_confirmed is not None else adjuster.start
            return Suggestion("restore", back, finding.key)
    turns = {f.turn for f, _ in felt if f.turn}
    if len(turns) == 2:
        return Suggestion("contradiction", None, felt[0][0].key)
    if not turns:
        return Suggestion("look", None, felt[0][0].key)
    finding, weight = max(((f, w) for f, w in felt if f.turn), key=lambda pair: pair[1])
    step = adjuster.largest_step if weight == 2 else adjuster.smallest_step
    wanted = position + (step if finding.turn == "more" else -step)
    held = min(max(wanted, adjuster.lowest), adjuster.highest)
    if held == position:
        return Suggestion("end_of_range", None, finding.key)
    return Suggestion("turn", held, finding.key)


def turn_direction(adjuster: Adjuster, before: Decimal, after: Decimal) -> str:
    """Return which way to turn: clockwise, anticlockwise, or '' for not at all."""
    if after == before:
        return ""
    more = after > before
    return "clockwise" if more == (adjuster.clockwise == "more") else "anticlockwise"


def step_refused(adjuster: Adjuster, before: Decimal | None, after: Decimal) -> str:
    """Return why a step should not be taken: outside, too_large, or ''."""
    if not adjuster.lowest <= after <= adjuster.highest:
        return "outside"
    if before is not None and abs(after - before) > adjuster.largest_step:
        return "too_large"
    return ""
