"""Where caps, screws and adjusters sit on a part: plain outlines and places in millimetres.

Optional in a component sheet.  Each view has its own axes, x to the right as
one looks at that side of the part and y up, from a zero that the clinic chooses;
only distances within a view mean anything.  Amounts are decimal text.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Collection, Mapping

from shared_models.quantities.amounts import amount_from

#: Sides of the part, as the person stands: left and right are the person's own.
VIEWS = ("front", "back", "left", "right")
#: No part of a leg is longer; a larger figure is centimetres or a slip.
LONGEST_MM = Decimal(1000)
_FEWEST_CORNERS, _MOST_CORNERS, _MOST_SHAPES = 3, 200, 100
#: Two places nearer than this can't be told apart in a drawing.
_NEAREST_MM = Decimal(2)

Point = tuple[Decimal, Decimal]


@dataclass(frozen=True)
class Outline:
    """A closed line through ``corners``."""

    view: str
    corners: tuple[Point, ...]


@dataclass(frozen=True)
class Circle:
    """A round part of the outline."""

    view: str
    centre: Point
    radius_mm: Decimal


@dataclass(frozen=True)
class DrawnPlace:
    """Where one thing sits; ``of`` is its slot within the sheet, such as ``screw/top_front``."""

    of: str
    view: str
    at: Point


@dataclass(frozen=True)
class PartDrawing:
    """What a sheet knows of the looks of its part."""

    outlines: tuple[Outline, ...] = ()
    circles: tuple[Circle, ...] = ()
    places: tuple[DrawnPlace, ...] = ()

    def place(self, of: str) -> DrawnPlace | None:
        """Return where one thing sits, None where the sheet does not say."""
        return next((p for p in self.places if p.of == of), None)

    def frame(self, view: str) -> tuple[Decimal, Decimal, Decimal, Decimal] | None:
        """Return left, bottom, right and top of what is drawn in a view; None for an empty one."""
        xs, ys = [], []
        for outline in self.outlines:
            if outline.view == view:
                xs += [x for x, _ in outline.corners]
                ys += [y for _, y in outline.corners]
        for circle in self.circles:
            if circle.view == view:
                xs += [circle.centre[0] - circle.radius_mm, circle.centre[0] + circle.radius_mm]
                ys += [circle.centre[1] - circle.radius_mm, circle.centre[1] + circle.radius_mm]
        return (min(xs), min(ys), max(xs), max(ys)) if xs else None


def drawing_from(raw: Any) -> PartDrawing | None:
    """Read the drawing of a sheet; None where there is none.

    Raises ValueError or KeyError when it can't be read.
    """
    if raw is None:
        return None
    if not isinstance(raw, Mapping):
        raise ValueError("the drawing is not a table")
    return PartDrawing(
        tuple(_outline(item) for item in _items(raw, "outlines")),
        tuple(
            Circle(str(item["view"]), (_mm(item["x_mm"]), _mm(item["y_mm"])), _mm(item["radius_mm"]))
            for item in _items(raw, "circles")
        ),
        tuple(
            DrawnPlace(str(item["of"]), str(item["view"]), (_mm(item["x_mm"]), _mm(item["y_mm"])))
            for item in _items(raw, "places")
        ),
    )


def _items(raw: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
    found = raw.get(name, ())
    if not isinstance(found, (list, tuple)) or not all(isinstance(item, Mapping) for item in found):
        raise ValueError(f"drawing: {name} is not a list of tables")
    if len(found) > _MOST_SHAPES:
        raise ValueError(f"drawing: {name} has {len(found)} entries, at most {_MOST_SHAPES} are taken")
    return list(found)


def _outline(item: Mapping[str, Any]) -> Outline:
    corners = item["corners_mm"]
    if not isinstance(corners, (list, tuple)) or len(corners) > _MOST_CORNERS:
        raise ValueError(f"drawing: an outline is a list of at most {_MOST_CORNERS} corners")
    found = []
    for corner in corners:
        if not isinstance(corner, (list, tuple)) or len(corner) != 2:
            raise ValueError(f"drawing: {corner!r} is no corner; give x and y")
        found.append((_mm(corner[0]), _mm(corner[1])))
    return Outline(str(item["view"]), tuple(found))


def _mm(value: Any) -> Decimal:
    amount = amount_from(value)
    if amount is None:
        raise ValueError(f"drawing: {value!r} is not a number")
    return amount


def drawing_troubles(drawing: PartDrawing | None, own: Collection[str]) -> list[str]:
    """Return what contradicts itself in a drawing, in words; ``own`` are the sheet's screws, caps and adjusters."""
    if drawing is None:
        return []
    shapes = (*drawing.outlines, *drawing.circles, *drawing.places)
    troubles = [
        f"drawing: there is no view {view!r}; it must be one of {', '.join(VIEWS)}"
        for view in sorted({s.view for s in shapes} - set(VIEWS))
    ]
    for outline in drawing.outlines:
        if len(set(outline.corners)) < _FEWEST_CORNERS:
            troubles.append(f"drawing, {outline.view}: an outline needs at least {_FEWEST_CORNERS} different corners")
    for circle in drawing.circles:
        if circle.radius_mm <= 0:
            troubles.append(f"drawing, {circle.view}: a circle's radius must be above 0 mm")
    for view in VIEWS:
        frame = drawing.frame(view)
        if frame and max(abs(edge) for edge in frame) > LONGEST_MM:
            troubles.append(f"drawing, {view}: reaches beyond {LONGEST_MM} mm; lengths are in millimetres")
    return troubles + _place_troubles(drawing, own)


def _place_troubles(drawing: PartDrawing, own: Collection[str]) -> list[str]:
    troubles = []
    named = [p.of for p in drawing.places]
    troubles += [f"drawing: {of} has two places" for of in sorted(set(named)) if named.count(of) > 1]
    for number, place in enumerate(drawing.places):
        if place.of not in own:
            troubles.append(f"drawing: {place.of} is no screw, cap or adjuster of this sheet")
        frame = drawing.frame(place.view)
        if frame is None:
            troubles.append(f"drawing: {place.of} has its place in view {place.view}, where nothing is drawn")
        elif not (frame[0] <= place.at[0] <= frame[2] and frame[1] <= place.at[1] <= frame[3]):
            troubles.append(f"drawing: {place.of} lies outside of what is drawn in view {place.view}")
        for other in drawing.places[:number]:
            apart = max(abs(place.at[0] - other.at[0]), abs(place.at[1] - other.at[1]))
            if other.view == place.view and other.of != place.of and apart < _NEAREST_MM:
                troubles.append(f"drawing: {place.of} and {other.of} lie on one another")
    return troubles
