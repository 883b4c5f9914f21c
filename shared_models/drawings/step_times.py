"""Each step of a timed walk: how long it lasted, by side, in its order.

A filled disc is the prosthesis' step, a ring the sound side's (left and right
where the prosthesis' side is not known), a cross a step that is left out of the
figures.  The lines are the means of what is counted, through for the one, dashed
for the other.
"""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.calculations.timing import intervals
from shared_models.checks.walk_timing import TimingFigures
from shared_models.drawings.measure_chart import DISC, RING, sign_shapes, spread_of, ticks_between
from shared_models.drawings.plain_shapes import Room, text_width
from shared_models.drawings.scene import Label, Line, Scene, Shape
from shared_models.language import number_words, spoken
from shared_models.wording import walk_measures as words

HIGH = 100.0
#: With more steps than these a sign is small.
_LARGE_UP_TO = 30
#: Step times that differ by hundredths of a second are not drawn far apart.
_LEAST_SPREAD_S = 0.4
_OTHER = {"left": "right", "right": "left"}


@dataclass(frozen=True)
class Step:
    """One step: the side that landed, when, after how long, and whether the figures count it."""

    side: str
    at_s: float
    time_s: float
    is_counted: bool


@dataclass(frozen=True)
class StepsShown:
    """The steps of one walk; ``sides`` the two sides, the filled one first; ``means`` (words, s)."""

    steps: tuple[Step, ...]
    sides: tuple[str, str]
    side_words: tuple[str, str]
    means: tuple[tuple[str, float], ...]


def steps_shown(figures: TimingFigures) -> StepsShown | None:
    """Return the steps of a timing; None where it has none with a time."""
    left_out = {(o.interval.start, o.interval.end) for o in figures.left_out}
    timed = [c.time_s for c in figures.contacts if c.time_s is not None]
    steps = tuple(
        Step(i.side, (figures.contacts[i.end].time_s or 0.0) - timed[0], i.time_s, (i.start, i.end) not in left_out)
        for i in intervals.steps(figures.contacts)
    )
    if not steps:
        return None
    first = figures.prosthesis_side or "left"
    sides = (first, _OTHER[first])
    said = (words.side_words(sides[0], figures.prosthesis_side), words.side_words(sides[1], figures.prosthesis_side))
    means = []
    for side, word in zip(sides, said):
        counted = [s.time_s for s in steps if s.side == side and s.is_counted]
        if counted:
            means.append((word, sum(counted) / len(counted)))
    return StepsShown(steps, sides, said, tuple(means))


def steps_scene(shown: StepsShown, room: Room) -> Scene:
    """Return the chart of a walk's steps."""
    line = room.line * HIGH
    # What is left out may be a pause of many seconds; it is then drawn at the upper edge.
    counted = [s.time_s for s in shown.steps if s.is_counted] or [s.time_s for s in shown.steps]
    ticks = ticks_between(*spread_of(counted, _LEAST_SPREAD_S))
    keys = [*zip(shown.side_words, (DISC, RING))]
    if any(not s.is_counted for s in shown.steps):
        keys.append((spoken(words.LEFT_OUT_KEY), "cross"))
    left = max(text_width(number_words(t, "g"), line) for t in ticks) * 1.2 + 0.8 * line
    right, bottom, top = HIGH * room.wide - 0.7 * line, 2.5 * line, HIGH - line * (0.8 + 1.15 * len(keys))
    last_s = max(s.at_s for s in shown.steps) or 1.0

    def at(at_s: float, time_s: float) -> tuple[float, float]:
        share = (time_s - ticks[0]) / (ticks[-1] - ticks[0])
        return left + (right - left) * at_s / last_s, bottom + (top - bottom) * min(max(share, 0.0), 1.0)

    shapes: list[Shape] = []
    for tick in ticks:
        shapes.append(Line((at(0, tick), at(last_s, tick)), "hairline", 1.0))
        shapes.append(Label(at(0, tick), number_words(tick, "g"), "body", "ink_soft", across="right", shift_dp=(-6.0, 0.0)))
    shapes.append(Line(((left, top), (left, bottom), (right, bottom)), "ink", 1.5))
    for across_s in ticks_between(0.0, last_s):
        if across_s <= last_s:
            shapes.append(Label((at(across_s, 0)[0], bottom), number_words(across_s, "g"), "body", "ink_soft", up="top", shift_dp=(0.0, -2.0)))
    shapes.append(Label((right, 0.0), spoken(words.STEPS_ACROSS), "body", "ink_soft", across="right", up="bottom"))
    size = line * (0.36 if len(shown.steps) <= _LARGE_UP_TO else 0.22)
    for word, mean in shown.means:
        dashed = word == shown.side_words[1]
        shapes.append(Line((at(0, mean), at(last_s, mean)), "ink", 1.5, dashed=dashed))
    for step in shown.steps:
        place = at(step.at_s, step.time_s)
        shapes += sign_shapes(DISC if step.side == shown.sides[0] else RING, place, size) if step.is_counted else _cross(place, size)
    means = dict(shown.means)
    for n, (word, sign) in enumerate(keys):
        place = (left + 0.5 * line, HIGH - line * (0.6 + 1.15 * n))
        shapes += _cross(place, 0.3 * line) if sign == "cross" else sign_shapes(sign, place, 0.33 * line)
        told = spoken("{word}, mean {means:.2f} s", word=word, means=means[word]) if word in means else word
        shapes.append(Label((left + 1.1 * line, place[1]), told, "body", across="left"))
    return Scene(0.0, 0.0, HIGH * room.wide, HIGH, tuple(shapes), says=words.steps_says(shown))


def _cross(place: tuple[float, float], size: float) -> list[Shape]:
    x, y = place
    return [
        Line(((x - size, y - size), (x + size, y + size)), "ink_soft", 2.0),
        Line(((x - size, y + size), (x + size, y - size)), "ink_soft", 2.0),
    ]
