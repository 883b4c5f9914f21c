"""The leg of the rehearsal on the screen: one model person who answers alike every time.

The physical model decides (`model_leg`); nobody observes wrongly here, so that
a rehearsal takes the same course each time.  It stands in for a person in
rehearsals and tests; it is no model of anybody.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from decimal import Decimal

from shared_models.calculations.model_leg.people import ModelPerson, model_person

#: A person whom no factory position suits, with every right setting in reach.
DEMO_SEED = 1000
#: How the rehearsal's person lets it be noticed: a yield is felt, the rest is seen.
_WAY = {"stance_damping": "felt"}


@dataclass(frozen=True)
class RehearsalLeg:
    """A model person who answers trials without any error of observing."""

    person: ModelPerson

    def answer(self, function: str, position: Decimal) -> list[dict[str, str]]:
        """Return the findings of a trial of a function at a position.

        The other adjusters count as set right, since the course sets one after
        the other.
        """
        # Without an error of observing every way of noticing gives the same grade,
        # and the chance left in a walk (whether the knee gives way) is fixed.
        walk = self.person.walk(function, {function: position}, random.Random(DEMO_SEED), observer_error=0.0)
        graded = {found["finding"]: found["grade"] for found in walk.findings}
        way = _WAY.get(function, "seen")
        return [{"finding": key, "grade": grade, "perceived": way} for key, grade in graded.items()]


def demo_leg() -> RehearsalLeg:
    """Return the leg of the rehearsal, on the demo knee."""
    return RehearsalLeg(model_person(DEMO_SEED))
