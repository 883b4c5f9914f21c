"""A model person's swing: heel rise, full extension, impact, from two valves."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Mapping, Sequence

from shared_models.calculations.model_leg import drawn
from shared_models.calculations.model_leg.damper import Damper
from shared_models.calculations.model_leg.drive import Gait, tabulated
from shared_models.calculations.model_leg.perceiving import TRUE_FROM_ERRORS, Complaint
from shared_models.calculations.model_leg.segments import lower_leg
from shared_models.calculations.model_leg.swing import Bent, Swing, SwingLeg

if TYPE_CHECKING:
    from shared_models.calculations.model_leg.people import ModelPerson

#: Speed in rad/s at which a valve's damping is stated.
STATED_AT_RAD_S = 5.0
#: Damping that stays in the way of bending when the knee is not let go bends it
#: less at toe-off, by up to this part (assumption).
HELD_BENDS_LESS = 0.6
#: Full extension that suits comes no later than this part of the stride after
#: toe-off, or less extension damping suits (swing of 38 to 42 %: Winter, Perry).
LATEST_SUITED_PART = 0.40
#: What the search for it takes away of the damping each time.
_LESS, _TRIES = 0.7, 8
#: Where hardly any damping is left and the leg still comes later, it suits as late
#: as this part of the stride.
LATEST_AT_ALL_PART = 0.55


class Swinging:
    """Valve laws of the knee and what the person wants of a swing; worked out when asked for."""

    def __init__(self, person: "ModelPerson", lot: drawn.Lot, window_width: float) -> None:
        self.person = person
        self.gait = Gait(person.speed_m_s, person.stature_m)
        self.pendulum = lower_leg(person.mass_kg, person.stature_m, lot.even(drawn.SHANK_PART))
        self.toe_off_rad = math.radians(lot.bell(*drawn.TOE_OFF_FLEXION_DEG))
        self.toe_off_rad_s = math.radians(lot.bell(*drawn.TOE_OFF_RATE_DEG_S))
        inertia = self.pendulum.inertia_kg_m2
        self.flexion_nm = inertia * lot.skewed(*drawn.FLEXION_DAMPING_RAD_S2)
        self.first_extension_nm = inertia * lot.skewed(*drawn.EXTENSION_DAMPING_RAD_S2)
        self.linear_part = lot.even(drawn.LINEAR_PART)
        self.pause_s = lot.even(drawn.PAUSE_S)
        self.too_low_deg = lot.even(drawn.HEEL_RISE_TOLERANCE_DEG, window_width)
        self.too_high_deg = lot.even(drawn.HEEL_RISE_TOLERANCE_DEG, window_width)
        self.impact_deg_s = lot.even(drawn.IMPACT_TOLERANCE_DEG_S, window_width)
        self.late_s = lot.even(drawn.LATE_TOLERANCE_S, window_width)
        self._bents: dict[tuple[float, float], Bent] = {}
        self._swings: dict[tuple[float, float, float], Swing] = {}

    # The leg ----------------------------------------------------------------------

    @cached_property
    def leg(self) -> SwingLeg:
        """Return the shank on its driven thigh."""
        return SwingLeg(self.pendulum, tabulated(self.gait))

    def damper(self, flexion_nm: float, extension_nm: float) -> Damper:
        """Return the damper with these moments at the speed they are stated at."""
        linear = self.linear_part / STATED_AT_RAD_S
        square = (1 - self.linear_part) / STATED_AT_RAD_S**2
        return Damper(linear * flexion_nm, square * flexion_nm, linear * extension_nm, square * extension_nm)

    def bent(self, flexion_nm: float, held: float = 0.0) -> Bent:
        """Return the heel rise; ``held``: how much the stance damping hampers it."""
        key = (flexion_nm, held)
        if key not in self._bents:
            less = 1 - HELD_BENDS_LESS * held
            start = self.toe_off_rad * less, self.toe_off_rad_s * self.gait.amplitude * less
            self._bents[key] = self.leg.bent(self.damper(flexion_nm, 0.0), *start)
        return self._bents[key]

    def _swing(self, flexion_nm: float, extension_nm: float, held: float, contact_s: float) -> Swing:
        key = (flexion_nm, extension_nm, held)
        if key not in self._swings:
            damper = self.damper(flexion_nm, extension_nm)
            self._swings[key] = self.leg.swing(
                damper, self.bent(flexion_nm, held), contact_s, contact_s + drawn.PATIENCE_S,
            )
        return self._swings[key]

    # What suits ---------------------------------------------------------------------

    @cached_property
    def suited(self) -> tuple[float, Swing]:
        """Return the extension moment that suits, and the swing it makes.

        The person's own time of contact follows from it: a swing takes the time
        that the leg takes (ballistic walking: Mochon S, McMahon TA, J Biomech
        1980;13:49-57).
        """
        moment_nm, bent = self.first_extension_nm, self.bent(self.flexion_nm)
        for latest_part in (*[LATEST_SUITED_PART] * _TRIES, LATEST_AT_ALL_PART):
            latest_s = latest_part * self.gait.stride_s
            swing = self.leg.swing(self.damper(self.flexion_nm, moment_nm), bent, latest_s, latest_s)
            if swing.extended_at_s is not None:
                break
            moment_nm *= _LESS
        return moment_nm, replace(swing, contact_s=_extended_s(swing) + self.pause_s)

    @cached_property
    def borne(self) -> tuple[float, float]:
        """Return impact in degrees/s and lateness in s beyond the best that are borne.

        As drawn, but never so little that a right heel rise leaves no right
        extension: both grow until the first and the last right heel rise have one.
        """
        own, heel = self.person.ranges.get("swing_extension"), self.person.ranges.get("swing_flexion")
        unsolvable = self.person.unsolvable & {"swing_extension", "swing_flexion"}
        if own is None or heel is None or unsolvable:
            return self.impact_deg_s, self.late_s
        ends = self.person.good_window("swing_flexion") or ()
        needed = max((self._needed(own.positions, end) for end in ends), default=1.0)
        return self.impact_deg_s * max(needed, 1.0), self.late_s * max(needed, 1.0)

    def _needed(self, positions: Sequence[Decimal], flexion: Decimal) -> float:
        """Return by what factor tolerance must grow for a right extension at a heel rise."""
        def beyond(position: Decimal) -> tuple[float, float]:
            fast, late_s = self._beyond({"swing_flexion": flexion, "swing_extension": position})
            fast -= TRUE_FROM_ERRORS * drawn.IMPACT_ERROR_DEG_S
            late_s -= TRUE_FROM_ERRORS * drawn.LATE_ERROR_S
            return fast / self.impact_deg_s, late_s / self.late_s

        low, high = 0, len(positions) - 1
        while high - low > 1:
            middle = (low + high) // 2
            fast, late = beyond(positions[middle])
            low, high = (middle, high) if fast > late else (low, middle)
        return 1.001 * min(max(beyond(positions[low])), max(beyond(positions[high])))

    def _beyond(self, positions: Mapping[str, Decimal]) -> tuple[float, float]:
        """Return terminal speed in degrees/s and full extension in s beyond the best."""
        swing, best = self.swing(positions), self.suited[1]
        fast = math.degrees(swing.terminal_rate_rad_s - best.terminal_rate_rad_s)
        return fast, _extended_s(swing) - _extended_s(best)

    def moments_nm(self, positions: Mapping[str, Decimal]) -> tuple[float, float]:
        """Return what flexion and extension valve give, in N·m at the stated speed."""
        person, suited = self.person, (self.flexion_nm, self.suited[0])
        given = []
        for function, moment_nm in zip(("swing_flexion", "swing_extension"), suited):
            own = person.ranges.get(function)
            if own is not None:
                moment_nm = own.law(moment_nm).at(own.place_of(person.placed(function, positions)))
            given.append(moment_nm)
        return given[0], given[1]

    def swing(self, positions: Mapping[str, Decimal]) -> Swing:
        """Return the swing at these positions."""
        held = self.person.standing.held_part(positions)
        return self._swing(*self.moments_nm(positions), held, self.suited[1].contact_s)

    def course(self, positions: Mapping[str, Decimal]) -> list[tuple[float, float]]:
        """Return the knee's flexion in degrees in time, from toe-off to full extension or contact."""
        held = self.person.standing.held_part(positions)
        less = 1 - HELD_BENDS_LESS * held
        swing, damper = self.swing(positions), self.damper(*self.moments_nm(positions))
        start = (0, self.toe_off_rad * less, self.toe_off_rad_s * self.gait.amplitude * less)
        until_s = swing.extended_at_s if swing.extended_at_s is not None else swing.contact_s
        found = [(0.0, math.degrees(start[1]))]
        for number, knee, _rate in self.leg.steps(damper, start):
            found.append((number * self.leg.step_s, math.degrees(knee)))
            if number * self.leg.step_s >= until_s:
                break
        return found

    # What is found --------------------------------------------------------------------

    def heel_rise_complaints(self, positions: Mapping[str, Decimal]) -> list[Complaint]:
        """Return what a swing-flexion trial may show, in degrees of peak knee flexion."""
        held = self.person.standing.held_part(positions)
        peak = self.bent(self.moments_nm(positions)[0], held).peak_rad
        off = math.degrees(peak - self.suited[1].peak_flexion_rad)
        error, marked = drawn.HEEL_RISE_ERROR_DEG, drawn.MARKED_HEEL_RISE_DEG
        return [
            Complaint("heel_rise_too_high", off - self.too_high_deg, error, marked, "heel_rise", 1, ("seen", "felt")),
            Complaint("heel_rise_too_low", -off - self.too_low_deg, error, marked, "heel_rise", -1, ("seen", "felt")),
        ]

    def extension_complaints(self, positions: Mapping[str, Decimal]) -> list[Complaint]:
        """Return what a swing-extension trial may show: impact in degrees/s, lateness in s."""
        fast, late_s = self._beyond(positions)
        fast_borne, late_borne_s = self.borne
        return [
            Complaint(
                "terminal_impact", fast - fast_borne, drawn.IMPACT_ERROR_DEG_S,
                drawn.MARKED_IMPACT_DEG_S, "impact", 1, ("seen", "felt"),
            ),
            Complaint(
                "extension_incomplete", late_s - late_borne_s, drawn.LATE_ERROR_S,
                drawn.MARKED_LATE_S, "late", 1, ("seen", "felt"),
            ),
        ]

    def figures(self, positions: Mapping[str, Decimal]) -> dict[str, float]:
        """Return what the swing did, units in the names; an extension that never came is left out."""
        swing = self.swing(positions)
        late_s = max(swing.contact_s - self.suited[1].contact_s, 0.0)
        figures = {
            "peak_flexion_deg": math.degrees(swing.peak_flexion_rad),
            "terminal_speed_deg_s": math.degrees(swing.terminal_rate_rad_s),
            "flexion_at_contact_deg": math.degrees(swing.flexion_at_contact_rad),
            "swing_time_s": swing.contact_s,
            "cadence_steps_min": 120 / (self.gait.stride_s + late_s),
        }
        if swing.extended_at_s is not None:
            figures["extended_at_s"] = swing.extended_at_s
        return figures


def _extended_s(swing: Swing) -> float:
    """Return when the knee was straight; one still bent counts as later by how far it was bent."""
    if swing.extended_at_s is not None:
        return swing.extended_at_s
    return swing.contact_s + drawn.BENT_AS_LATE_S_RAD * swing.flexion_at_contact_rad
