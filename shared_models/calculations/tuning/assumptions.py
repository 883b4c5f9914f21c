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
class Perceived:
    """How surely one way of noticing shows the side; lengths as shares of the range."""

    error_share: float
    slight_share: float
    early_share: float
    stray_part: float


@dataclass(frozen=True)
class Assumptions:
    """What is believed of one function's adjuster before any trial.

    Lengths are shares of the adjuster's range.  ``middle_share`` and
    ``spread_share``: mean and standard deviation of the window's middle;
    ``even_part``: part of the belief spread evenly instead; ``nowhere_part``:
    belief that no position is good; ``needed_chance``: from here on a position
    is advised to be confirmed; ``ways``: how its findings are noticed;
    ``shared_part``: part of the error variance that these ways share.
    """

    narrowest_share: float
    widest_share: float
    middle_share: float
    spread_share: float
    even_part: float
    nowhere_part: float
    needed_chance: float
    said_chance: float
    hopeless_chance: float
    trials_worth_of_unprotected: float
    provisional_weight: float
    disturbed_weight: float
    shared_part: float
    ways: tuple[str, ...]
    perceived: Mapping[str, Perceived]

    def __hash__(self) -> int:
        return hash((self.narrowest_share, self.widest_share, self.middle_share, self.needed_chance))

    def scaled(self, observer_error: float) -> "Assumptions":
        """Return the same with another error of whoever observes (a factor)."""
        return replace(self, perceived={
            way: replace(one, error_share=one.error_share * observer_error)
            for way, one in self.perceived.items()
        })


@lru_cache(maxsize=None)
def assumptions_of(function: str) -> Assumptions:
    """Return what is assumed of a function; KeyError for one that is not tuned."""
    tables = tuning_tables()
    sort = "swing" if function.startswith("swing") else "stance"
    own = tables["swing" if sort == "swing" else function]
    said = {key: float(value) for key, value in tables["decisions"].items()}
    needed = said.pop(f"needed_chance_{sort}")
    said = {key: value for key, value in said.items() if not key.startswith("needed_chance")}
    return Assumptions(
        **{key: float(value) for key, value in own.items()}, **said, needed_chance=needed,
        shared_part=float(tables["shared"]["error_part"]), ways=tuple(tables["ways"][function]),
        perceived={
            way: Perceived(**{key: float(value) for key, value in one.items()})
            for way, one in tables["perceived"].items()
        },
    )

