"""The mobility predictor's score and the activity level that its table gives.

Gailey RS et al. Arch Phys Med Rehabil 2002;83:613-27; the bands are from
memory.  Items are numbers only: their wording may need a licence and is not
here.  A missing item is never filled in: no rule for it is published, so the
level is given only where every score the missing items could bring leads to
the same one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping

from shared_models.calculations.timing.figures import Because
from shared_models.quantities.refusals import Refusal

#: Highest score of each item with prosthesis: 42, and 5 for the walking aid.
#: Items 8 (both legs), 15 (two a leg) and 20 (up and down) are sums.
ITEM_HIGHEST: Mapping[int, int] = {
    **dict.fromkeys((1, 11, 14, 16), 1),
    **dict.fromkeys((2, 3, 4, 5, 6, 7, 9, 10, 12, 13, 17, 18, 19), 2),
    8: 4, 15: 4, 20: 4, 21: 5,
}
HIGHEST_WITH_PROSTHESIS = 47
#: 38, and 5 for the walking aid.
HIGHEST_WITHOUT_PROSTHESIS = 43
#: (lowest score, level); with prosthesis the table has no level 0.
_WITH = ((15, 1), (27, 2), (37, 3), (43, 4))
_WITHOUT = ((0, 0), (9, 1), (21, 2), (29, 3), (37, 4))
SOURCE = "Gailey RS et al. Arch Phys Med Rehabil 2002;83:613-27 (bands from memory)"


@dataclass(frozen=True)
class Predicted:
    """What the table says of a score.

    ``level`` is None where the table gives none, with ``because``.  ``lowest``
    and ``highest`` are the scores possible with the items that are missing
    (equal when none is).  It is one input to a level, not the level.
    """

    level: int | None
    lowest: int
    highest: int
    with_prosthesis: bool
    missing_items: tuple[int, ...] = ()
    because: Because | None = None
    source: str = SOURCE


def level_of_score(score: int, with_prosthesis: bool) -> Predicted:
    """Return the level of a total score, by the table with or without prosthesis.

    Refuses a score that is no whole number, below 0 or above 47 (43 without).
    """
    highest = HIGHEST_WITH_PROSTHESIS if with_prosthesis else HIGHEST_WITHOUT_PROSTHESIS
    if isinstance(score, bool) or not isinstance(score, int) or not 0 <= score <= highest:
        raise Refusal("predictor_score_cannot_be", value=score, highest=highest)
    level = _level(score, with_prosthesis)
    because = None if level is not None else Because("score_below_table", {"score": score, "lowest": _WITH[0][0]})
    return Predicted(level, score, score, with_prosthesis, (), because)


def level_of_items(scores: Mapping[int, int]) -> Predicted:
    """Return the level from item scores with prosthesis, by item number 1 to 21.

    Without prosthesis only a total is taken, because sources differ on which
    items are then left out.  Refuses unknown items and scores that can't be.
    """
    for item, score in scores.items():
        if item not in ITEM_HIGHEST:
            raise Refusal("predictor_item_unknown", item=item, highest=max(ITEM_HIGHEST))
        if isinstance(score, bool) or not isinstance(score, int) or not 0 <= score <= ITEM_HIGHEST[item]:
            raise Refusal("predictor_item_cannot_be", item=item, value=score, highest=ITEM_HIGHEST[item])
    missing = tuple(sorted(set(ITEM_HIGHEST) - set(scores)))
    lowest = sum(scores.values())
    highest = lowest + sum(ITEM_HIGHEST[item] for item in missing)
    levels = {_level(lowest, True), _level(highest, True)}
    if len(levels) > 1:
        because = Because("items_missing", {
            "items": ", ".join(map(str, missing)), "lowest": lowest, "highest": highest})
        return Predicted(None, lowest, highest, True, missing, because)
    (level,) = levels
    because = None if level is not None else Because("score_below_table", {"score": highest, "lowest": _WITH[0][0]})
    return Predicted(level, lowest, highest, True, missing, because)


def _level(score: int, with_prosthesis: bool) -> int | None:
    found = None
    for lowest, level in _WITH if with_prosthesis else _WITHOUT:
        if score >= lowest:
            found = level
    return found
