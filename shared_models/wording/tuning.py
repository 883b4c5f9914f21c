"""Sentences for the next step of an adjuster: what to do, and the reason."""

from __future__ import annotations

from decimal import Decimal
from typing import Sequence

from shared_models.calculations.tuning import Suggestion, turn_direction
from shared_models.catalogue.edition import Finding
from shared_models.catalogue.sheets import Adjuster


def suggestion_words(
    found: Suggestion, adjuster: Adjuster, position: Decimal | None,
    known: Sequence[Finding],
) -> str:
    """Return a suggestion as a sentence with its reason."""
    finding = next((f for f in known if f.key == found.finding), None)
    reason = f"Because: {finding.words}. {finding.try_first}" if finding else ""
    where = f"{found.position.normalize():f}" if found.position is not None else ""
    turn = ""
    if found.position is not None and position is not None:
        turn = turn_direction(adjuster, position, found.position)
    name = adjuster.name[:1].lower() + adjuster.name[1:]
    words = {
        "confirm": "Nothing stood out. Walk once more if in doubt, then confirm these settings.",
        "turn": f"Turn the {name} {turn} to {where}, then walk again.",
        "restore": f"Put the {name} back to {where} at once, the last safe position.",
        "look": "No adjuster cures this.",
        "contradiction": "Too much and too little in one trial: look at each pace by itself before turning anything.",
        "end_of_range": f"The {name} is at the end of its range: look at alignment, foot and socket.",
    }[found.action]
    return f"{words} {reason}".strip()


def step_words(trouble: str, adjuster: Adjuster) -> str:
    """Return what is wrong with a step that was chosen; '' when nothing is."""
    name = adjuster.name[:1].lower() + adjuster.name[1:]
    return {
        "": "",
        "outside": f"The {name} runs from {adjuster.lowest} to {adjuster.highest} {adjuster.unit}.",
        "too_large": f"That is more than the largest step of {adjuster.largest_step} {adjuster.unit}. Go in smaller steps, or say why.",
    }[trouble]
