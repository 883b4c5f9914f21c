"""A drawing as plain shapes, so that tablet, page and papers draw the same thing.

Lengths are in the scene's own unit (millimetres where the drawing is to scale),
x to the right and y up.  Pens and type keep their size however large the scene
is shown: pens are in dp (1/160 inch), type is one of the theme's roles.  Tones
name colours of the theme (``ink``, ``working``, ``doubt`` ...); whoever draws
looks them up.  State is never told by tone alone: a shape or a word says it too.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Iterable, Union

Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A line through points; ``dashed`` where it is thought and not solid."""

    points: tuple[Point, ...]
    tone: str = "ink"
    pen_dp: float = 2.0
    dashed: bool = False
    closed: bool = False


@dataclass(frozen=True)
class Area:
    """A filled convex shape; ``faint`` lets what lies beneath show through."""

    points: tuple[Point, ...]
    tone: str = "working_soft"
    faint: bool = False


@dataclass(frozen=True)
class Disc:
    """A circle, filled and edged; an empty tone leaves that part out."""

    centre: Point
    radius: float
    fill_tone: str = ""
    edge_tone: str = "ink"
    pen_dp: float = 2.0
    dashed: bool = False


@dataclass(frozen=True)
class Label:
    """Words at a point; ``across`` and ``up`` say which part of them lies there.

    ``across`` is ``left``, ``middle`` or ``right``; ``up`` is ``bottom``,
    ``middle`` or ``top``.  ``shift_dp`` moves them off the point, so that they
    keep their distance at any scale.
    """

    at: Point
    text: str
    role: str = "body"
    tone: str = "ink"
    bold: bool = False
    across: str = "middle"
    up: str = "middle"
    shift_dp: Point = (0.0, 0.0)
    #: Drawn behind the words, so that a line beneath does not cross them.
    ground_tone: str = ""
    #: How wide the words may be, in the scene's unit, 0 for as wide as the scene; a screen sets longer ones smaller,
    #: and leaves out what could not be read any more.
    most_wide: float = 0.0
    #: How high they may be, in the scene's unit, 0 for as high as their type; a screen sets higher ones smaller.
    most_high: float = 0.0


@dataclass(frozen=True)
class Spot:
    """A place in the drawing that can be pressed; ``key`` says which."""

    key: str
    at: Point
    words: str


Shape = Union[Line, Area, Disc, Label, Spot]


@dataclass(frozen=True)
class Scene:
    """Shapes in the order they are drawn, in a frame from ``left``, ``bottom``.

    ``to_scale`` keeps both directions at one scale; a chart leaves it off and
    fills its place.  ``says`` is what the drawing shows, in words, for whoever
    can't see it.
    """

    left: float
    bottom: float
    width: float
    height: float
    shapes: tuple[Shape, ...] = field(default_factory=tuple)
    to_scale: bool = True
    says: str = ""

    def with_shapes(self, more: Iterable[Shape]) -> "Scene":
        """Return the scene with further shapes on top."""
        return Scene(
            self.left, self.bottom, self.width, self.height,
            (*self.shapes, *more), self.to_scale, self.says,
        )


def rectangle(left: float, bottom: float, width: float, height: float) -> tuple[Point, ...]:
    """Return the corners of an upright rectangle, going round."""
    return (
        (left, bottom), (left + width, bottom),
        (left + width, bottom + height), (left, bottom + height),
    )
