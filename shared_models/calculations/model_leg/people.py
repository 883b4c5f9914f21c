"""Model people with model knees, drawn from a seed: they walk the trials of a fitting.

The same seed gives the same person.  Nobody is described by it: see
docs/calculations/model-leg.md.
"""

from __future__ import annotations

import random
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache
from typing import Hashable, Iterable, Mapping

from shared_models.calculations.model_leg import drawn
from shared_models.calculations.model_leg.going_down import GoingDown
from shared_models.calculations.model_leg.perceiving import Complaint, perceive
from shared_models.calculations.model_leg.range import Range, knee_ranges
from shared_models.calculations.model_leg.segments import above_zero, not_below_zero
from shared_models.calculations.model_leg.standing import Standing
from shared_models.calculations.model_leg.swinging import Swinging
from shared_models.calculations.model_leg.walking import Walk, tapped
from shared_models.catalogue.sheets import FUNCTIONS, Adjuster, demo_sheet, sheet_from
from shared_models.quantities.refusals import Refusal

#: Double support between the two feet's swings, as a part of the stride (Winter,
#: Table A.1: stance 61 %, so two of about 11 %).
DOUBLE_SUPPORT_PART = 0.11


class ModelPerson:
    """One person with one knee.

    ``unsolvable``: the functions for which no position is right (empty for a
    solvable person).  Positions are in the unit of the component sheet; what is
    not named in ``positions`` stands at the position that suits.
    """

    def __init__(
        self, seed: int, ranges: Mapping[str, Range], spread: float, window_width: float,
        unsolvable: frozenset[str],
    ) -> None:
        self.seed, self.unsolvable = seed, unsolvable
        self.ranges = {
            function: own.suited(drawn.lot(seed, f"{function}/place", spread), function in unsolvable)
            for function, own in ranges.items()
        }
        body = drawn.lot(seed, "body", spread)
        self.mass_kg = body.bell(*drawn.BODY_MASS_KG)
        self.stature_m = body.bell(*drawn.STATURE_M)
        self.speed_m_s = body.bell(*drawn.SPEED_M_S)
        self.standing = Standing(self, drawn.lot(seed, "stance", spread), window_width)
        self.swinging = Swinging(self, drawn.lot(seed, "swing", spread), window_width)
        self.going_down = GoingDown(self, drawn.lot(seed, "descent", spread), window_width)
        self._windows: dict[tuple[Hashable, ...], tuple[Decimal, Decimal] | None] = {}

    @property
    def solvable(self) -> bool:
        """Return whether every function has a right position."""
        return not self.unsolvable

    def placed(self, function: str, positions: Mapping[str, Decimal]) -> Decimal:
        """Return where an adjuster stands: as given, or where it suits."""
        own = self.ranges[function]
        return own.checked(positions[function]) if function in positions else own.suits

    def leave_no_right_position(self, function: str) -> None:
        """Push what suits further below the range until even its lowest position is too much.

        Too little damping may be borne by somebody; too much never is.
        """
        off = drawn.OUT_OF_RANGE[1]
        while self.good_window(function) is not None:
            lowest = self.ranges[function].positions[0]
            self.ranges[function] = replace(self.ranges[function], suits=lowest, place=-off)
            self._windows.clear()
            off *= 1.5

    # What is true ----------------------------------------------------------------

    def is_good(self, function: str, positions: Mapping[str, Decimal], ground: str = "stairs") -> bool:
        """Return whether nothing is truly wrong there, as `perceiving.TRUE_FROM_ERRORS` draws the line."""
        complaints = self._complaints(function, positions, 1.0, ground)
        return not any(one.is_true for one in complaints)

    def good_window(
        self, function: str, positions: Mapping[str, Decimal] | None = None,
    ) -> tuple[Decimal, Decimal] | None:
        """Return the lowest and highest position where nothing is truly wrong.

        ``positions``: where the other adjusters stand.  None when no position
        is right: for a function in ``unsolvable``, or because another adjuster
        stands wrong.
        """
        return self._window(function, positions or {}, False)

    def wanted_window(
        self, function: str, positions: Mapping[str, Decimal] | None = None,
    ) -> tuple[Decimal, Decimal] | None:
        """Return the same for an observer without any error: where nothing at all is found."""
        return self._window(function, positions or {}, True)

    def _window(
        self, function: str, positions: Mapping[str, Decimal], exactly: bool,
    ) -> tuple[Decimal, Decimal] | None:
        self._known(function)
        others = {k: v for k, v in positions.items() if k != function and k in self.ranges}

        def is_right(position: Decimal) -> bool:
            complaints = self._complaints(function, {**others, function: position}, 1.0, "stairs")
            return not any(one.is_beyond if exactly else one.is_true for one in complaints)

        key = (function, exactly, *(self.placed(f, others) for f in self.ranges if f != function))
        if key not in self._windows:
            self._windows[key] = self.ranges[function].window(is_right)
        return self._windows[key]

    # What is answered ---------------------------------------------------------------

    def walk(
        self, function: str, positions: Mapping[str, Decimal], chance: random.Random, *,
        observer_error: float = 1.0, hands_on_bars: bool = False, ground: str = "stairs",
    ) -> Walk:
        """Walk one trial of a function; ``ground`` is stairs, low_steps or ramp going down.

        Raises Refusal ``model_leg_unknown_function``, ``model_leg_outside_range``,
        ``model_leg_unknown_ground`` and ``model_leg_below_zero`` (observer_error).
        """
        not_below_zero("observer_error", observer_error)
        left = chance.uniform(*drawn.ON_THE_BARS_PART) if hands_on_bars else 1.0
        complaints = self._complaints(function, positions, left, ground)
        findings = perceive(complaints, chance, observer_error)
        down = function == "stance_damping"
        stance = self.standing.stance(positions, left, down)
        figures = {**self.standing.figures(stance), "speed_m_s": self.speed_m_s}
        contacts: tuple[tuple[str, float], ...] = ()
        if down:
            figures |= self.going_down.figures(positions, left, ground)
        else:
            figures |= self.swinging.figures(positions)
            contacts = tapped(*self._steps_s(figures), chance, observer_error)
        if not stance.comes_in and chance.random() < drawn.GIVES_WAY_CHANCE and not down:
            findings.append({"finding": "knee_gives_way", "grade": "marked", "perceived": "felt"})
        noticed = {one["finding"] for one in findings if one["grade"] != "none"}
        missing = noticed & {"no_damping_when_loaded", "no_damping_on_descent", "knee_gives_way"}
        return Walk(
            findings, stance.comes_in, not missing, "damping_stays_in" not in noticed, contacts, figures,
        )

    def _complaints(
        self, function: str, positions: Mapping[str, Decimal], left: float, ground: str,
    ) -> list[Complaint]:
        self._known(function)
        if function == "stance_threshold":
            return self.standing.complaints(positions, left)
        if function == "swing_flexion":
            return self.swinging.heel_rise_complaints(positions)
        if function == "swing_extension":
            return self.swinging.extension_complaints(positions)
        return self.going_down.complaints(positions, left, ground)

    def _known(self, function: str) -> None:
        if function not in self.ranges:
            raise Refusal("model_leg_unknown_function", function=function, known=", ".join(self.ranges))

    def _steps_s(self, figures: Mapping[str, float]) -> tuple[float, float]:
        """Return prosthetic and sound step time in s; a late foot lengthens its own step."""
        stride_s = 120 / figures["cadence_steps_min"]
        prosthetic = figures["swing_time_s"] + DOUBLE_SUPPORT_PART * stride_s
        return prosthetic, max(stride_s - prosthetic, 0.3 * stride_s)


def model_person(
    seed: int, *, spread: float = 1.0, window_width: float = 1.0,
    adjusters: Iterable[Adjuster] | Mapping[str, Adjuster] | None = None, solvable: bool = True,
) -> ModelPerson:
    """Draw a person and a knee from a seed.

    ``spread`` scales how much people and knees differ, ``window_width`` how
    much a person takes as right; ``adjusters`` come from a component sheet
    (None: the demo knee).  ``solvable=False`` draws one function for which no
    position is right.  Raises Refusal ``model_leg_not_above_zero`` and
    ``model_leg_unknown_function``.
    """
    above_zero("spread", spread)
    above_zero("window_width", window_width)
    if adjusters is None:
        ranges = _demo_ranges()
    else:
        ranges = knee_ranges(adjusters.values() if isinstance(adjusters, Mapping) else adjusters)
    unsolvable: frozenset[str] = frozenset()
    if not solvable:
        known = [f for f in FUNCTIONS if f in ranges]
        unsolvable = frozenset({drawn.lot(seed, "unsolvable").chance.choice(known)})
    person = ModelPerson(seed, ranges, spread, window_width, unsolvable)
    for function in unsolvable:
        person.leave_no_right_position(function)
    return person


@lru_cache(maxsize=1)
def _demo_ranges() -> dict[str, Range]:
    return knee_ranges(sheet_from(demo_sheet("knee_alder")).adjusters)
