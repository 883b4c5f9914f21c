"""The load line: read directly, or worked out from two scales under a board.

The board lies on two scales like a lever.  The prosthesis stands on it, the
sound foot on a block of the board's height, so that the pelvis stays level.
From the two readings follows where the weight stands between the supports.
"""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.calculations.alignment.interval import half_width_of_sum, standard_of_sum
from shared_models.calculations.alignment.sound_figures import sound
from shared_models.calculations.alignment.weights import HEAVIEST_KG
from shared_models.quantities.refusals import Refusal

#: Length of board that can lie under one foot, between the supports, in mm.
SHORTEST_BOARD_MM, LONGEST_BOARD_MM = 150.0, 2000.0
COARSEST_SCALE_KG = 5.0
LOOSEST_PLACING_MM = 50.0
FARTHEST_MM = 2000.0
#: Weight below which nobody stands on the board; common practice.
LEAST_WEIGHT_KG = 2.0
#: The centre of pressure lies under the shoe: from its back edge, with a little
#: room for reading errors, to the length of a large shoe (size 50 is 333 mm long,
#: ISO/TS 19407:2015, foot length plus allowance); common practice for the room.
BEHIND_HEEL_MM, LONGEST_SHOE_MM = -20.0, 360.0


@dataclass(frozen=True)
class Doubt:
    """One source of uncertainty: its name and its standard uncertainty in mm."""

    source: str
    standard_mm: float


@dataclass(frozen=True)
class LoadLine:
    """Where the line passes the knee centre, plus in front.

    ``standard_mm`` and ``half_width_95_mm`` are None where nobody said how sure
    the reading is.  ``weight_kg`` is the weight on the board, None for a direct
    reading; ``from_heel_mm`` how far the weight stands in front of the shoe's
    back edge.  ``doubts`` say where the uncertainty comes from.
    """

    offset_mm: float
    standard_mm: float | None = None
    half_width_95_mm: float | None = None
    weight_kg: float | None = None
    weight_half_width_95_kg: float | None = None
    from_heel_mm: float | None = None
    doubts: tuple[Doubt, ...] = ()

    @property
    def interval_mm(self) -> tuple[float, float]:
        """The 95 % interval; the reading alone where nothing is known of it."""
        half = self.half_width_95_mm or 0.0
        return self.offset_mm - half, self.offset_mm + half

    def is_within(self, target_mm: float, tolerance_mm: float) -> bool:
        """Tell whether the reading itself lies within tolerance of the target."""
        return abs(self.offset_mm - target_mm) <= tolerance_mm

    def straddles(self, target_mm: float, tolerance_mm: float) -> bool:
        """Tell whether the 95 % interval lies across an edge of the tolerance."""
        if self.half_width_95_mm is None:
            return False
        low, high = self.interval_mm
        return any(low < edge < high for edge in (target_mm - tolerance_mm, target_mm + tolerance_mm))


@dataclass(frozen=True)
class TwoScales:
    """Two scales under a board, as read.

    Lengths in mm from the back support, forward plus; weights in kg; ``empty_``
    is what each scale shows under the board alone (0 when set to zero with the
    board on).  ``distances_within_mm``: each distance is right to within ± this.
    """

    board_length_mm: float
    back_kg: float
    front_kg: float
    empty_back_kg: float
    empty_front_kg: float
    resolution_kg: float
    heel_from_back_support_mm: float
    knee_from_heel_mm: float
    distances_within_mm: float


def direct_load_line(offset_mm: float, within_mm: float | None = None) -> LoadLine:
    """Return a load line as it was read, right to within ± ``within_mm`` if that is known."""
    offset = sound("Load line", offset_mm, "mm", -FARTHEST_MM, FARTHEST_MM)
    if within_mm is None:
        return LoadLine(offset)
    within = sound("Reading right to within", within_mm, "mm", 0.0, LOOSEST_PLACING_MM)
    return LoadLine(
        offset, standard_of_sum([within]), half_width_of_sum([within]),
        doubts=(Doubt("reading", standard_of_sum([within])),),
    )


def board_centre_mm(board_length_mm: float, back_kg: float, front_kg: float) -> float:
    """Return how far in front of the back support the weight stands, board tare taken off.

    Raises Refusal ``alignment_nobody_on_board`` when there is no weight to speak of.
    """
    if back_kg + front_kg < LEAST_WEIGHT_KG:
        raise Refusal("alignment_nobody_on_board", weight=f"{back_kg + front_kg:.2f}", least=f"{LEAST_WEIGHT_KG:g}")
    return front_kg * board_length_mm / (back_kg + front_kg)


def one_scale_centre_mm(board_length_mm: float, front_kg: float, empty_front_kg: float, weight_kg: float) -> float:
    """Return the same from the front scale alone, where the weight on the board is known in kg."""
    weight = sound("Weight on the board", weight_kg, "kg", LEAST_WEIGHT_KG, HEAVIEST_KG)
    return (front_kg - empty_front_kg) * board_length_mm / weight


def sensitivity_mm_per_kg(board_length_mm: float, back_kg: float, front_kg: float) -> tuple[float, float]:
    """Return by how many mm the line moves for a kg more on the back, and on the front scale."""
    squared = (back_kg + front_kg) ** 2
    return -board_length_mm * front_kg / squared, board_length_mm * back_kg / squared


def load_line_from(scales: TwoScales) -> LoadLine:
    """Return the load line from two scales under a board, with its uncertainty.

    Raises Refusal for figures that can't be: see `sound_figures`, and
    ``alignment_below_empty_board``, ``alignment_nobody_on_board``,
    ``alignment_weight_off_the_foot``.
    """
    _check(scales)
    back = scales.back_kg - scales.empty_back_kg
    front = scales.front_kg - scales.empty_front_kg
    for name, net in (("Back scale", back), ("Front scale", front)):
        if net < -scales.resolution_kg:
            raise Refusal("alignment_below_empty_board", field=name, below=f"{-net:.2f}")
    back, front = max(back, 0.0), max(front, 0.0)
    centre = board_centre_mm(scales.board_length_mm, back, front)
    from_heel = centre - scales.heel_from_back_support_mm
    if not BEHIND_HEEL_MM <= from_heel <= LONGEST_SHOE_MM:
        raise Refusal(
            "alignment_weight_off_the_foot", from_heel=f"{from_heel:.0f}",
            lowest=f"{BEHIND_HEEL_MM:.0f}", highest=f"{LONGEST_SHOE_MM:.0f}",
        )
    halves = _half_widths_mm(scales, back, front)
    everything = [half for group in halves.values() for half in group]
    kilos = [scales.resolution_kg / 2] * 4
    return LoadLine(
        from_heel - scales.knee_from_heel_mm, standard_of_sum(everything),
        half_width_of_sum(everything), back + front, half_width_of_sum(kilos), from_heel,
        tuple(Doubt(source, standard_of_sum(group)) for source, group in halves.items()),
    )


def _half_widths_mm(scales: TwoScales, back: float, front: float) -> dict[str, list[float]]:
    """Half widths of each error as it shows in the offset, by where it comes from.

    Each scale is read twice, empty and loaded; the board's length, the heel's
    place on it and the knee's distance from the heel are each placed by hand.
    """
    on_back, on_front = sensitivity_mm_per_kg(scales.board_length_mm, back, front)
    half_step, within = scales.resolution_kg / 2, scales.distances_within_mm
    share = front / (back + front)
    return {
        "scales": [abs(on_back) * half_step] * 2 + [on_front * half_step] * 2,
        "placing": [share * within, within, within],
    }


def _check(scales: TwoScales) -> None:
    sound("Board, support to support", scales.board_length_mm, "mm", SHORTEST_BOARD_MM, LONGEST_BOARD_MM)
    for name, value in (
        ("Back scale", scales.back_kg), ("Front scale", scales.front_kg),
        ("Back scale, empty board", scales.empty_back_kg),
        ("Front scale, empty board", scales.empty_front_kg),
    ):
        sound(name, value, "kg", 0.0, HEAVIEST_KG)
    sound("Smallest step of the scales", scales.resolution_kg, "kg", 1e-6, COARSEST_SCALE_KG)
    sound("Heel in front of the back support", scales.heel_from_back_support_mm, "mm", -FARTHEST_MM, FARTHEST_MM)
    sound("Knee centre in front of the heel", scales.knee_from_heel_mm, "mm", -FARTHEST_MM, FARTHEST_MM)
    sound("Distances right to within", scales.distances_within_mm, "mm", 0.0, LOOSEST_PLACING_MM)
