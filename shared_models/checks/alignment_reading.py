"""An alignment as recorded or typed: the line it states, how sure it is, what follows.

The one place that takes the fields of the alignment kinds to the calculations.
What the tablet shows while somebody types, what the rules remark and what the
server's page says all start here.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Mapping

from shared_models.calculations.alignment.chain import Chain, Leg, Turn
from shared_models.calculations.alignment.corrections import (
    Correction,
    HeelChange,
    Suggestions,
    corrections,
    heel_change,
)
from shared_models.calculations.alignment.heights import HeightCure, height_cure
from shared_models.calculations.alignment.leg_from_sheets import BuiltLeg, Settings, built_leg
from shared_models.calculations.alignment.load_line import (
    LoadLine,
    TwoScales,
    direct_load_line,
    load_line_from,
)
from shared_models.calculations.alignment.weights import LEAST_SHARE_PERCENT
from shared_models.catalogue.adapters import ABOVE_KNEE, BELOW_KNEE, FOOT_LEVEL
from shared_models.checks.alignment_weights import Weights, weights_in
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.refusals import Refusal

BENCH = "bench_alignment"
KINDS = (BENCH, "static_alignment", "alignment_recheck", "alignment_closing")
METHOD, TWO_SCALES = "load_line_method", "two_scales"
#: What two scales need, in the order of `TwoScales`.
SCALE_FIELDS = (
    "board_length_mm", "scale_back_kg", "scale_front_kg", "empty_back_kg", "empty_front_kg",
    "scale_resolution_kg", "heel_from_back_support_mm", "knee_from_heel_mm", "distances_within_mm",
)
#: How the adapters stand now, by level.
TILT_FIELDS = {
    ABOVE_KNEE: "tilt_above_knee_now_deg", BELOW_KNEE: "tilt_below_knee_now_deg",
    FOOT_LEVEL: "tilt_at_foot_now_deg",
}
SLIDE_FIELDS = {ABOVE_KNEE: "slide_above_knee_now_mm"}
#: What is worked out from two scales, and what stands in the record for it, to these digits.
LINE_DIGITS = Decimal("0.1")


@dataclass(frozen=True)
class Target:
    """What the knee's sheet asks of a line, in mm; ``lacks`` says what it does not state."""

    target_mm: float | None
    tolerance_mm: float = 0.0
    lacks: str = ""


@dataclass(frozen=True)
class AlignmentReading:
    """One alignment worked out.

    ``line`` is None with ``refusal`` (figures that can't be) or ``waits_for``
    (keys of fields still empty).  ``suggestions`` is None where no target or no
    leg is known; ``leg.lacks`` then says what is missing.  ``counted_from_middle``:
    nobody said how the adapters stand now.  ``outward_mm``: how far the
    socket's reference point stands outside the knee centre, from the front.
    """

    kind: str
    line: LoadLine | None
    target: Target
    leg: BuiltLeg
    by_scales: bool = False
    refusal: Refusal | None = None
    waits_for: tuple[str, ...] = ()
    weights: Weights = Weights()
    suggestions: Suggestions | None = None
    counted_from_middle: bool = True
    height: HeightCure | None = None
    height_difference_mm: float | None = None
    heel: HeelChange | None = None
    heel_change_mm: float = 0.0
    outward_mm: float | None = None

    @property
    def is_bench(self) -> bool:
        """Whether the line is the reference line of the bench, not the load line of standing."""
        return self.kind == BENCH

    @property
    def is_void(self) -> bool:
        """Whether too little weight stands on the prosthesis for two scales to say anything."""
        share = self.weights.share_percent
        return self.by_scales and share is not None and share < LEAST_SHARE_PERCENT

    @property
    def is_outside(self) -> bool | None:
        """Whether the reading itself lies outside the tolerance; None where that can't be said."""
        if self.line is None or self.target.target_mm is None or self.is_void:
            return None
        return not self.line.is_within(self.target.target_mm, self.target.tolerance_mm)

    @property
    def is_unsure(self) -> bool:
        """Whether the 95 % interval lies across an edge of the tolerance."""
        line, target = self.line, self.target
        return line is not None and target.target_mm is not None and line.straddles(target.target_mm, target.tolerance_mm)

    @property
    def asks_move(self) -> bool:
        """Whether something is to be moved, or would be if it were known or possible."""
        if self.suggestions is None or self.weights.refusal or self.is_outside is None:
            return False
        return self.is_outside or self.is_unsure

    @property
    def is_too_coarse(self) -> bool:
        """Whether the line lies nearer to its target than the reading is sure."""
        half = self.line.half_width_95_mm if self.line else None
        return (
            half is not None and self.line is not None and self.target.target_mm is not None
            and abs(self.target.target_mm - self.line.offset_mm) < half
        )

    @property
    def move(self) -> Correction | None:
        """The move that is suggested: the gentlest that reaches, None where none is."""
        if not self.asks_move or self.is_too_coarse or self.suggestions is None:
            return None
        return self.suggestions.best


def read_alignment(view: FittingView, kind: str, body: Mapping[str, Any]) -> AlignmentReading:
    """Work out an alignment from its fields; refusals come back as data."""
    by_scales = kind != BENCH and body.get(METHOD) == TWO_SCALES
    waits = tuple(k for k in SCALE_FIELDS if amount_from(body.get(k)) is None) if by_scales else ()
    line, refusal = None, None
    try:
        line = None if waits else _line(kind, body, by_scales)
    except Refusal as refused:
        refusal = refused
    target, leg = target_of(view, kind), _leg(view, kind, body)
    found = _suggested(line, target, leg)
    change, heel = _heel(view, kind, body, leg)
    difference, cure = _height(body, leg)
    return AlignmentReading(
        kind, line, target, leg, by_scales, refusal, waits, weights_in(view, body, line), found,
        not any(amount_from(body.get(k)) is not None for k in (*TILT_FIELDS.values(), *SLIDE_FIELDS.values())),
        cure, difference, heel, change, _outward(body, leg),
    )


def worked_out(reading: AlignmentReading) -> dict[str, str]:
    """Return what two scales give as decimal text, by the field it is recorded in."""
    line = reading.line
    if not reading.by_scales or line is None or line.weight_kg is None:
        return {}
    figures = {"load_line_offset_mm": line.offset_mm, "weight_on_prosthesis_kg": line.weight_kg}
    return {key: f"{Decimal(str(figure)).quantize(LINE_DIGITS):f}" for key, figure in figures.items()}


def _suggested(line: LoadLine | None, target: Target, leg: BuiltLeg) -> Suggestions | None:
    if line is None or leg.chain is None or target.target_mm is None:
        return None
    try:
        return corrections(leg.chain, line.offset_mm, target.target_mm, target.tolerance_mm)
    except Refusal:
        return None  # a sheet whose own target can't be


def _line(kind: str, body: Mapping[str, Any], by_scales: bool) -> LoadLine | None:
    if by_scales:
        return load_line_from(TwoScales(*(_figure(body, key) for key in SCALE_FIELDS)))  # type: ignore[arg-type]
    offset = _figure(body, "reference_line_offset_mm" if kind == BENCH else "load_line_offset_mm")
    return None if offset is None else direct_load_line(offset, _figure(body, "reading_within_mm"))


def _figure(body: Mapping[str, Any], key: str) -> float | None:
    amount = amount_from(body.get(key))
    return None if amount is None else float(amount)


def target_of(view: FittingView, kind: str) -> Target:
    """Return what the sheet of the knee built in asks of the line of this kind."""
    name = "reference_line" if kind == BENCH else "load_line"
    knee = view.sheets().get("knee")
    target = knee.alignment.get(f"{name}_target_mm") if knee else None
    if target is None:
        words = spoken("where the reference line passes") if kind == BENCH else spoken("where the load line passes")
        return Target(None, lacks=f"{knee.name if knee else spoken('the knee, not recorded yet')}: {words}")
    tolerance = knee.alignment.get(f"{name}_tolerance_mm", Decimal(0)) if knee else Decimal(0)
    return Target(float(target), float(tolerance))


def _leg(view: FittingView, kind: str, body: Mapping[str, Any]) -> BuiltLeg:
    source = body if kind == BENCH else _bench(view)
    now = Settings(
        {level: _figure(body, key) or 0.0 for level, key in TILT_FIELDS.items()},
        {level: _figure(body, key) or 0.0 for level, key in SLIDE_FIELDS.items()},
    )
    try:
        return built_leg(view.sheets(), amount_from(source.get("build_height_mm")), now)
    except Refusal:
        # The build height and the heights of the parts can't belong to one leg.
        return BuiltLeg(None, (spoken("bench alignment: a build height that these parts can have"),))


def _bench(view: FittingView) -> Mapping[str, Any]:
    head = view.head("alignment/bench")
    return head.body if head else {}


def _height(body: Mapping[str, Any], leg: BuiltLeg) -> tuple[float | None, HeightCure | None]:
    difference = _figure(body, "height_difference_mm")
    if difference is None:
        return None, None
    try:
        cure = height_cure(difference, leg.tube_mm, leg.tube_shortest_mm, leg.tube_longest_mm)
    except Refusal:
        return None, None
    return difference, cure


def _heel(view: FittingView, kind: str, body: Mapping[str, Any], leg: BuiltLeg) -> tuple[float, HeelChange | None]:
    """What the shoe does to a leg that was built for another heel height."""
    built = _figure(body if kind == BENCH else _bench(view), "heel_height_mm")
    shoe = amount_from(view.value("footwear", "shoe_heel_height_mm"))
    if built is None or shoe is None or float(shoe) == built:
        return 0.0, None
    change = float(shoe) - built
    if leg.chain is None or leg.heel_to_ball_mm is None or leg.ball_ahead_mm is None:
        return change, None
    try:
        return change, heel_change(leg.chain, change, leg.heel_to_ball_mm, leg.ball_ahead_mm)
    except Refusal:
        return change, None


def _outward(body: Mapping[str, Any], leg: BuiltLeg) -> float | None:
    """From the front: adducted, the socket's upper end stands outside the knee."""
    adduction, chain = _figure(body, "socket_adduction_deg"), leg.chain
    if adduction is None or chain is None or chain.reference_at_mm is None:
        return None
    tilting = next((j for j in chain.joints if not chain.is_below_knee(j) and j.tilt_limit_deg > 0), None)
    if tilting is None:
        return None
    plain = Chain(tuple(j for j in chain.joints if j == tilting), chain.knee_at_mm, chain.reference_at_mm)
    plain = plain.turned((Turn(tilting.name, -tilting.tilt_deg, -tilting.slide_mm),))
    leg_ = Leg(chain, plain.turned((Turn(tilting.name, tilt_deg=-adduction),)))
    return leg_.frontal.knee.x_mm - leg_.frontal.top.x_mm
