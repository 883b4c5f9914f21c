"""Words around what was measured in the walks of a fitting."""

from __future__ import annotations

from typing import Any

from shared_models.language import PhraseRow, Phrases, number_words, phrase, spoken

HEEL_RISE = phrase("Heel rise")
SPEED = phrase("Walking speed")
SYMMETRY = phrase("Step times, symmetry index")
STAIRS = phrase("Down the stairs, time a step")
HEEL_RISE_LEVELS = Phrases({
    -2.0: "marked low", -1.0: "slight low", 0.0: "right", 1.0: "slight high", 2.0: "marked high",
})
NOTHING_NOTED = phrase("nothing noted of the heel")
EQUAL = phrase("both sides alike")
BY_WATCH = phrase("stopwatch, marked distance")
BY_WATCH_STAIRS = phrase("stopwatch, all steps")
BY_CONTACTS = phrase("timed contacts")
NOT_MEASURED = "–"
WALKS_TITLE = phrase("Heel rise, speed, symmetry and stairs, walk by walk")
WALKS_SAY = (
    phrase("All trials are numbered in their order; the table has those in which something of this was noted. Whiskers are 95 % intervals. A figure that is not worth showing yet is left out; the timing below says why.")
)
WALKS_HEAD = PhraseRow(("Walk", "Trial", HEEL_RISE, "Speed, m/s", "Symmetry index, %", "Stairs, s a step"))


def side_words(side: str, prosthesis: str) -> str:
    """Return a side as the chart names it; ``prosthesis`` is '' where that side is not known."""
    if not prosthesis:
        return side
    return spoken("prosthesis ({side})", side=side) if side == prosthesis else spoken("sound side ({side})", side=side)


def chart_title(name: str, unit: str) -> str:
    """Return the title of a chart over the walks."""
    return spoken("{name}, by walk ({unit})", name=name, unit=unit) if unit else spoken("{name}, by walk", name=name)


def heel_rise_words(rises: tuple[int, ...], nothing_noted: bool) -> str:
    """Return how the heel rose in a walk, in words."""
    if rises:
        return "; ".join(HEEL_RISE_LEVELS[float(rise)] for rise in rises)
    return spoken("nothing noted") if nothing_noted else spoken(NOT_MEASURED)


def figure_words(value: float, low: float | None, high: float | None, places: int) -> str:
    """Return a figure with its interval."""
    said = number_words(value, f".{places}f")
    if low is None or high is None:
        return said
    return spoken("{value} ({low} to {high})", value=said, low=number_words(low, f".{places}f"), high=number_words(high, f".{places}f"))


def measure_says(shown: Any) -> str:
    """Return what the chart of a measure shows, in words."""
    if not shown.taken:
        return spoken("{name}: not measured.", name=shown.name)
    levels, told = dict(shown.levels), dict(shown.key)
    parts = []
    for taken in shown.taken:
        if taken.sign == "dot":
            value = told.get("dot", "")
        else:
            value = levels.get(taken.value) or f"{figure_words(taken.value, taken.low, taken.high, shown.places)} {shown.unit}"
            value += f", {told[taken.sign]}" if taken.sign in told else ""
        parts.append(spoken("walk {number} {value}", number=taken.number, value=value))
    return f"{shown.name}: {'; '.join(parts)}."


# Each step of a timed walk ---------------------------------------------------------

STEPS_TITLE = phrase("Step times: {trial}")
STEPS_HEAD = PhraseRow(("Step", "Side", "Lands at, s", "Step time, s", "Counted"))
STEPS_ACROSS = phrase("s since the first contact")
LEFT_OUT_KEY = phrase("left out (start, stop, landing, pause)")


def steps_says(shown: Any) -> str:
    """Return what the chart of a walk's step times shows, in words."""
    parts = [spoken("{steps} steps", steps=len(shown.steps))]
    parts += [spoken("{words} on average {mean:.2f} s", words=words, mean=mean) for words, mean in shown.means]
    left_out = sum(not step.is_counted for step in shown.steps)
    return ", ".join(parts) + (spoken("; {left_out} left out.", left_out=left_out) if left_out else ".")
