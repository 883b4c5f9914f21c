"""Where caps and screws sit on a part, each marked by its state, as the sheet draws it.

States are told by shape: open a ring, done a disc with a tick, doubted a ring
with '!', stale a broken ring, disputed a split ring.  What the sheet does not
place is not drawn at all.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Sequence

from shared_models.catalogue.part_drawing import VIEWS, PartDrawing
from shared_models.drawings.plain_shapes import Room, text_width, wrapped
from shared_models.drawings.scene import Disc, Label, Line, Point, Scene, Shape, Spot
from shared_models.wording.component_map import VIEWS as VIEW_WORDS
from shared_models.wording.component_map import map_words

#: The drawing is laid out on a height of so many units, whatever the part measures.
_HIGH = 1000.0
#: Of the height of a line of type: the radius of a mark, and the ring of what is in hand.
_MARK, _IN_HAND = 0.85, 1.3
#: Least distance between two marks, of the height of a line; beside each other so many times more.
_APART, _BESIDE = 2.6, 1.35
#: Of the height of a line: between two views, round a view for its marks, and the least height of a row.
_BETWEEN, _ROUND, _LEAST_ROW, _LEAST_COLUMN = 2.0, 1.6, 5.0, 3.8
_HALVINGS = 24
#: Rounds after which marks that crowd each other are left as they are.
_ROUNDS = 40


@dataclass(frozen=True)
class Mark:
    """A cap or screw: ``key`` is said when it is pressed, ``of`` is its name in the sheet.

    ``state``: open, met, doubt, stale, disputed or waived.
    """

    key: str
    of: str
    number: int
    name: str
    state: str
    in_hand: bool = False


@dataclass(frozen=True)
class DrawnPart:
    """One part with its marks; ``drawing`` None where its sheet has none."""

    name: str
    drawing: PartDrawing | None
    marks: tuple[Mark, ...]

    def placed(self) -> tuple[Mark, ...]:
        """Return the marks whose place the sheet states."""
        return tuple(m for m in self.marks if self.drawing and self.drawing.place(m.of))


@dataclass(frozen=True)
class _Panel:
    """One view of one part, with its frame in mm and where its frame's corner lies in the scene."""

    part: DrawnPart
    view: str
    frame: tuple[float, float, float, float]
    title: str
    left: float = 0.0
    bottom: float = 0.0
    scale: float = 1.0
    title_at: Point = (0.0, 0.0)
    #: How low and how high a mark may stand, so that it keeps clear of the titles.
    reach: tuple[float, float] = (0.0, _HIGH)

    @property
    def across_mm(self) -> float:
        return self.frame[2] - self.frame[0]

    @property
    def up_mm(self) -> float:
        return self.frame[3] - self.frame[1]

    def marks(self) -> list[Mark]:
        """The marks that this view shows."""
        return [m for m in self.part.marks if _in_view(self.part, m, self.view)]

    def at(self, point: Sequence) -> Point:
        return (
            self.left + (float(point[0]) - self.frame[0]) * self.scale,
            self.bottom + (float(point[1]) - self.frame[1]) * self.scale,
        )


def component_map(parts: Sequence[DrawnPart], room: Room) -> Scene | None:
    """Return the drawing of the views that hold a mark; None where no sheet places any, or the room is too low for the marks.

    The name of what is in hand is left out where the marks would run into it.
    """
    panels = [
        _Panel(part, view, tuple(float(n) for n in part.drawing.frame(view)), _title(part, view, len(parts)))  # type: ignore[arg-type,union-attr]
        for part in parts for view in VIEWS
        if part.drawing and part.drawing.frame(view) and any(_in_view(part, m, view) for m in part.placed())
    ]
    if not panels:
        return None
    line, wide = room.line * _HIGH, room.wide * _HIGH
    marks = [m for panel in panels for m in panel.marks()]
    shapes: list[Shape] = []
    in_hand = next((m for m in marks if m.in_hand), None)
    name = wrapped(f"{in_hand.number}  {in_hand.name}", wide - line, line * 1.12) if in_hand else ""
    placed = laid_out(panels, wide, line, above=(1.2 * (name.count("\n") + bool(name)) + 0.4) * line)
    if name and not _keeps_clear(placed, line):
        name, placed = "", laid_out(panels, wide, line, above=0.4 * line)
    if not _keeps_clear(placed, line):
        return None
    for panel in placed:
        shapes += _outlines(panel)
        shapes += _marks(panel, line)
        shapes.append(Label(panel.title_at, panel.title, tone="ink_soft", up="top"))
    if name:
        shapes.append(Label((wide / 2, _HIGH), name, bold=True, up="top", shift_dp=(0, -6)))
    return Scene(0, 0, wide, _HIGH, tuple(shapes), says=map_words([(m.number, m.name, m.state) for m in marks]))


def _title(part: DrawnPart, view: str, parts: int) -> str:
    return VIEW_WORDS[view] if parts == 1 else f"{VIEW_WORDS[view]}, {part.name}"


def _in_view(part: DrawnPart, mark: Mark, view: str) -> bool:
    place = part.drawing.place(mark.of) if part.drawing else None
    return place is not None and place.view == view


def _outlines(panel: _Panel) -> list[Shape]:
    drawing = panel.part.drawing
    assert drawing is not None  # a panel is made of one
    found: list[Shape] = [
        Line(tuple(panel.at(corner) for corner in outline.corners), "ink_soft", 2.5, closed=True)
        for outline in drawing.outlines if outline.view == panel.view
    ]
    found += [
        Disc(panel.at(circle.centre), float(circle.radius_mm) * panel.scale, "", "ink_soft", 2.5)
        for circle in drawing.circles if circle.view == panel.view
    ]
    return found


def _marks(panel: _Panel, line: float) -> list[Shape]:
    drawing, radius = panel.part.drawing, _MARK * line
    assert drawing is not None
    marks = panel.marks()
    true = [panel.at(drawing.place(m.of).at) for m in marks]  # type: ignore[union-attr]
    shapes: list[Shape] = []
    for mark, sits, at in zip(marks, true, _room_made(true, line, panel.reach)):
        if math.dist(sits, at) > 0.2 * radius:
            shapes += [Line((sits, at), "ink", 1.5), Disc(sits, 0.15 * line, "ink", "")]
        shapes += mark_shapes(mark, at, radius)
        number = (at[0] + radius * (1.25 if not mark.in_hand else 1.7), at[1])
        shapes.append(Label(number, str(mark.number), bold=True, across="left", ground_tone="field"))
        shapes.append(Spot(mark.key, at, mark.name))
    return shapes


def _keeps_clear(panels: Sequence[_Panel], line: float) -> bool:
    """Whether every mark stands between the titles beneath and what is above, once they are moved apart."""
    for panel in panels:
        assert panel.part.drawing is not None  # a panel is made of one
        true = [panel.at(panel.part.drawing.place(m.of).at) for m in panel.marks()]  # type: ignore[union-attr]
        if any(y > panel.reach[1] + 1e-6 for _, y in _room_made(true, line, panel.reach)):
            return False
    return True


def _room_made(points: Sequence[Point], line: float, reach: tuple[float, float]) -> list[Point]:
    """The marks moved apart: further beside each other than above, since each has its number at its right."""
    moved = [(x * _BESIDE, y) for x, y in apart([(x / _BESIDE, y) for x, y in points], _APART * line)]
    heights = [y for _, y in moved]
    down = max(max(heights, default=0.0) - reach[1], 0.0)
    up = max(reach[0] - min(heights, default=reach[0]) + down, 0.0)
    return [(x, y - down + up) for x, y in moved]


def mark_shapes(mark: Mark, at: Point, radius: float) -> list[Shape]:
    """Return the mark of a state, at a point; paper draws the same."""
    x, y = at
    shapes: list[Shape] = []
    if mark.in_hand:
        shapes.append(Disc(at, radius * _IN_HAND / _MARK, "working_soft", "working", 4.0))
    if mark.state == "met":
        shapes.append(Disc(at, radius, "ink", "ink", 2.0))
        tick = ((x - 0.45 * radius, y), (x - 0.1 * radius, y - 0.4 * radius), (x + 0.5 * radius, y + 0.4 * radius))
        shapes.append(Line(tick, "field", 3.0))
    elif mark.state == "doubt":
        shapes.append(Disc(at, radius, "doubt_ground", "doubt", 3.0))
        shapes.append(Label(at, "!", bold=True, tone="doubt_text"))
    else:
        shapes.append(Disc(at, radius, "field", "ink", 2.5, dashed=mark.state == "stale"))
        if mark.state == "disputed":
            shapes.append(Line(((x, y - radius), (x, y + radius)), "ink", 2.5))
        elif mark.state == "waived":
            shapes.append(Line(((x - radius, y), (x + radius, y)), "ink", 2.5))
    return shapes


def apart(points: Sequence[Point], least: float) -> list[Point]:
    """Return the points moved so far apart that no two are nearer than ``least``, where that can be had."""
    found = [list(p) for p in points]
    for _ in range(_ROUNDS):
        moved = False
        for n, a in enumerate(found):
            for b in found[:n]:
                dx, dy = a[0] - b[0], a[1] - b[1]
                away = math.hypot(dx, dy)
                if away >= least - 1e-6:
                    continue
                moved = True
                dx, dy = (dx / away, dy / away) if away > 1e-9 else (0.0, 1.0)
                push = (least - away) / 2
                a[0], a[1], b[0], b[1] = a[0] + dx * push, a[1] + dy * push, b[0] - dx * push, b[1] - dy * push
        if not moved:
            break
    return [(x, y) for x, y in found]


# Where the views stand -----------------------------------------------------------------


def laid_out(panels: Sequence[_Panel], wide: float, line: float, above: float) -> list[_Panel]:
    """Place the views in as few rows as have room for their titles and marks, all at one scale.

    The titles of a row stand on one line beneath it, each within its own column,
    so that none runs into its neighbour or into a mark.
    """
    rows = _rows(panels, wide, line, above)
    high = (_HIGH - above) / len(rows)
    # Marks reach beyond what they sit on, and a title needs its lines.
    scale = max(min(_fitting_scale(row, wide, line, high) for row in rows), 0.01)
    found = []
    for n, row in enumerate(rows):
        top, floor = _HIGH - above - n * high, _HIGH - above - (n + 1) * high
        titles = _titles(row, wide, line, scale)
        beneath = line * (max(t.count("\n") for t in titles) + 1.5)
        middle = floor + beneath + (top - floor - beneath) / 2
        x = 0.0
        for panel, title, column in zip(row, titles, _columns(row, wide, line, scale)):
            ring = line * (_IN_HAND if any(m.in_hand for m in panel.marks()) else _MARK)
            left, bottom = x + (column - panel.across_mm * scale) / 2, middle - panel.up_mm * scale / 2
            found.append(replace(
                panel, title=title, left=left, bottom=bottom, scale=scale,
                title_at=(x + column / 2, floor + beneath - 0.2 * line), reach=(floor + beneath + ring, top - ring),
            ))
            x += column
    return found


def _rows(panels: Sequence[_Panel], wide: float, line: float, above: float) -> list[list[_Panel]]:
    """The views in order, split into as few rows as their columns have room in."""
    for count in range(1, len(panels) + 1):
        each = math.ceil(len(panels) / count)
        rows = [list(panels[n:n + each]) for n in range(0, len(panels), each)]
        if all(sum(_least_column(p, line) for p in row) <= wide for row in rows):
            return rows
        if (_HIGH - above) / (count + 1) < _LEAST_ROW * line:
            return rows  # another row would have no room for its own marks
    return [[panel] for panel in panels]


def _least_column(panel: _Panel, line: float) -> float:
    """As wide as the longest word of its title, or a mark in hand with its number."""
    return max(max(text_width(word, line) for word in panel.title.split(" ")) + 0.6 * line, _LEAST_COLUMN * line)


def _columns(row: Sequence[_Panel], wide: float, line: float, scale: float) -> list[float]:
    columns = [max(_least_column(p, line), p.across_mm * scale + _BETWEEN * line) for p in row]
    spare = wide - sum(columns)
    if spare < 0:
        return [column * wide / sum(columns) for column in columns]
    return [column + spare / len(row) for column in columns]


def _titles(row: Sequence[_Panel], wide: float, line: float, scale: float) -> list[str]:
    return [wrapped(p.title, c - 0.4 * line, line) for p, c in zip(row, _columns(row, wide, line, scale))]


def _fitting_scale(row: Sequence[_Panel], wide: float, line: float, high: float) -> float:
    """The largest scale at which a row has room for its views, their marks and titles, found by halving."""
    low, up = 0.0, _HIGH
    for _ in range(_HALVINGS):
        scale = (low + up) / 2
        across = sum(max(_least_column(p, line), p.across_mm * scale + _BETWEEN * line) for p in row)
        beneath = line * (max(t.count("\n") for t in _titles(row, wide, line, scale)) + 1.5)
        tallest = max(p.up_mm for p in row) * scale + _ROUND * line + beneath
        low, up = (scale, up) if across <= wide and tallest <= high else (low, scale)
    return low
