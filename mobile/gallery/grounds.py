"""What colour lies behind a widget: read from what its parents really draw."""

from __future__ import annotations

from typing import Iterator

from kivy.graphics import Color, InstructionGroup, Rectangle, StencilPush, StencilUse
from kivy.uix.scrollview import ScrollView

from mobile.device.finding import parents_of
from mobile.gallery.boxes import Box, box_of
from mobile.widgets.contrast import contrast


def instructions(canvas) -> Iterator:
    """Every drawing instruction of a canvas, those of its groups included, in drawing order."""
    for each in canvas.children:
        if isinstance(each, InstructionGroup):
            yield from instructions(each)
        else:
            yield each


def drawn_grounds(canvas) -> list[tuple[tuple, Box]]:
    """Return the filled rectangles of a canvas with their colours, the first drawn first."""
    found, colour, cuts = [], (1.0, 1.0, 1.0, 1.0), False
    for each in instructions(canvas):
        if isinstance(each, StencilPush):
            cuts = True  # what a pane cuts off by is a shape that nobody sees
        elif isinstance(each, StencilUse):
            cuts = False
        elif cuts:
            continue
        elif isinstance(each, Color):
            colour = tuple(each.rgba)
        elif isinstance(each, Rectangle) and colour[3] > 0:
            (x, y), (wide, high) = each.pos, each.size
            found.append((colour, Box(x, y, x + wide, y + high)))
    return found


def ground_behind(widget, part: Box | None = None, window_colour=(0, 0, 0, 1)) -> tuple:
    """Return the colour seen behind ``part`` of a widget (all of it by default), red, green and blue.

    The nearest rectangle that covers it counts; one that lets something through is
    mixed with what lies behind it.
    """
    part = part or box_of(widget)
    layers: list[tuple] = []
    for around in (widget, *parents_of(widget)):
        own = box_of(around)
        # What an instruction says is in the widget's own coordinates; shift it into the window's.
        dx, dy = own.left - around.x, own.bottom - around.y
        for colour, box in reversed(drawn_grounds(around.canvas.before)):
            moved = Box(box.left + dx, box.bottom + dy, box.right + dx, box.top + dy)
            if moved.holds(part, 2):
                layers.append(colour)
                if colour[3] >= 0.999:
                    return _mixed(layers)
        if isinstance(around, ScrollView):
            part = part.meets(own) if part.meets(own).high > 0 else own
    return _mixed([*layers, tuple(window_colour)])


def _mixed(layers: list[tuple]) -> tuple:
    """Lay the layers, the nearest first, over each other."""
    red, green, blue = layers[-1][:3]
    for r, g, b, alpha in reversed(layers[:-1]):
        red, green, blue = (
            alpha * new + (1 - alpha) * old for new, old in ((r, red), (g, green), (b, blue))
        )
    return red, green, blue


def best_contrast(canvas, ground) -> float | None:
    """Return the contrast of the strokes of a canvas that stand out most; None when it draws nothing."""
    colours = [tuple(each.rgba) for each in instructions(canvas) if isinstance(each, Color)]
    found = [contrast(colour, ground) for colour in colours if colour[3] > 0]
    return max(found) if found else None
