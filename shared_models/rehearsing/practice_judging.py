"""What a practice walk truly showed, and what somebody recorded of it beside that."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Mapping, Sequence

from shared_models.calculations.model_leg.people import ModelPerson
from shared_models.catalogue.edition import Edition
from shared_models.rehearsing.practice_people import PracticePerson, ground_of

_DOWN = "stance_damping"


@dataclass(frozen=True)
class Seen:
    """One finding that a walk showed.

    ``figures``: what the leg did and what suits, by name, units in the names;
    ``is_said``: the person speaks of it, so that nobody need see it.
    """

    finding: str
    grade: str
    figures: Mapping[str, float]
    is_said: bool
    asks_to_stop: bool


@dataclass(frozen=True)
class Judged:
    """What was recorded of a walk beside what it showed.

    ``right``, ``missed`` and ``other_grade`` are of what was there (with the
    recorded grade for the last); ``not_there``: recorded findings that were not.
    """

    right: tuple[Seen, ...]
    missed: tuple[Seen, ...]
    other_grade: tuple[tuple[Seen, str], ...]
    not_there: tuple[str, ...]
    stop_due: bool
    stopped: bool

    @property
    def wrong(self) -> int:
        """How many judgements were not the leg's; another grade is counted too.

        Whoever stops sees to the person, so nothing counts that was left unsaid.
        """
        if self.stopped:
            return len(self.not_there)
        return len(self.missed) + len(self.other_grade) + len(self.not_there)

    @property
    def stop_missed(self) -> bool:
        """Whether the walk should have been stopped and was not."""
        return self.stop_due and not self.stopped


def what_was_there(
    person: PracticePerson, slot: str, functions: Sequence[str], positions: Mapping[str, Decimal], edition: Edition,
) -> list[Seen]:
    """Return what a walk shows at these positions, as somebody without any error finds it."""
    ground, walker = ground_of(slot), person.walker
    found = []
    for function in functions:
        if function not in walker.ranges:
            continue
        walk = walker.walk(
            function, positions, random.Random(person.seed), observer_error=0.0,
            ground="stairs" if ground == "level" else ground,
        )
        graded = {f["finding"]: f["grade"] for f in walk.findings if f["grade"] != "none"}
        for finding, grade in graded.items():
            if any(one.finding == finding for one in found):
                continue
            stops = any(f.key == finding and f.restore for f in edition.findings)
            figures = _figures(walker, finding, positions, ground)
            said = grade == "marked" or function == _DOWN or stops
            found.append(Seen(finding, grade, figures, said, stops))
    return found


def judged(there: Sequence[Seen], body: Mapping[str, Any]) -> Judged:
    """Compare what is recorded in a trial's body with what was there."""
    items = [i for i in body.get("findings", ()) if isinstance(i, Mapping)]
    recorded = {str(i.get("finding")): str(i.get("grade")) for i in items if i.get("grade") in ("slight", "marked")}
    known = {one.finding for one in there}
    return Judged(
        tuple(one for one in there if recorded.get(one.finding) == one.grade),
        tuple(one for one in there if one.finding not in recorded),
        tuple((one, recorded[one.finding]) for one in there if recorded.get(one.finding, one.grade) != one.grade),
        tuple(key for key in recorded if key not in known),
        any(one.asks_to_stop for one in there), body.get("outcome") == "stopped",
    )


def _figures(walker: ModelPerson, finding: str, positions: Mapping[str, Decimal], ground: str) -> dict[str, float]:
    """Return what the leg did and what suits this person, for the findings that have figures."""
    swing, best = walker.swinging.swing(positions), walker.swinging.suited[1]
    if finding.startswith("heel_rise"):
        return {"did_deg": math.degrees(swing.peak_flexion_rad), "suits_deg": math.degrees(best.peak_flexion_rad)}
    if finding == "terminal_impact":
        return {"did_deg_s": math.degrees(swing.terminal_rate_rad_s), "suits_deg_s": math.degrees(best.terminal_rate_rad_s)}
    if finding == "extension_incomplete" and swing.extended_at_s is not None and best.extended_at_s is not None:
        return {"late_ms": 1000 * (swing.extended_at_s - best.extended_at_s)}
    if finding in ("drops_on_descent", "yields_too_slowly"):
        down = "stairs" if ground == "level" else ground
        done, wanted = walker.going_down.descent(positions, 1.0, down), walker.going_down.wanted(down)
        return {"did_s": done.time_s, "suits_s": wanted.time_s}
    return {}
