"""Where caps, screws and adjusters sit on a part: plain outlines and places in millimetres.

Optional in a component sheet.  Each view has its own axes, x to the right as
one looks at that side of the part and y up, from a zero that the clinic chooses;
only distances within a view mean anything.  Amounts are decimal text.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Collection, Mapping

from shared_models.catalogue.sheet_form import MOST_CORNERS, MOST_SHAPES, SheetTrouble
from shared_models.quantities.amounts import amount_from

#: Sides of the part, as the person stands: left and right are the person's own.
VIEWS = ("front", "back", "left", "right")
#: No part of a leg is longer; a larger figure is centimetres or a slip.
LONGEST_MM = Decimal(1000)
_FEWEST_CORNERS = 3
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
    if len(found) > MOST_SHAPES:
        raise ValueError(f"drawing: {name} has {len(found)} entries, at most {MOST_SHAPES} are taken")
    return list(found)


def _outline(item: Mapping[str, Any]) -> Outline:
    corners = item["corners_mm"]
    if not isinstance(corners, (list, tuple)) or len(corners) > MOST_CORNERS:
        raise ValueError(f"drawing: an outline is a list of at most {MOST_CORNERS} corners")
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


def drawing_troubles(drawing: PartDrawing | None, own: Collection[str]) -> list[SheetTrouble]:
    """Return what contradicts itself in a drawing, each at its place; ``own`` are the sheet's screws, caps and adjusters."""
    if drawing is None:
        return []
    sorts = {"outlines": drawing.outlines, "circles": drawing.circles, "places": drawing.places}
    troubles = [
        SheetTrouble(f"drawing/{sort}/{number}/view", "view_unknown", {"view": shape.view, "known": ", ".join(VIEWS)})
        for sort, shapes in sorts.items() for number, shape in enumerate(shapes) if shape.view not in VIEWS
    ]
    for number, outline in enumerate(drawing.outlines):
        at = f"drawing/outlines/{number}/corners_mm"
        if len(set(outline.corners)) < _FEWEST_CORNERS:
            troubles.append(SheetTrouble(at, "too_few_corners", {"fewest": str(_FEWEST_CORNERS)}))
        if any(abs(edge) > LONGEST_MM for corner in outline.corners for edge in corner):
            troubles.append(SheetTrouble(at, "drawn_too_far", {"most": str(LONGEST_MM)}))
    for number, circle in enumerate(drawing.circles):
        at = f"drawing/circles/{number}/radius_mm"
        if circle.radius_mm <= 0:
            troubles.append(SheetTrouble(at, "radius_not_above_0"))
        elif max(map(abs, circle.centre)) + circle.radius_mm > LONGEST_MM:
            troubles.append(SheetTrouble(at, "drawn_too_far", {"most": str(LONGEST_MM)}))
    return troubles + _place_troubles(drawing, own)


def _place_troubles(drawing: PartDrawing, own: Collection[str]) -> list[SheetTrouble]:
    troubles = []
    named = [p.of for p in drawing.places]
    for number, place in enumerate(drawing.places):
        at = f"drawing/places/{number}"
        if place.of in named[:number]:
            troubles.append(SheetTrouble(f"{at}/of", "place_doubled", {"of": place.of}))
        if place.of not in own:
            troubles.append(SheetTrouble(f"{at}/of", "place_unknown", {"of": place.of}))
        frame = drawing.frame(place.view)
        if frame is None:
            troubles.append(SheetTrouble(f"{at}/view", "place_in_empty_view", {"view": place.view}))
        elif not (frame[0] <= place.at[0] <= frame[2] and frame[1] <= place.at[1] <= frame[3]):
            ends = dict(zip(("left", "bottom", "right", "top"), map(str, frame), strict=True))
            troubles.append(SheetTrouble(f"{at}/x_mm", "place_outside_drawing", {"view": place.view, **ends}))
        for other in drawing.places[:number]:
            apart = max(abs(place.at[0] - other.at[0]), abs(place.at[1] - other.at[1]))
            if other.view == place.view and other.of != place.of and apart < _NEAREST_MM:
                troubles.append(SheetTrouble(f"{at}/x_mm", "place_on_another", {"other": other.of, "nearest": str(_NEAREST_MM)}))
    return troubles
