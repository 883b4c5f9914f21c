"""Words around what was measured in the walks of a fitting."""

from __future__ import annotations

from typing import Any

HEEL_RISE = "Heel rise"
SPEED = "Walking speed"
SYMMETRY = "Step times, symmetry index"
STAIRS = "Down the stairs, time a step"
HEEL_RISE_LEVELS = (
    (-2.0, "marked low"), (-1.0, "slight low"), (0.0, "right"), (1.0, "slight high"), (2.0, "marked high"),
)
_LEVELS = dict(HEEL_RISE_LEVELS)
NOTHING_NOTED = "nothing noted of the heel"
EQUAL = "both sides alike"
BY_WATCH = "stopwatch, marked distance"
BY_WATCH_STAIRS = "stopwatch, all steps"
BY_CONTACTS = "timed contacts"
NOT_MEASURED = "–"
WALKS_TITLE = "Heel rise, speed, symmetry and stairs, walk by walk"
WALKS_SAY = (
    "All trials are numbered in their order; the table has those in which something of this was noted. Whiskers are "
    "95 % intervals. A figure that is not worth showing yet is left out; the timing below says why."
)
WALKS_HEAD = ("Walk", "Trial", HEEL_RISE, "Speed, m/s", "Symmetry index, %", "Stairs, s a step")


def side_words(side: str, prosthesis: str) -> str:
    """Return a side as the chart names it; ``prosthesis`` is '' where that side is not known."""
    if not prosthesis:
        return side
    return f"prosthesis ({side})" if side == prosthesis else f"sound side ({side})"


def chart_title(name: str, unit: str) -> str:
    """Return the title of a chart over the walks."""
    return f"{name}, by walk ({unit})" if unit else f"{name}, by walk"


def heel_rise_words(rises: tuple[int, ...], nothing_noted: bool) -> str:
    """Return how the heel rose in a walk, in words."""
    if rises:
        return "; ".join(_LEVELS[float(rise)] for rise in rises)
    return "nothing noted" if nothing_noted else NOT_MEASURED


def figure_words(value: float, low: float | None, high: float | None, places: int) -> str:
    """Return a figure with its interval."""
    interval = f" ({low:.{places}f} to {high:.{places}f})" if low is not None and high is not None else ""
    return f"{value:.{places}f}{interval}"


def measure_says(shown: Any) -> str:
    """Return what the chart of a measure shows, in words."""
    if not shown.taken:
        return f"{shown.name}: not measured."
    levels, told = dict(shown.levels), dict(shown.key)
    parts = []
    for taken in shown.taken:
        if taken.sign == "dot":
            value = told.get("dot", "")
        else:
            value = levels.get(taken.value) or f"{figure_words(taken.value, taken.low, taken.high, shown.places)} {shown.unit}"
            value += f", {told[taken.sign]}" if taken.sign in told else ""
        parts.append(f"walk {taken.number} {value}")
    return f"{shown.name}: {'; '.join(parts)}."


# Each step of a timed walk ---------------------------------------------------------

STEPS_TITLE = "Step times: {trial}"
STEPS_HEAD = ("Step", "Side", "Lands at, s", "Step time, s", "Counted")
STEPS_ACROSS = "s since the first contact"
LEFT_OUT_KEY = "left out (start, stop, landing, pause)"


def steps_says(shown: Any) -> str:
    """Return what the chart of a walk's step times shows, in words."""
    parts = [f"{len(shown.steps)} steps"]
    parts += [f"{words} on average {mean:.2f} s" for words, mean in shown.means]
    left_out = sum(not step.is_counted for step in shown.steps)
    return ", ".join(parts) + (f"; {left_out} left out." if left_out else ".")
