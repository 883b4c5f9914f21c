"""Timing in lines that a person reads: what is worth showing, how sure it is, what is not and why.

Tablet and review page show the same lines.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Sequence

from shared_models.calculations.timing.changes import Shift
from shared_models.calculations.timing.figures import Figure
from shared_models.calculations.timing.jitter import NORMAL_975
from shared_models.checks.walk_timing import LEVEL, TimingFigures
from shared_models.language import Phrases, number_words, phrase, spoken, within
from shared_models.wording.timing import because_words, doubt_sentence, left_out_words

REMARKS = Phrases({
    "timing_unreadable": "{place}: a timing of this walk can't be read, so it shows no figures. Time the walk again, or take the timing out.",
    "taps_doubled": "{place}: in its timing perhaps doubled taps, {times}. They are left out of the steady figures.",
    "taps_missed": "{place}: in its timing the same side twice running (this often: {times}): a contact may have been missed. Left out of the steady figures.",
})
REFUSALS = Phrases({
    "contacts_text_unreadable": "The contacts of this timing can't be read. Time the walk again.",
    "tap_before_last": "This tap lies {time_s} s after the first, before the one at {last_s} s: the clock of this tablet was set back. Start over and walk again.",
})

_LABELS = Phrases({
    "duration_s": ("Time, first to last contact", "s", 1),
    "cadence_steps_per_min": ("Cadence, all steps", "steps/min", 0),
    "steady_cadence_steps_per_min": ("Cadence, steady steps", "steps/min", 0),
    "speed_m_per_s": ("Speed", "m/s", 2),
    "step_time_s": ("Step time", "s", 2),
    "stride_time_s": ("Stride time", "s", 2),
    "swing_time_s": ("Swing time", "s", 2),
    "stance_time_s": ("Stance time", "s", 2),
})
_INDICES = Phrases({
    "symmetry_index_percent": ("symmetry index", "%", 0),
    "ratio_right_to_left": ("ratio right to left", "", 2),
    "ratio_prosthesis_to_sound": ("ratio prosthesis to sound side", "", 2),
    "gait_asymmetry_percent": ("gait asymmetry", "%", 0),
    "symmetry_angle_percent": ("symmetry angle", "%", 1),
})
_OTHERS = phrase("Step time, other indices")
_PATTERNS = Phrases({"step_over_step": "step over step", "step_to": "step to step, one foot beside the other"})
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
        return spoken(side)
    return f"{spoken(side)}, {spoken('prosthesis') if side == prosthesis_side else spoken('sound side')}"


def timing_lines(figures: TimingFigures) -> tuple[Line, ...]:
    """Return the figures of a timing in the order a prosthetist asks for them."""
    own = figures.prosthesis_side
    found = [figures.whole[key] for key in ("speed_m_per_s", "steady_cadence_steps_per_min") if key in figures.whole]
    found += [figures.block.figure("step_time_s", side, "mean") for side in _sides(own)]
    found.append(figures.symmetry)
    lines = [figure_line(each, own) for each in found]
    lines.append(_other_indices(figures))
    if figures.has_finals:
        swings = [figures.block.figure("swing_time_s", side, "mean") for side in _sides(own)]
        swings.append(figures.block.figure("swing_time_s", "", figures.symmetry.statistic))
        lines += [figure_line(each, own) for each in swings]
    if figures.way != LEVEL:
        return (*lines, *_of_steps(figures))
    lines.append(figure_line(figures.block.figure("stride_time_s", "both", "cv_percent"), own))
    return tuple(lines)


def brief_words(figures: TimingFigures) -> str:
    """Return the figures worth showing in one line; what is still missing when none is."""
    shown = [line for line in timing_lines(figures) if line.shown and line.what != spoken(_OTHERS)][:5]
    if shown:
        return _capital("; ".join(f"{within(line.what)} {line.value}" for line in shown)) + "."
    return spoken("No figure is worth showing yet: {says}.", says=figure_line(figures.symmetry, figures.prosthesis_side).says)


def figure_line(figure: Figure, prosthesis_side: str) -> Line:
    """Return one figure in words, with its 95 % interval."""
    what, unit, places = _named(figure, prosthesis_side)
    if not figure.worth_showing:
        return Line(what, "", _why_not(figure), shown=False)
    value = f"{_round(figure.value or 0.0, places)} {unit}".strip()
    low, high = interval_shown(figure)
    if low is not None and high is not None:
        value += spoken(" ({low} to {high})", low=_round(low, places), high=_round(high, places))
    return Line(what, value, _says(figure, prosthesis_side))


def shift_words(figures: TimingFigures, shifts: Sequence[Shift], since: str) -> tuple[str, ...]:
    """Return for each figure whether it changed since another timing; () when none can be told."""
    said = []
    for shift in shifts:
        figure = figures.whole.get(shift.key) or figures.block.figures[shift.key]
        if shift.beyond_error is None or shift.low is None or shift.high is None:
            continue
        what, unit, places = _named(figure, figures.prosthesis_side)
        moved = f"{_signed(shift.difference, places)} {unit}".strip()
        between = spoken("{low} to {high}", low=_round(shift.low, places), high=_round(shift.high, places))
        if figure.statistic:
            word = spoken("changed") if shift.beyond_error else spoken("not told apart from no change")
        else:
            # One walk has one speed: only the contacts' own error is in its interval.
            word = spoken("differs by more than the contacts can err") if shift.beyond_error else spoken("not told apart")
        said.append(spoken("{what}: {word} since {since}, {moved} ({between})", what=what, word=word, since=since, moved=moved, between=between))
    return tuple(said)


def basis_words(figures: TimingFigures) -> str:
    """Return instrument, event, and what the intervals allow for."""
    speed = figures.whole.get("speed_m_per_s")
    exact = spoken(" The distance is taken as exact.") if speed is not None and speed.worth_showing else ""
    return (
        spoken("{capital}; counted: {event}. Intervals are 95 % and allow for contacts that are off by {jitter_s:g} s (standard deviation) and for the steps' own variation.{exact}", capital=_capital(figures.basis.instrument), event=figures.basis.event, jitter_s=figures.jitter_s, exact=exact)
    )


def counted_words(figures: TimingFigures) -> str:
    """Return how many contacts there are, and how many steps are counted."""
    sides = Counter(contact.side for contact in figures.contacts)
    each = ", ".join(f"{sides[side]} {side_words(side, figures.prosthesis_side)}" for side in ("left", "right"))
    counted = [figures.block.spreads["step_time_s"][side].n for side in ("left", "right")]
    kind = spoken("Steady steps") if figures.way == LEVEL else spoken("Steps of the flights")
    return (
        spoken("{contacts} contacts in {duration_s:.1f} s: {each}. {kind}: {left} left, {right} right.", contacts=len(figures.contacts), duration_s=figures.duration_s, each=each, kind=kind, left=counted[0], right=counted[1])
    )


def left_out_sentence(figures: TimingFigures) -> str:
    """Return which steps are left out and why; "" when none is."""
    whys = Counter(left_out_words(each) for each in figures.left_out if each.interval.quantity == "step_time_s")
    if not whys:
        return ""
    return spoken("Steps left out: ") + "; ".join(f"{n} ({why})" for why, n in whys.items()) + "."


def doubt_sentences(figures: TimingFigures) -> tuple[str, ...]:
    """Return everything odd about the contacts, a sentence each."""
    return tuple(doubt_sentence(each) for each in figures.doubts)


def jitter_words(figures: TimingFigures) -> str:
    """Return what the contacts' own error leaves open in the symmetry index; "" without one."""
    figure = figures.symmetry
    if figure.u_taps is None:
        return ""
    return (
        spoken("The error of the contacts alone leaves about {normal_975:.0f} points, either way (95 %), in the symmetry index of these {n} steps; more steps make it smaller.", normal_975=NORMAL_975 * figure.u_taps, n=figure.n)
    )


def _named(figure: Figure, prosthesis_side: str) -> tuple[str, str, int]:
    label, unit, places = _LABELS.get(figure.quantity, (figure.quantity, "", 2))
    index = figure.statistic.removeprefix("prosthesis_")
    if index in _INDICES:
        name, unit, places = _INDICES[index]
        return f"{label}, {name}", unit, places
    if figure.statistic == "cv_percent":
        return spoken("{label}, coefficient of variation", label=label), "%", 1
    if figure.side in _OTHER:
        return f"{label}, {side_words(figure.side, prosthesis_side)}", unit, places
    return label, unit, places


def _says(figure: Figure, prosthesis_side: str) -> str:
    """Return what an index says of the two sides; "" for other figures."""
    if figure.equal_at is None or figure.value is None:
        return ""
    equal = spoken("{equal_at:g} is equal", equal_at=figure.equal_at)
    low, high = interval_shown(figure)
    if low is None or high is None or low <= figure.equal_at <= high:
        return spoken("{equal}; the two sides can't be told apart", equal=equal)
    plus = prosthesis_side if prosthesis_side in _OTHER and "prosthesis" in figure.statistic else "right"
    longer = plus if figure.value > figure.equal_at else _OTHER[plus]
    return spoken("{equal}; longer on the {side_words}", equal=equal, side_words=side_words(longer, prosthesis_side))


def _other_indices(figures: TimingFigures) -> Line:
    """The other published indices of the same step times, each with its own zero."""
    found = [figures.index(key) for key in ("ratio_right_to_left", "gait_asymmetry_percent", "symmetry_angle_percent")]
    if not all(figure.worth_showing for figure in found):
        return Line(spoken(_OTHERS), "", _why_not(found[0]), shown=False)
    parts = []
    for figure in found:
        name, unit, places = _INDICES[figure.statistic.removeprefix("prosthesis_")]
        parts.append(f"{name} {_round(figure.value or 0.0, places)} {unit}".strip() + spoken(" ({equal_at:g} is equal)", equal_at=figure.equal_at))
    longer = spoken("prosthesis side") if figures.prosthesis_side else spoken("right")
    return Line(spoken(_OTHERS), "; ".join(parts), spoken("plus, or above 1, is longer on the {longer}", longer=longer))


def _of_steps(figures: TimingFigures) -> list[Line]:
    """What a flight of steps adds: seconds a step of the stair, the pattern, the landings."""
    lines = []
    if figures.time_per_tread_s is not None:
        pattern = _PATTERNS.get(figures.pattern, figures.pattern)
        lines.append(Line(spoken("Time for one step of the stair"), f"{number_words(figures.time_per_tread_s, '.2f')} s", spoken("by the contacts, {pattern}", pattern=pattern)))
    if figures.landing_s:
        spent = ", ".join(f"{number_words(each, '.1f')} s" for each in figures.landing_s)
        lines.append(Line(spoken("On landings"), spent, spoken("left out of the steps")))
    return lines


def _why_not(figure: Figure) -> str:
    return because_words(figure.because) if figure.because else spoken("nothing to reckon it from")


def interval_shown(figure: Figure) -> tuple[float | None, float | None]:
    """Return the 95 % interval that is shown with a figure: the taps' alone where the walk has just one such figure."""
    if figure.low is not None or figure.statistic:
        return figure.low, figure.high
    return figure.taps_low, figure.taps_high


def _sides(prosthesis_side: str) -> tuple[str, str]:
    first = prosthesis_side if prosthesis_side in _OTHER else "left"
    return first, _OTHER[first]


def _round(value: float, places: int) -> str:
    text = number_words(value, f".{places}f")
    return text[1:] if text.startswith("-") and round(value, places) == 0 else text.replace("-", "\N{MINUS SIGN}")


def _signed(value: float, places: int) -> str:
    text = _round(value, places)
    return text if text.startswith("\N{MINUS SIGN}") or round(value, places) == 0 else f"+{text}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
