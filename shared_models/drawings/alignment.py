"""The drawings of an alignment: from the side, from the front, and what is said beneath them.

Everything is to scale in mm.  Where the leg is much longer than the offset, a
second view of the knee is magnified alike in both directions and says how many
times; no direction is ever stretched.  docs/drawings.md says what is drawn from
which figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from shared_models.checks.alignment_reading import BENCH, AlignmentReading, read_alignment
from shared_models.drawings.alignment_front import front_scene
from shared_models.drawings.alignment_side import side_scene
from shared_models.drawings.leg_figures import LegFigures, leg_figures
from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.scene import Scene
from shared_models.entries.fitting import FittingView
from shared_models.language import filled, spoken
from shared_models.wording import alignment_drawing as words
from shared_models.wording.alignment_figures import plain

SIDE, FRONT = "side", "front"
#: What is read in the frontal plane; every other field of an alignment belongs to the side.
FRONTAL_FIELDS = (
    "socket_adduction_deg", "height_difference_mm", "weight_on_prosthesis_kg",
    "weight_on_sound_side_kg", "balance",
)


@dataclass(frozen=True)
class Picture:
    """One drawing and the small words beneath it: from where, to scale, what stands in."""

    scene: Scene
    caption: str


def planes_of(view: FittingView, kind: str) -> tuple[str, ...]:
    """Return the planes in which this kind of alignment reads anything."""
    known = {field.key for field in view.edition.kinds[kind].fields}
    return (SIDE, FRONT) if known & set(FRONTAL_FIELDS) else (SIDE,)


def plane_of(field: str) -> str:
    """Return the plane in which a field is read."""
    return FRONT if field in FRONTAL_FIELDS else SIDE


def alignment_picture(
    view: FittingView, kind: str, body: Mapping[str, Any], plane: str, room: Room,
    reading: AlignmentReading | None = None,
) -> Picture:
    """Return the drawing of an alignment as typed or recorded.

    ``body`` holds what could be read of it, ``room`` is the place it
    is shown in; ``reading`` where it is known already.
    """
    found = reading or read_alignment(view, kind, body)
    leg = leg_figures(view, kind, body, found)
    if plane == FRONT:
        return Picture(front_scene(leg, found, room), _caption(leg, found, FRONT))
    return Picture(side_scene(leg, found, room), _caption(leg, found, SIDE))


def _caption(leg: LegFigures, reading: AlignmentReading, plane: str) -> str:
    front = plane == FRONT
    parts = [spoken(words.FROM_THE_FRONT) if front and reading.kind != BENCH else spoken(words.SEEN_FROM_FRONT) if front else words.SEEN_FROM[leg.side]]
    parts += [filled(words.STANDS_IN[name], {"knee": plain(leg.knee_mm)}) for name in leg.stands_in]
    if not front and leg.flexion_deg is None:
        parts.append(spoken(words.FLEXION_NOT_READ))
    if front and leg.adduction_deg is None:
        parts.append(spoken(words.ADDUCTION_NOT_READ))
    return " ".join(parts)
