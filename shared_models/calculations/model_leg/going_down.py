"""A model person going down step over step on a yielding knee."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import TYPE_CHECKING, Mapping

from shared_models.calculations.model_leg import drawn
from shared_models.calculations.model_leg.damper import Damper
from shared_models.calculations.model_leg.descent import RISE_M, START_FLEXION_RAD, Descent, Lowered, descend
from shared_models.calculations.model_leg.perceiving import Complaint
from shared_models.calculations.model_leg.segments import GRAVITY_M_S2, LEG_LENGTH_SHARE
from shared_models.quantities.refusals import Refusal

if TYPE_CHECKING:
    from shared_models.calculations.model_leg.people import ModelPerson

_WAYS = ("seen", "felt")
#: On a ramp and on low steps so many times the tolerance of stairs is borne: they
#: ask less, so what is right on stairs is right there (assumption).
EASIER_GROUND = 1.5
#: What is left of the yield's damping when the stance damping did not come in (assumption).
WITHOUT_DAMPING = Damper(flexion_linear=1.0, flexion_square=0.5)

#: Points at which the course of a step down is worked out.
COURSE_POINTS = 16


class GoingDown:
    """Stance-damping law of the knee and what the person wants of a step down."""

    def __init__(self, person: "ModelPerson", lot: drawn.Lot, window_width: float) -> None:
        self.person = person
        self.body = Lowered(person.mass_kg, LEG_LENGTH_SHARE * person.stature_m, lot.even(drawn.LOWERED_PART))
        weight_nm = person.mass_kg * GRAVITY_M_S2 * self.body.link_m
        self.suited_nm = weight_nm * lot.skewed(*drawn.STANCE_DAMPING_PART)
        self.linear_part = lot.even(drawn.LINEAR_PART)
        self.faster = 1 + lot.even(drawn.DESCENT_TOLERANCE, window_width)
        self.slower = 1 + lot.even(drawn.DESCENT_TOLERANCE, window_width)
        self._descents: dict[tuple[float, float, str], Descent] = {}

    def damper(self, moment_nm: float) -> Damper:
        """Return the stance damper with this moment at 1 rad/s."""
        return Damper(
            flexion_linear=self.linear_part * moment_nm, flexion_square=(1 - self.linear_part) * moment_nm,
        )

    def descent(self, positions: Mapping[str, Decimal], left: float, ground: str) -> Descent:
        """Return one step down; without stance damping when it does not come in."""
        if not self.person.standing.stance(positions, left, down=True).comes_in:
            return self._descend(WITHOUT_DAMPING, -1.0, left, ground)
        own = self.person.ranges.get("stance_damping")
        moment_nm = self.suited_nm
        if own is not None:
            place = own.place_of(self.person.placed("stance_damping", positions))
            moment_nm = own.law(self.suited_nm).at(place)
        return self._descend(self.damper(moment_nm), moment_nm, left, ground)

    def course(self, positions: Mapping[str, Decimal], ground: str) -> list[tuple[float, float]]:
        """Return the knee's flexion in degrees in time, from the weight coming on to the other foot down.

        A knee that yields so slowly that the person gives up ends where it is then.
        """
        done = self.descent(positions, 1.0, ground)
        damper = WITHOUT_DAMPING
        if self.person.standing.stance(positions, 1.0, down=True).comes_in:
            own, nm = self.person.ranges.get("stance_damping"), self.suited_nm
            if own is not None:
                nm = own.law(nm).at(own.place_of(self.person.placed("stance_damping", positions)))
            damper = self.damper(nm)
        start_m = self.body.link_m * 2 * (1 - math.cos(START_FLEXION_RAD / 2))
        found = [(0.0, math.degrees(START_FLEXION_RAD))]
        for k in range(1, COURSE_POINTS + 1):
            rise = RISE_M[ground] * k / COURSE_POINTS
            part = descend(self.body, damper, rise)
            if part.is_given_up:
                break
            found.append((part.time_s, math.degrees(self.body.flexion_rad(start_m + rise))))
        if done.is_given_up:
            found.append((done.time_s, found[-1][1]))
        return found

    def wanted(self, ground: str) -> Descent:
        """Return the step down that suits the person best."""
        return self._descend(self.damper(self.suited_nm), self.suited_nm, 1.0, ground)

    def _descend(self, damper: Damper, name: float, left: float, ground: str) -> Descent:
        if ground not in RISE_M:
            raise Refusal("model_leg_unknown_ground", ground=ground, known=", ".join(RISE_M))
        key = (name, left, ground)
        if key not in self._descents:
            body = Lowered(self.body.mass_kg, self.body.link_m, self.body.part * left)
            done = descend(body, damper, RISE_M[ground])
            if left != 1.0:
                return done
            self._descents[key] = done
        return self._descents[key]

    def complaints(self, positions: Mapping[str, Decimal], left: float, ground: str) -> list[Complaint]:
        """Return what a trial down may show, as parts beyond the best (natural logarithms)."""
        done, best = self.descent(positions, left, ground), self.wanted(ground)
        ease = 1.0 if ground == "stairs" else EASIER_GROUND
        hard = math.log(max(done.landing_m_s, 1e-6) / best.landing_m_s) - ease * math.log(self.faster)
        slow = math.log(done.time_s / best.time_s) - ease * math.log(self.slower)
        error, marked = drawn.DESCENT_ERROR_PART, drawn.MARKED_DESCENT_PART
        found = [
            Complaint("drops_on_descent", hard, error, marked, "descent", 1, _WAYS),
            Complaint("yields_too_slowly", slow, error, marked, "descent", -1, _WAYS),
        ]
        if not self.person.standing.stance(positions, left, down=True).comes_in:
            found.append(Complaint("no_damping_on_descent", 1.0, 0.0, 0.5, "missing", 1, ("felt",)))
        return found

    def figures(self, positions: Mapping[str, Decimal], left: float, ground: str) -> dict[str, float]:
        """Return time, landing speed and yield of a step down."""
        done = self.descent(positions, left, ground)
        return {
            "descent_time_s": done.time_s, "landing_speed_m_s": done.landing_m_s,
            "yield_deg_s": math.degrees(done.yield_rad_s),
        }
