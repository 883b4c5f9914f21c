"""The figures a leg is drawn from, in mm and degrees: recorded where they are, else usual and said so.

Signs as in docs/frames.md.  What stands in for a figure nobody recorded is
listed in ``stands_in``; nothing drawn in its place is ever written as a figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from shared_models.calculations.alignment.chain import Chain
from shared_models.calculations.model_leg.segments import (
    ANKLE_HEIGHT_SHARE,
    FOOT_LENGTH_SHARE,
    HIP_HEIGHT_SHARE,
    KNEE_HEIGHT_SHARE,
)
from shared_models.checks.alignment_reading import BENCH, AlignmentReading
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from

#: Where a line of type takes more of the height than this, the whole leg is not drawn.
LEG_UP_TO_LINE = 0.09
#: A person of this stature lends a leg its length where none is recorded; common practice.
USUAL_STATURE_MM = 1700.0
#: Where the foot's axis and its ball lie along the shoe, from the back edge; common practice.
AXIS_ALONG_FOOT, BALL_ALONG_FOOT = 0.25, 0.70
#: From ball to tip of the shoe, and the knee unit above its centre; common practice.
TOE_BEYOND_BALL_MM, ABOVE_CENTRE_MM = 75.0, 30.0
#: Lower end of the socket to the height where it is measured; common practice.
SOCKET_MM = 260.0
#: Width across the hips as a part of stature: Drillis R, Contini R, Body Segment
#: Parameters, New York University 1966 (from memory, as drawn in Winter, Fig. 4.1).
HIP_WIDTH_SHARE = 0.191


@dataclass(frozen=True)
class LegFigures:
    """One prosthesis as it is drawn.

    ``side`` is ``left``, ``right`` or "" while that is not known.  ``chain`` is
    the leg worked out from the sheets, None where they lack a figure for it.
    ``knee_mm`` is the knee centre over the floor; ``pivot_mm`` how far above
    the knee centre the socket is turned; ``socket_from_mm`` and ``socket_to_mm``
    its lower end and its reference height above the knee centre.
    ``back_edge_mm`` lies behind, ``ball_mm`` and ``toe_mm`` in front of the
    leg's axis at the floor; ``knee_from_heel_mm`` is measured on the board.
    Heel height, flexion and adduction are None where nobody recorded them.
    """

    side: str
    chain: Chain | None
    knee_mm: float
    pivot_mm: float
    socket_from_mm: float
    socket_to_mm: float
    back_edge_mm: float
    ball_mm: float
    toe_mm: float
    foot_height_mm: float
    heel_height_mm: float | None = None
    flexion_deg: float | None = None
    adduction_deg: float | None = None
    knee_from_heel_mm: float | None = None
    stands_in: tuple[str, ...] = ()

    @property
    def stature_mm(self) -> float:
        """The stature that goes with this knee height, for what is drawn in usual proportions only."""
        return self.knee_mm / KNEE_HEIGHT_SHARE

    @property
    def hip_mm(self) -> float:
        """Height of the hips over the floor, in usual proportions."""
        return HIP_HEIGHT_SHARE * self.stature_mm

    @property
    def hips_apart_mm(self) -> float:
        """Width across the hips, in usual proportions."""
        return HIP_WIDTH_SHARE * self.stature_mm


def leg_figures(view: FittingView, kind: str, body: Mapping[str, Any], reading: AlignmentReading) -> LegFigures:
    """Return what a leg is drawn from: this alignment, the bench, the sheets, then usual proportions."""
    bench = view.head("alignment/bench")
    built: Mapping[str, Any] = body if kind == BENCH else bench.body if bench else {}
    stands_in: list[str] = []
    chain = reading.leg.chain
    height = _mm(built, "build_height_mm")
    if chain is not None:
        knee = chain.knee.y_mm
    elif height is not None:
        knee = height
    else:
        knee = round(KNEE_HEIGHT_SHARE * USUAL_STATURE_MM)
        stands_in.append("leg_length")
    above, to_socket, reference = _above(view)
    if None in (above, to_socket, reference):
        stands_in.append("socket_length")
    back, ball, toe, foot = _foot(view, reading, knee / KNEE_HEIGHT_SHARE)
    figures = {
        "heel_height_mm": _mm(built, "heel_height_mm"), "flexion_deg": _mm(built, "socket_flexion_deg"),
        "adduction_deg": _mm(built, "socket_adduction_deg"),
        "knee_from_heel_mm": _mm(body, "knee_from_heel_mm") if reading.by_scales else None,
    }
    pivot = ABOVE_CENTRE_MM if above is None else above
    lower = pivot + (to_socket or 0.0)
    return LegFigures(
        str(view.opened.body.get("side", "")) if view.opened else "", chain, knee, pivot, lower,
        lower + (SOCKET_MM if reference is None else reference), back, ball, toe, foot,
        stands_in=tuple(stands_in), **figures,
    )


def _mm(body: Mapping[str, Any], key: str) -> float | None:
    amount = amount_from(body.get(key))
    return None if amount is None else float(amount)


def _above(view: FittingView) -> tuple[float | None, float | None, float | None]:
    """Knee centre to the knee's upper end, the adapter's height, the socket's reference height."""
    sheets = view.sheets()
    found = []
    for place, name in (("knee", "above_centre_mm"), ("upper_adapter", "height_mm"), ("socket", "reference_mm")):
        figure = sheets[place].build.get(name) if place in sheets else None
        found.append(None if figure is None else float(figure))
    return found[0], found[1], found[2]


def _foot(view: FittingView, reading: AlignmentReading, stature: float) -> tuple[float, float, float, float]:
    """Back edge behind the axis, ball and toe in front of it, height to its upper end."""
    foot = view.sheets().get("foot")
    height = foot.build.get("height_mm") if foot else None
    high = ANKLE_HEIGHT_SHARE * stature if height is None else float(height)
    ball, heel_to_ball = reading.leg.ball_ahead_mm, reading.leg.heel_to_ball_mm
    if ball is None or heel_to_ball is None:
        length = FOOT_LENGTH_SHARE * stature
        axis = AXIS_ALONG_FOOT * length
        return axis, BALL_ALONG_FOOT * length - axis, length - axis, high
    return heel_to_ball - ball, ball, ball + TOE_BEYOND_BALL_MM, high
