"""What the guidance assumes before the first trial, read from the edition.

The figures stand in ``tuning.toml`` with their source beside them; nothing of
it is repeated in code.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Mapping

from shared_models.catalogue.tuning_tables import tuning_tables


@dataclass(frozen=True)
class Side:
    """How a position off one side of the window shows; lengths as shares of the range.

    ``error_share``: standard deviation of what one trial shows, seen;
    ``early_share``: how far inside the window's edge a finding already shows;
    ``slight_share``: how much further out it turns from slight to marked.
    """

    error_share: float
    early_share: float
    slight_share: float


@dataclass(frozen=True)
class Assumptions:
    """What is believed of one function's adjuster before any trial.

    Lengths are shares of the adjuster's range.  ``width_share`` and
    ``width_spread_share``: mean and standard deviation of the good window's
    width, ``middle_share`` and ``spread_share`` of its middle;
    ``even_part``: part of the belief spread evenly instead; ``nowhere_part``:
    belief that no position is good; ``needed_chance``: from here on a position
    is advised to be confirmed; ``ways``: how its findings are noticed;
    ``error_factor``: the error of each way beside that of seeing; ``shared_part``:
    part of the error variance that these ways share; ``stray_part``: part of
    what is said that says nothing.
    """

    width_share: float
    width_spread_share: float
    middle_share: float
    spread_share: float
    even_part: float
    nowhere_part: float
    needed_chance: float
    said_chance: float
    hopeless_chance: float
    trials_worth_of_unprotected: float
    trials_worth_of_wrong: float
    trials_at_the_last: float
    provisional_weight: float
    disturbed_weight: float
    stray_part: float
    shared_part: float
    ways: tuple[str, ...]
    too_low: Side
    too_high: Side
    error_factor: tuple[tuple[str, float], ...]

    def factor(self, way: str) -> float:
        """Return the error of a way of noticing, as a multiple of that of seeing."""
        known = dict(self.error_factor)
        return known.get(way, max(known.values()))

    def wider(self, observer_error: float) -> "Assumptions":
        """Return the same with another error of whoever observes (a factor)."""
        return replace(self, **{
            name: replace(side, error_share=side.error_share * observer_error)
            for name, side in (("too_low", self.too_low), ("too_high", self.too_high))
        })


@lru_cache(maxsize=None)
def assumptions_of(function: str) -> Assumptions:
    """Return what is assumed of a function; KeyError for one that is not tuned."""
    tables = tuning_tables()
    own = dict(tables[function])
    sides = {name: Side(**_figures(own.pop(name))) for name in ("too_low", "too_high")}
    decisions, noticing = _figures(tables["decisions"]), _figures(tables["noticing"])
    return Assumptions(
        **_figures(own), **sides, **decisions, ways=tuple(tables["ways"][function]),
        stray_part=noticing.pop("stray_part"), shared_part=noticing.pop("shared_part"),
        error_factor=tuple(sorted(noticing.items())),
    )


def _figures(table: Mapping[str, str]) -> dict[str, float]:
    return {key: float(value) for key, value in table.items()}
