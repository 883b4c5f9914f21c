"""Looks for words broken in their middle, and for words in drawings that lie on something or outside."""

from __future__ import annotations

from kivy.uix.label import Label

from mobile.gallery.boxes import Box, box_of, name_of
from mobile.gallery.findings import BROKEN, CUT, OVERLAP, Finding
from mobile.widgets.drawing import DrawingView
from mobile.widgets.fonts import one_line_width

#: Pixels by which rounding may be off.
_SLACK = 2.0
#: Of the height of a line: what no letter reaches into, at its top and its foot.
_AIR = 0.2
#: Of a ring's radius: words may come so near to its middle and still lie beside its edge.
_ROUND = 0.75


def broken_words(widgets: list, window) -> list[Finding]:
    """Words of letters that are wider than what they are wrapped in, so that their rest stands on the next line.

    A number or an address has no place of its own to be broken at; what somebody types is not judged.
    """
    found = []
    for label in (w for w in widgets if isinstance(w, Label) and not w.shorten and w.text_size[0]):
        room = label.text_size[0] - label.padding[0] - label.padding[2]
        text = str(getattr(label, "plain_text", "") or ("" if label.markup else label.text))
        for word in filter(_is_of_letters, text.split()):
            wide = one_line_width(word, label.font_size, bold=label.bold)
            if wide > room + _SLACK:
                found.append(Finding(BROKEN, name_of(label), f"'{word}' is {wide:.0f} px wide, in {room:.0f}"))
    return found


def _is_of_letters(word: str) -> bool:
    bare = word.strip(".,;:!?()[]\u201e\u201c\u201d\"'")
    return bool(bare) and all(c.isalpha() or c in "-\u2019'" for c in bare)


def words_in_drawings(widgets: list, window) -> list[Finding]:
    """Words and marks of a drawing that reach out of it, and words that lie on each other or on a mark."""
    found = []
    for view in (w for w in widgets if isinstance(w, DrawingView) and w.scene is not None and w.height > 2 and w.width > 2):
        words, marks, around = _words(view), _marks(view), box_of(view)
        for said, box in (*words, *marks):
            if not around.holds(box, _SLACK):
                found.append(Finding(CUT, f"{name_of(view)} {said}", f"{_said(box)} in {_said(around)}"))
        for number, (said, box) in enumerate(words):
            over = [other for other, its in words[number + 1:] if _lie_on(box, its)]
            over += [mark for mark, its in marks if _lie_on(box, _core(its)) and not its.holds(box, _SLACK)]
            found += [Finding(OVERLAP, f"{name_of(view)} {said}", f"on {other}") for other in over]
    return found


def _words(view: DrawingView) -> list[tuple[str, Box]]:
    found = []
    for shape in view.scene.shapes:
        placed = view.placed_label(shape) if type(shape).__name__ == "Label" and shape.text.strip() else None
        if placed is not None:
            texture, x, y = placed
            left, bottom = view.to_window(x, y)
            wide, high = texture.size
            air = _AIR * high / (shape.text.count("\n") + 1)
            found.append((f"'{shape.text}'", Box(left, bottom + air, left + wide, bottom + high - air)))
    return found


def _marks(view: DrawingView) -> list[tuple[str, Box]]:
    """The rings and discs around what can be pressed."""
    spots = {shape.at for shape in view.scene.shapes if type(shape).__name__ == "Spot"}
    scale, found = view._frame()[2], []
    for shape in view.scene.shapes:
        if type(shape).__name__ == "Disc" and shape.centre in spots:
            x, y = view.to_window(*view.to_pixels(shape.centre))
            radius = shape.radius * scale
            found.append(("a mark", Box(x - radius, y - radius, x + radius, y + radius)))
    return found


def _core(box: Box) -> Box:
    """The middle of a ring's box: its corners are outside of the ring."""
    x, y = (box.left + box.right) / 2, (box.bottom + box.top) / 2
    return Box(x - _ROUND * box.wide / 2, y - _ROUND * box.high / 2, x + _ROUND * box.wide / 2, y + _ROUND * box.high / 2)


def _lie_on(one: Box, other: Box) -> bool:
    shared = one.meets(other)
    return shared.wide > _SLACK and shared.high > _SLACK


def _said(box: Box) -> str:
    return f"{box.left:.0f},{box.bottom:.0f} to {box.right:.0f},{box.top:.0f}"
