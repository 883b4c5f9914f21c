"""What one trial of a model person gives back, with the taps of its foot contacts."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import Mapping

from shared_models.calculations.model_leg.drawn import STEP_VARIATION, TAP_JITTER_S

#: Contacts tapped in one trial, about ten metres (common practice).
CONTACTS = 16


@dataclass(frozen=True)
class Walk:
    """One trial.

    ``findings``: ``{"finding", "grade", "perceived"}``, as recorded in a trial;
    ``protected``: whether stance damping truly came in under load;
    ``damping_came_in`` and ``damping_let_go``: what is answered about it;
    ``contacts``: side and time in s of each tapped foot contact (none on
    stairs); ``figures``: what the leg truly did, units in the names.
    """

    findings: list[dict[str, str]]
    protected: bool
    damping_came_in: bool
    damping_let_go: bool
    contacts: tuple[tuple[str, float], ...] = ()
    figures: Mapping[str, float] = field(default_factory=dict)

    @property
    def is_right(self) -> bool:
        """Return whether nothing was found."""
        return all(one["grade"] == "none" for one in self.findings)


def tapped(
    prosthetic_step_s: float, sound_step_s: float, chance: random.Random, observer_error: float,
) -> tuple[tuple[str, float], ...]:
    """Return side and time of the contacts of a bout, as a thumb taps them."""
    time_s, contacts = 0.0, []
    for number in range(CONTACTS):
        side = "prosthetic" if number % 2 else "sound"
        tap_s = time_s + chance.gauss(0.0, TAP_JITTER_S * observer_error)
        contacts.append((side, round(max(tap_s, contacts[-1][1] if contacts else 0.0), 3)))
        following = sound_step_s if number % 2 else prosthetic_step_s
        time_s += following * max(0.5, chance.gauss(1.0, STEP_VARIATION))
    return tuple(contacts)
