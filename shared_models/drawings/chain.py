"""The component chain from socket to foot, and the shoe with its heel height.

The chain is a plan in usual proportions, not to scale, because the lengths are
only known on the bench; it says so.  The shoe is to scale in mm.  Shapes are
our own and generic.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Mapping

from shared_models.catalogue.sheets import PLACES
from shared_models.checks.alignment_reading import BENCH, read_alignment
from shared_models.drawings.alignment import Picture
from shared_models.drawings.alignment_side import shoe
from shared_models.drawings.leg_figures import leg_figures
from shared_models.drawings.plain_shapes import Room, arrow, text_width, wrapped
from shared_models.drawings.scene import Area, Disc, Label, Line, Point, Scene, Shape, rectangle
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.quantities.amounts import amount_from
from shared_models.wording import chain_drawing as words

_HIGH, _EDGE = 1000.0, 30.0
_MIDDLE, _LABELS_FROM, _MARK = 120.0, 296.0, 17.0
#: How high each piece stands in the plan, and where the chain begins.
_PIECES = {"socket": 290.0, "upper_adapter": 66.0, "knee": 190.0, "tube": 240.0, "foot": 120.0}
_GAP = 6.0
#: How often the plan is widened for its words before it is left as it is, and how many times as wide.
_WIDENINGS, _MOST_WIDENED = 12, 3.0
_PEN = {words.IN_HAND: ("working", 4.0), words.RECORDED: ("ink", 2.0), words.OPEN: ("ink_soft", 1.5), words.DISPUTED: ("doubt", 2.5)}


def chain_states(view: FittingView, in_hand: str = "") -> dict[str, str]:
    """Return the state of each place of the chain: in hand, recorded, disputed or open."""
    found = {}
    for place in PLACES:
        heads = view.heads(f"component/{place}")
        held = words.RECORDED if len(heads) == 1 and heads[0].kind == "component" else words.OPEN
        found[place] = words.IN_HAND if place == in_hand else words.DISPUTED if len(heads) > 1 else held
    return found


def chain_picture(view: FittingView, in_hand: str, room: Room) -> Picture:
    """Return the chain with what is recorded and open; ``in_hand`` is the place being filled in."""
    states = chain_states(view, in_hand)
    names = {place: view.edition.words("place", place) for place in PLACES}
    told, width, high = _told(names, states, in_hand, room)
    line, bottom = high * room.line, (_HIGH - high) / 2
    spare = (high - line * sum(text.count("\n") + 1 for text in told.values())) / len(PLACES)
    shapes: list[Shape] = []
    top, label_top = _HIGH - _EDGE, bottom + high - max(spare, 0.0) / 2
    for place in PLACES:
        tone, pen = _PEN[states[place]]
        middle = (_MIDDLE, top - _PIECES[place] / 2)
        shapes += _piece(place, top, states[place], tone, pen)
        label_high = line * (told[place].count("\n") + 1)
        at = label_top - label_high / 2
        shapes += [
            Line(((_MIDDLE + 88, middle[1]), (_LABELS_FROM - 56, at)), "hairline", 1.0),
            *_mark((_LABELS_FROM - 32, at), states[place], tone),
            Label((_LABELS_FROM, at), told[place], bold=place == in_hand, across="left"),
        ]
        top -= _PIECES[place] + _GAP
        label_top -= label_high + max(spare, 0.0)
    says = words.chain_says([(names[place], words.chain_state(states[place])) for place in PLACES])
    return Picture(Scene(0.0, bottom, width, high, tuple(shapes), says=says), spoken(words.CHAIN_CAPTION))


def _told(names: Mapping[str, str], states: Mapping[str, str], in_hand: str, room: Room) -> tuple[dict[str, str], float, float]:
    """Return what is written beside each piece, and how wide and high the plan is for it.

    A plan widened for its words is drawn smaller, so in its own unit the type grows with it. Where
    the names would lie over each other the piece in hand keeps its own, the others their state.
    """
    for named in (PLACES, (in_hand,)):
        width = _HIGH * room.wide
        for _ in range(_WIDENINGS):
            high = width / room.wide
            line = high * room.line
            across = max(width - _LABELS_FROM - _EDGE, 6 * line)
            told = {
                place: (wrapped(names[place], across, line * 1.12) + "\n" if place in named else "") + words.chain_state(states[place])
                for place in PLACES
            }
            needed = _LABELS_FROM + max(text_width(text, line) for text in told.values()) + _EDGE
            if needed <= width:
                break
            width = min(needed, _HIGH * room.wide * _MOST_WIDENED)
        high = width / room.wide
        # A plan widened as far as it may be has no room for a word that is longer still.
        if needed <= width and high * room.line * sum(text.count("\n") + 1 for text in told.values()) <= high:
            break
    return told, width, high


def _piece(place: str, top: float, state: str, tone: str, pen: float) -> list[Shape]:
    """One piece in plain strokes; dashed while nothing is recorded for it."""
    outline = _outline(place, top)
    filled = state in (words.RECORDED, words.IN_HAND)
    fill = "working_soft" if state == words.IN_HAND else "panel"
    shapes: list[Shape] = [Area(outline, fill)] if filled else []
    shapes.append(Line(outline, tone, pen, dashed=state == words.OPEN, closed=True))
    if place == "knee":
        shapes.append(Disc((_MIDDLE, top - _PIECES[place] * 0.4), 24.0, "field", tone, pen, dashed=state == words.OPEN))
    return shapes


def _outline(place: str, top: float) -> tuple[Point, ...]:
    """Corners of a generic piece between ``top`` and its lower end; convex."""
    high, x = _PIECES[place], _MIDDLE
    low = top - high
    if place == "socket":
        return ((x - 84, top), (x + 84, top), (x + 52, low), (x - 52, low))
    if place == "upper_adapter":
        return rectangle(x - 34, low, 68, high)
    if place == "knee":
        return ((x - 46, top), (x + 46, top), (x + 58, top - high * 0.4), (x + 34, low), (x - 34, low), (x - 52, top - high * 0.4))
    if place == "tube":
        return rectangle(x - 22, low, 44, high)
    return ((x - 46, low), (x - 46, top - 20), (x - 26, top), (x + 26, top), (x + 104, low + 30), (x + 108, low))


def _mark(at: Point, state: str, tone: str) -> list[Shape]:
    """The mark of a state by its shape: filled with a tick, ring, split ring, or filled with an arrow."""
    x, y = at
    if state == words.RECORDED:
        tick = ((x - 8, y), (x - 2, y - 7), (x + 9, y + 7))
        return [Disc(at, _MARK, tone, ""), Line(tick, "field", 2.0)]
    if state == words.IN_HAND:
        return [Disc(at, _MARK, tone, ""), Disc(at, _MARK * 0.4, "field", "")]
    if state == words.DISPUTED:
        return [Disc((x - 4, y), _MARK, "", tone), Disc((x + 4, y), _MARK, "", tone)]
    return [Disc(at, _MARK, "field", tone)]


def shoe_picture(view: FittingView, body: Mapping[str, Any], room: Room) -> Picture:
    """Return the shoe with its heel height as typed or recorded, beside what the leg is built for."""
    heel = amount_from(body.get("shoe_heel_height_mm"))
    typed = {"heel_height_mm": str(heel)} if heel is not None else {}
    leg = leg_figures(view, BENCH, typed, read_alignment(view, BENCH, typed))
    outline = shoe(leg, 0.0, 0.0)
    back = outline[1][0]
    left, right = back - 60.0, outline[5][0] + 20.0
    wide = right - left
    shapes: list[Shape] = [
        Line(((left, 0.0), (right, 0.0)), "ink_soft", 1.5),
        Area(outline, "panel"), Line(outline, "ink", 2.0, closed=True),
        Line(((leg.ball_mm, 0.0), (leg.ball_mm, -12.0)), "ink", 2.0),
    ]
    high = wide / room.wide
    line = high * room.line
    if heel:
        height = float(heel)
        shapes += [
            Area(rectangle(back, 0.0, 54.0, height), "ink_soft"),
            Line(((back - 40, height), (back, height)), "ink", 1.5),
            *arrow((back - 24, 0.0), (back - 24, height), 10.0, "working", 3.0),
        ]
    told = spoken(words.NOT_MEASURED) if heel is None else words.heel_words(f"{heel:f}")
    top = max(y for _, y in outline)
    shapes.append(Label((left + wide / 2, top + 12), told, "unit" if heel is not None else "body", bold=heel is not None, up="bottom"))
    shapes += _built_for(view, heel, left, right, line)
    bottom = -max((high - top) / 2 - line, 2 * line)
    return Picture(Scene(left, bottom, wide, high, tuple(shapes), says=spoken("Shoe: {told}.", told=told)), spoken(words.SHOE_CAPTION))


def _built_for(view: FittingView, heel: Decimal | None, left: float, right: float, line: float) -> list[Shape]:
    """The heel height that the bench alignment was made for, dashed, where the shoe has another."""
    built = amount_from(view.value("alignment/bench", "heel_height_mm"))
    if built is None or heel is None or built == heel:
        return []
    return [
        Line(((left, float(built)), (right, float(built))), "doubt", 2.0, dashed=True),
        Label(((left + right) / 2, -0.4 * line), words.built_for_words(f"{built:f}"), "body", "doubt_text", bold=True, up="top"),
    ]
