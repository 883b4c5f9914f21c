"""Where caps and screws sit on a part, each marked by its state, as the sheet draws it.

States are told by shape: open a ring, done a disc with a tick, doubted a ring
with '!', stale a broken ring, disputed a split ring.  What the sheet does not
place is not drawn at all.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Sequence

from shared_models.catalogue.part_drawing import VIEWS, PartDrawing
from shared_models.drawings.plain_shapes import Room, wrapped
from shared_models.drawings.scene import Disc, Label, Line, Point, Scene, Shape, Spot
from shared_models.wording.component_map import VIEWS as VIEW_WORDS
from shared_models.wording.component_map import map_words

#: The drawing is laid out on a height of so many units, whatever the part measures.
_HIGH = 1000.0
#: Of the height of a line of type: the radius of a mark, and the ring of what is in hand.
_MARK, _IN_HAND = 0.85, 1.3
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
    left: float = 0.0
    bottom: float = 0.0
    scale: float = 1.0

    def at(self, point: Sequence) -> Point:
        return (
            self.left + (float(point[0]) - self.frame[0]) * self.scale,
            self.bottom + (float(point[1]) - self.frame[1]) * self.scale,
        )


def component_map(parts: Sequence[DrawnPart], room: Room) -> Scene | None:
    """Return the drawing of the views that hold a mark; None where no sheet places any."""
    panels = [
        _Panel(part, view, tuple(float(n) for n in part.drawing.frame(view)))  # type: ignore[arg-type,union-attr]
        for part in parts for view in VIEWS
        if part.drawing and part.drawing.frame(view) and any(_in_view(part, m, view) for m in part.placed())
    ]
    if not panels:
        return None
    line, wide = room.line * _HIGH, room.wide * _HIGH
    marks = [m for panel in panels for m in panel.part.marks if _in_view(panel.part, m, panel.view)]
    shapes: list[Shape] = []
    in_hand = next((m for m in marks if m.in_hand), None)
    name = wrapped(f"{in_hand.number}  {in_hand.name}", wide - line, line * 1.12) if in_hand else ""
    for panel in _laid_out(panels, wide, line, above=(1.2 * (name.count("\n") + bool(name)) + 1.4) * line):
        shapes += _outlines(panel)
        shapes += _marks(panel, line)
        left, bottom, right, _ = panel.frame
        title = VIEW_WORDS[panel.view] if len(parts) == 1 else f"{panel.part.name}\n{VIEW_WORDS[panel.view]}"
        shapes.append(Label(panel.at(((left + right) / 2, bottom)), title, tone="ink_soft", up="top", shift_dp=(0, -14)))
    if name:
        shapes.append(Label((wide / 2, _HIGH), name, bold=True, up="top", shift_dp=(0, -6)))
    return Scene(0, 0, wide, _HIGH, tuple(shapes), says=map_words([(m.number, m.name, m.state) for m in marks]))


def _in_view(part: DrawnPart, mark: Mark, view: str) -> bool:
    place = part.drawing.place(mark.of) if part.drawing else None
    return place is not None and place.view == view


def _laid_out(panels: list[_Panel], wide: float, line: float, above: float) -> list[_Panel]:
    """Place the views side by side, all at one scale, with room for marks, titles and the name ``above``."""
    room, beneath = 1.4 * line, 2.6 * line
    across = sum(p.frame[2] - p.frame[0] for p in panels) or 1.0
    high = max(p.frame[3] - p.frame[1] for p in panels) or 1.0
    scale = min((wide - room * (len(panels) + 1)) / across, (_HIGH - beneath - above) / high)
    scale = max(scale, 0.01)
    spare = (wide - across * scale) / (len(panels) + 1)
    middle = beneath + (_HIGH - beneath - above) / 2
    found, x = [], spare
    for panel in panels:
        own = (panel.frame[3] - panel.frame[1]) * scale
        found.append(_Panel(panel.part, panel.view, panel.frame, x, middle - own / 2, scale))
        x += (panel.frame[2] - panel.frame[0]) * scale + spare
    return found


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
    marks = [m for m in panel.part.marks if _in_view(panel.part, m, panel.view)]
    true = [panel.at(drawing.place(m.of).at) for m in marks]  # type: ignore[union-attr]
    shapes: list[Shape] = []
    for mark, sits, at in zip(marks, true, apart(true, 2.9 * radius)):
        if math.dist(sits, at) > 0.2 * radius:
            shapes += [Line((sits, at), "ink", 1.5), Disc(sits, 0.15 * line, "ink", "")]
        shapes += mark_shapes(mark, at, radius)
        number = (at[0] + radius * (1.25 if not mark.in_hand else 1.7), at[1])
        shapes.append(Label(number, str(mark.number), bold=True, across="left", ground_tone="field"))
        shapes.append(Spot(mark.key, at, mark.name))
    return shapes


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
