"""Timing in lines that a person reads: what is worth showing, how sure it is, what is not and why.

Tablet and review page show the same lines.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Mapping, Sequence

from shared_models.calculations.timing.between_walks import Compared
from shared_models.calculations.timing.figures import Figure
from shared_models.calculations.timing.jitter import NORMAL_975
from shared_models.calculations.timing.walk import WalkFigures
from shared_models.wording.timing import because_words, doubt_sentence, left_out_words

REMARKS = {
    "timing_unreadable": "{place}: a timing of this walk can't be read, so it shows no figures. Time the walk again, or take the timing out.",
    "taps_doubled": "{place}: in its timing perhaps doubled taps, {times}. They are left out of the steady figures.",
    "taps_missed": "{place}: in its timing the same side twice running, {times} times: a contact may have been missed. Left out of the steady figures.",
}
REFUSALS = {
    "contacts_text_unreadable": "The contacts of this timing can't be read. Time the walk again.",
    "walk_not_recorded": "There is no trial to which this timing belongs. Record the trial first, then attach the timing.",
}

_LABELS = {
    "duration_s": ("Time, first to last contact", "s", 1),
    "cadence_steps_per_min": ("Cadence, all steps", "steps a minute", 0),
    "steady_cadence_steps_per_min": ("Cadence, steady steps", "steps a minute", 0),
    "speed_m_per_s": ("Speed", "m/s", 2),
    "step_time_s": ("Step time", "s", 2),
    "stride_time_s": ("Stride time", "s", 2),
    "swing_time_s": ("Swing time", "s", 2),
    "stance_time_s": ("Stance time", "s", 2),
}
_INDICES = {
    "symmetry_index_percent": ("symmetry index", "%", 0),
    "ratio_right_to_left": ("ratio right to left", "", 2),
    "gait_asymmetry_percent": ("gait asymmetry", "%", 0),
    "symmetry_angle_percent": ("symmetry angle", "%", 1),
}
_OTHER = {"left": "right", "right": "left"}


@dataclass(frozen=True)
class Line:
    """One figure as it is read: what, how much with its interval, and what it says.

    ``shown`` is False when the figure is not worth showing yet; ``says`` then
    tells why, and ``value`` is empty.
    """

    what: str
    value: str
    says: str
    shown: bool = True


def side_words(side: str, prosthesis_side: str) -> str:
    """Return a side with what stands on it: 'left, prosthesis'."""
    if prosthesis_side not in _OTHER:
        return side
    return f"{side}, {'prosthesis' if side == prosthesis_side else 'sound side'}"


def walk_lines(walk: WalkFigures, prosthesis_side: str) -> tuple[Line, ...]:
    """Return the figures of a walk in the order a prosthetist asks for them."""
    figures = [walk.whole["speed_m_per_s"], walk.whole["steady_cadence_steps_per_min"]]
    for quantity in ("step_time_s", "swing_time_s"):
        if quantity == "swing_time_s" and not walk.finals:
            continue
        figures += [walk.steady.figure(quantity, side, "mean") for side in _sides(prosthesis_side)]
        figures.append(walk.steady.figure(quantity, "", "symmetry_index_percent"))
    lines = [figure_line(each, prosthesis_side) for each in figures]
    lines.append(_other_indices(walk))
    lines.append(figure_line(walk.steady.figure("stride_time_s", "both", "cv_percent"), prosthesis_side))
    return tuple(lines)


def brief_words(walk: WalkFigures, prosthesis_side: str) -> str:
    """Return the figures worth showing in one line; what is still missing when none is."""
    shown = [line for line in walk_lines(walk, prosthesis_side) if line.shown][:5]
    if shown:
        return "; ".join(f"{line.what[:1].lower()}{line.what[1:]} {line.value}" for line in shown)
    missing = figure_line(walk.steady.figure("step_time_s", "", "symmetry_index_percent"), prosthesis_side)
    return f"no figure is worth showing yet: {missing.says}"


def figure_line(figure: Figure, prosthesis_side: str) -> Line:
    """Return one figure in words, with its 95 % interval."""
    what, unit, places = _named(figure, prosthesis_side)
    if not figure.worth_showing:
        why = because_words(figure.because) if figure.because else "nothing to reckon it from"
        return Line(what, "", why, shown=False)
    value = f"{_round(figure.value, places)} {unit}".strip()
    low, high = _interval(figure)
    if low is not None and high is not None:
        value += f" ({_round(low, places)} to {_round(high, places)})"
    return Line(what, value, _says(figure, prosthesis_side))


def change_words(changes: Sequence[Compared], since: str, prosthesis_side: str, walk: WalkFigures) -> tuple[str, ...]:
    """Return for each figure of a walk whether it changed since another walk; () when none can be told."""
    said = []
    for change in changes:
        if change.changed is None or change.difference is None or change.least is None:
            continue
        figure = _figure_of(walk, change.quantity)
        what, unit, places = _named(figure, prosthesis_side)
        difference = f"{_signed(change.difference, places)} {unit}".strip()
        word = "changed" if change.changed else "not told apart from no change"
        said.append(f"{what}: {word} since {since}, {difference} (told apart from {_round(change.least, places)} on)")
    return tuple(said)


def basis_words(walk: WalkFigures) -> str:
    """Return instrument, event, and what the intervals allow for."""
    return (
        f"{_capital(walk.basis.instrument)}; counted: {walk.basis.event}. Intervals are 95 % and allow for "
        f"contacts that are off by {walk.jitter_s:g} s (standard deviation) and for the steps' own variation."
    )


def counted_words(walk: WalkFigures, prosthesis_side: str) -> str:
    """Return how many contacts there are, and how many steps are steady walking."""
    sides = Counter(contact.side for contact in walk.contacts)
    each = " and ".join(f"{sides[side]} {side_words(side, prosthesis_side)}" for side in ("left", "right"))
    steady = [walk.steady.spreads["step_time_s"][side].n for side in ("left", "right")]
    return (
        f"{len(walk.contacts)} contacts in {walk.whole['duration_s'].value:.1f} s, {each}. "
        f"Steady steps: {steady[0]} left, {steady[1]} right."
    )


def left_out_sentence(walk: WalkFigures) -> str:
    """Return what the steady figures leave out, by reason; "" when nothing."""
    whys = Counter(left_out_words(each) for each in walk.left_out if each.interval.quantity == "step_time_s")
    if not whys:
        return ""
    return "Left out of the steady steps: " + "; ".join(f"{n} ({why})" for why, n in whys.items()) + "."


def doubt_sentences(walk: WalkFigures) -> tuple[str, ...]:
    """Return everything odd about the contacts, a sentence each."""
    return tuple(doubt_sentence(each) for each in walk.doubts)


def jitter_words(walk: WalkFigures) -> str:
    """Return what the taps alone leave open in the symmetry index; "" without one."""
    figure = walk.steady.figure("step_time_s", "", "symmetry_index_percent")
    if figure.u_taps is None:
        return ""
    points = NORMAL_975 * figure.u_taps
    return (
        f"{_capital(walk.basis.instrument)} leave about {points:.0f} points, either way, in the symmetry index "
        f"of these {figure.n} steps; more steps make it narrower."
    )


def _named(figure: Figure, prosthesis_side: str) -> tuple[str, str, int]:
    label, unit, places = _LABELS.get(figure.quantity, (figure.quantity, "", 2))
    if figure.statistic in _INDICES:
        index, unit, places = _INDICES[figure.statistic]
        return f"{label}, {index}", unit, places
    if figure.statistic == "cv_percent":
        return f"{label}, coefficient of variation", "%", 1
    if figure.side in _OTHER:
        return f"{label}, {side_words(figure.side, prosthesis_side)}", unit, places
    return label, unit, places


def _says(figure: Figure, prosthesis_side: str) -> str:
    """Return what an index says of the two sides; "" for other figures."""
    if figure.equal_at is None or figure.value is None:
        return ""
    equal = f"{figure.equal_at:g} is equal"
    low, high = _interval(figure)
    if low is None or high is None or low <= figure.equal_at <= high:
        return f"{equal}; the two sides can't be told apart"
    longer = "right" if figure.value > figure.equal_at else "left"
    return f"{equal}; longer on the {side_words(longer, prosthesis_side)}"


def _other_indices(walk: WalkFigures) -> Line:
    """The other published indices of the same step times, each with its own zero."""
    parts = []
    for key in ("ratio_right_to_left", "gait_asymmetry_percent", "symmetry_angle_percent"):
        figure = walk.steady.figure("step_time_s", "", key)
        if figure.worth_showing:
            name, unit, places = _INDICES[key]
            parts.append(f"{name} {figure.value:.{places}f} {unit}".strip() + f" ({figure.equal_at:g} is equal)")
    if not parts:
        figure = walk.steady.figure("step_time_s", "", "ratio_right_to_left")
        why = because_words(figure.because) if figure.because else "nothing to reckon it from"
        return Line("Step time, other indices", "", why, shown=False)
    return Line("Step time, other indices", "; ".join(parts), "plus, or above 1, is longer on the right")


def _interval(figure: Figure) -> tuple[float | None, float | None]:
    return (figure.low, figure.high) if figure.low is not None else (figure.taps_low, figure.taps_high)


def _figure_of(walk: WalkFigures, key: str) -> Figure:
    whole: Mapping[str, Figure] = walk.whole
    return whole[key] if key in whole else walk.steady.figures[key]


def _sides(prosthesis_side: str) -> tuple[str, str]:
    first = prosthesis_side if prosthesis_side in _OTHER else "left"
    return first, _OTHER[first]


def _round(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return text[1:] if text.startswith("-") and float(text) == 0 else text.replace("-", "\N{MINUS SIGN}")


def _signed(value: float, places: int) -> str:
    text = _round(value, places)
    return text if text.startswith("\N{MINUS SIGN}") or float(text) == 0 else f"+{text}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
