"""Looks over what is on the window, widget by widget, for what a person could not read or press.

Nothing here knows a screen: all of it is computed from the laid-out widgets,
from where they lie, what they draw and how large their text came out.
"""

from __future__ import annotations

from typing import Iterable

from kivy.metrics import Metrics
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.label import Label
from kivy.uix.scrollview import ScrollView
from kivy.uix.textinput import TextInput

from mobile.device.finding import parents_of
from mobile.gallery.boxes import Box, box_of, in_sight, name_of, scroll_of, shown, topmost
from mobile.gallery.findings import BOXES, CUT, FAINT, OUTSIDE, OVERLAP, SMALL, WIDE, Finding
from mobile.gallery.glyphs import lacking
from mobile.gallery.grounds import best_contrast, ground_behind
from mobile.gallery.looking_at_words import broken_words, words_in_drawings
from mobile.widgets.contrast import contrast
from mobile.widgets.drawing_pad import DrawingPad
from mobile.widgets.figure_field import FigureField
from mobile.widgets.marks import Mark
from mobile.widgets.palettes import FIGURE_CONTRAST, SHAPE_CONTRAST, TEXT_CONTRAST
from mobile.widgets.tap_area import TapArea

LEAST_TARGET_DP = 56
#: A pane with something to press that shows less of it than this is no use to a thumb.
LEAST_PANE_DP = 96
#: Pixels by which rounding may put things over each other.
_SLACK = 1.5
PRESSABLE = (ButtonBehavior, TextInput, FigureField, TapArea, DrawingPad)


def look_over(window) -> list[Finding]:
    """Return all findings on what is on top of the window, each once, in the order they were found."""
    root = topmost(window)
    widgets = [w for w in shown(root) if w.width > 0 and w.height > 0]
    found: list[Finding] = []
    for look in (text_cut_off, broken_words, words_in_drawings, targets, faint, outside, boxes_for_glyphs):
        found += look(widgets, window)
    return list(dict.fromkeys(found))


def look_at_colours(window) -> list[Finding]:
    """Return only what is too faint: another theme moves nothing."""
    return faint([w for w in shown(topmost(window)) if w.width > 0 and w.height > 0], window)


def _labels(widgets: Iterable) -> list[Label]:
    return [w for w in widgets if isinstance(w, Label) and str(w.text).strip()]


def text_box(label: Label) -> Box:
    """Return where the text itself lies: the drawn texture, in the middle of its label."""
    box = box_of(label)
    left, top, right, bottom = label.padding
    # The texture holds the padding too.
    wide, high = max(1, label.texture_size[0] - left - right), max(1, label.texture_size[1] - top - bottom)
    box = Box(box.left + left, box.bottom + bottom, box.right - right, box.top - top)
    x, y = (box.left + box.right) / 2, (box.bottom + box.top) / 2
    return Box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)


# Cut off ------------------------------------------------------------------------------


def text_cut_off(widgets: list, window) -> list[Finding]:
    """Text larger than its box, shortened where that is not declared, or running out of what is around it."""
    found = []
    for label in _labels(widgets):
        wide, high = label.texture_size
        if wide > label.width + _SLACK or high > label.height + _SLACK:
            found.append(Finding(CUT, name_of(label), f"{wide:.0f} x {high:.0f} px of text in {label.width:.0f} x {label.height:.0f}"))
        elif label.shorten and not getattr(label, "may_shorten", False) and label.is_shortened:
            found.append(Finding(CUT, name_of(label), "shortened, and nowhere declared that it may be"))
        else:
            found += _runs_out(label, text_box(label))
    for entry in (w for w in widgets if isinstance(w, TextInput)):
        if entry.minimum_height > entry.height + _SLACK:
            found.append(Finding(CUT, name_of(entry), f"{entry.minimum_height:.0f} px of lines in {entry.height:.0f}"))
    return found


def _runs_out(widget, part: Box) -> list[Finding]:
    """Whether a part runs out of a parent before a pane that scrolls takes it in."""
    for around in parents_of(widget):
        if isinstance(around, ScrollView):
            return []
        if around.width > 0 and around.height > 0 and not box_of(around).holds(part):
            return [Finding(CUT, name_of(widget), f"runs out of {type(around).__name__}: {_said(part)} in {_said(box_of(around))}")]
    return []


# Targets ------------------------------------------------------------------------------


def targets(widgets: list, window) -> list[Finding]:
    """Targets that are too small, lie over each other, or stand in a pane too low to press them."""
    pressable = [w for w in widgets if isinstance(w, PRESSABLE)]
    least = LEAST_TARGET_DP * Metrics.density
    found = [
        Finding(SMALL, name_of(w), f"{w.width:.0f} x {w.height:.0f} px, at least {least:.0f} wanted")
        for w in pressable if min(w.width, w.height) < least - 0.5
    ]
    found += _overlapping(pressable)
    for pane in {scroll_of(w) for w in pressable} - {None}:
        # A pane that scrolls is only short in the direction in which it scrolls.
        room, side = (pane.height, "height") if pane.do_scroll_y else (pane.width, "width")
        largest = max(getattr(w, side) for w in pressable if scroll_of(w) is pane)
        if room < LEAST_PANE_DP * Metrics.density and largest > room:
            found.append(Finding(SMALL, name_of(pane), f"{pane.width:.0f} x {pane.height:.0f} px to see what it holds"))
    return found


def _overlapping(pressable: list) -> list[Finding]:
    """Pairs that share pixels: within one pane wherever it is scrolled to, else as far as they are in sight."""
    found = []
    placed = [(w, scroll_of(w), box_of(w), in_sight(w), set(parents_of(w))) for w in pressable]
    for number, (one, pane, box, sight, above) in enumerate(placed):
        for other, other_pane, other_box, other_sight, other_above in placed[number + 1:]:
            if other in above or one in other_above:
                continue
            shared = box.meets(other_box) if pane is other_pane else sight.meets(other_sight)
            if shared.wide > _SLACK and shared.high > _SLACK:
                found.append(Finding(OVERLAP, f"{name_of(one)} and {name_of(other)}", f"{shared.wide:.0f} x {shared.high:.0f} px shared"))
    return found


# Colours ------------------------------------------------------------------------------


def faint(widgets: list, window) -> list[Finding]:
    """Text and marks that stand out too little from the ground that is really behind them."""
    found = []
    for label in _labels(widgets):
        colour = label.disabled_color if label.disabled else label.color
        wanted = FIGURE_CONTRAST if getattr(label, "role", "") == "figure" else TEXT_CONTRAST
        found += _contrast_found(label, colour, ground_behind(label, text_box(label), window.clearcolor), wanted)
    for entry in (w for w in widgets if isinstance(w, TextInput)):
        colour = entry.disabled_foreground_color if entry.disabled else entry.foreground_color
        found += _contrast_found(entry, colour, ground_behind(entry, None, window.clearcolor), TEXT_CONTRAST)
    for mark in (w for w in widgets if isinstance(w, Mark)):
        got = best_contrast(mark.canvas, ground_behind(mark, None, window.clearcolor))
        if got is not None and got < SHAPE_CONTRAST:
            found.append(Finding(FAINT, name_of(mark), f"{got:.2f} to 1, {SHAPE_CONTRAST} wanted"))
    return found


def _contrast_found(widget, colour, ground, wanted: float) -> list[Finding]:
    alpha = colour[3] if len(colour) > 3 else 1
    seen = [alpha * c + (1 - alpha) * g for c, g in zip(colour[:3], ground)]
    got = contrast(seen, ground)
    return [] if got >= wanted else [Finding(FAINT, name_of(widget), f"{got:.2f} to 1, {wanted} wanted")]


# The window ---------------------------------------------------------------------------


def outside(widgets: list, window) -> list[Finding]:
    """Widgets out of the window, and pages wider than the pane or window they are read in."""
    whole = Box(0, 0, window.width, window.height)
    found = []
    for widget in widgets:
        pane, box = scroll_of(widget), box_of(widget)
        if pane is None:
            if not whole.holds(box):
                sort = WIDE if box.wide > window.width + _SLACK else OUTSIDE
                found.append(Finding(sort, name_of(widget), f"{_said(box)} in {_said(whole)}"))
        elif not pane.do_scroll_x:
            around = box_of(pane)
            if box.left < around.left - _SLACK or box.right > around.right + _SLACK:
                found.append(Finding(WIDE, name_of(widget), f"from {box.left:.0f} to {box.right:.0f} in {around.left:.0f} to {around.right:.0f}"))
    return found


# Glyphs -------------------------------------------------------------------------------


def boxes_for_glyphs(widgets: list, window) -> list[Finding]:
    """Text with characters that the font chosen for it lacks."""
    found = []
    for widget in widgets:
        if isinstance(widget, Label):
            pieces = _pieces(widget)
        elif isinstance(widget, TextInput):
            pieces = [(widget.text, widget.font_name)]
        else:
            continue
        missing = "".join(lacking(text, font) for text, font in pieces)
        if missing:
            found.append(Finding(BOXES, name_of(widget), "boxes for " + " ".join(f"U+{ord(c):04X}" for c in missing[:6])))
    return found


def _pieces(label: Label) -> list[tuple[str, str]]:
    """Return the pieces of a label's text, each with its font; markup may change it on the way."""
    if not label.markup:
        return [(label.text, label.font_name)]
    from kivy.core.text.markup import MarkupLabel

    pieces, fonts = [], [label.font_name]
    for part in MarkupLabel(text=label.text).markup:
        if part.startswith("[font="):
            fonts.append(part[6:-1])
        elif part == "[/font]":
            fonts.pop()
        elif not (part.startswith("[") and part.endswith("]")):
            pieces.append((part.replace("&bl;", "[").replace("&br;", "]").replace("&amp;", "&"), fonts[-1]))
    return pieces


def _said(box: Box) -> str:
    return f"{box.left:.0f},{box.bottom:.0f} to {box.right:.0f},{box.top:.0f}"


