"""What was measured in the walks of a fitting, in their order: heel rise, speed, symmetry, stairs."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.calculations.timing.figures import Figure
from shared_models.checks.walk_timing import (
    DOWN, LEVEL, TimingFigures, prosthesis_side_of, timed_trial, timings_of, walked_speed,
)
from shared_models.drawings import measure_chart as chart
from shared_models.drawings.measure_chart import MeasureShown, Taken
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.quantities.amounts import amount_from
from shared_models.wording import walk_measures as words
from shared_models.wording.findings import items_of
from shared_models.wording.timing_lines import interval_shown

#: Findings that say how high the heel rises, and how a slight and a marked one lie on the scale.
HEEL_RISE = {"heel_rise_too_high": 1, "heel_rise_too_low": -1}
GRADES = {"none": 0, "slight": 1, "marked": 2}
FLEXION = "swing_flexion"
OTHER = {"left": "right", "right": "left"}


@dataclass(frozen=True)
class Walk:
    """One trial, numbered in the order the trials were first recorded.

    ``heel_rises``: -2 marked, too low to 2 marked, too high, 0 looked at and right;
    () where nobody said.  ``is_about_heel_rise``: a trial of swing flexion, in
    which nothing noted tells something too.
    """

    number: int
    slot: str
    nth: int
    trial: Entry
    heel_rises: tuple[int, ...]
    is_about_heel_rise: bool
    watched_speed_m_per_s: float | None
    timings: tuple[TimingFigures, ...]
    watched_step_s: float | None

    def speed(self) -> Figure | None:
        """The speed from timed contacts, where it is worth showing."""
        return self._first(lambda figures: figures.whole.get("speed_m_per_s"))

    def symmetry(self) -> Figure | None:
        """The symmetry index of the step times on the level, where it is worth showing."""
        return self._first(lambda figures: figures.symmetry if figures.way == LEVEL else None)

    def stair_step(self, side: str) -> Figure | None:
        """The mean step time of a side on the way down, where it is worth showing."""
        if self.slot != "trial/stairs":
            return None
        return self._first(lambda figures: figures.block.figure("step_time_s", side, "mean") if figures.way == DOWN else None)

    def _first(self, of) -> Figure | None:
        found = (of(figures) for figures in self.timings)
        return next((figure for figure in found if figure is not None and figure.worth_showing), None)


def walks_of(view: FittingView) -> list[Walk]:
    """Return every trial that holds, in the order first recorded."""
    found = []
    for kind in view.edition.kinds.values():
        if kind.group == "trial":
            slot = view.slot(kind.slot)
            found += [(slot.root(t).order, n, kind, t) for n, t in enumerate(slot.history(), 1)]
    ordered = sorted(found, key=lambda each: each[:2])
    return [
        _walk(view, number, kind.slot, nth, trial, kind.function == FLEXION)
        for number, (_, nth, kind, trial) in enumerate(ordered, 1)
    ]


def _walk(view: FittingView, number: int, slot: str, nth: int, trial: Entry, about: bool) -> Walk:
    body = trial.body
    rises = dict.fromkeys(
        HEEL_RISE[str(item["finding"])] * GRADES[str(item["grade"])]
        for item in items_of(trial) if item.get("finding") in HEEL_RISE and item.get("grade") in GRADES
    )
    # 'Not too high' beside 'slightly too low' is not 'right'.
    kept = tuple(rise for rise in rises if rise) or tuple(rises)
    speed = walked_speed(amount_from(body.get("marked_distance_m")), amount_from(body.get("marked_time_s")))
    steps, time_s = amount_from(body.get("steps")), amount_from(body.get("time_s"))
    timed = (timed_trial(view, timing).figures for timing in timings_of(view, trial))
    return Walk(
        number, slot, nth, trial, kept, about, speed, tuple(f for f in timed if f is not None),
        float(time_s / steps) if steps and time_s else None,
    )


def measures_of(view: FittingView, walks: list[Walk]) -> list[MeasureShown]:
    """Return the charts of what was measured; none of a measure that was never taken."""
    made = (_heel_rise(walks), _speed(walks), _symmetry(walks), _stairs(walks, prosthesis_side_of(view)))
    return [shown for shown in made if shown.taken]


def _heel_rise(walks: list[Walk]) -> MeasureShown:
    taken = []
    for walk in walks:
        taken += [Taken(walk.number, rise, chart.UP if rise > 0 else chart.DOWN if rise else chart.RING) for rise in walk.heel_rises]
        if walk.is_about_heel_rise and not walk.heel_rises:
            taken.append(Taken(walk.number, 0, chart.DOT))
    key = [(chart.DOT, spoken(words.NOTHING_NOTED))] if any(t.sign == chart.DOT for t in taken) else []
    return _shown(spoken(words.HEEL_RISE), "", walks, taken, levels=tuple(words.HEEL_RISE_LEVELS.items()), key=tuple(key))


def _speed(walks: list[Walk]) -> MeasureShown:
    taken = [Taken(w.number, w.watched_speed_m_per_s, chart.RING) for w in walks if w.watched_speed_m_per_s is not None]
    taken += [_of_figure(w.number, figure, chart.DISC) for w in walks if (figure := w.speed())]
    return _shown(spoken(words.SPEED), "m/s", walks, taken, places=2, key=_signs_used(
        taken, ((chart.RING, spoken(words.BY_WATCH)), (chart.DISC, spoken(words.BY_CONTACTS))),
    ))


def _symmetry(walks: list[Walk]) -> MeasureShown:
    taken = [_of_figure(w.number, figure, chart.DISC) for w in walks if (figure := w.symmetry())]
    return _shown(spoken(words.SYMMETRY), "%", walks, taken, places=0, line_at=0.0, line_words=spoken(words.EQUAL))


def _stairs(walks: list[Walk], prosthesis: str) -> MeasureShown:
    taken = [Taken(w.number, w.watched_step_s, chart.DIAMOND) for w in walks if w.watched_step_s is not None]
    sides = ((prosthesis or "left", chart.DISC), (OTHER.get(prosthesis, "right"), chart.RING))
    for side, sign in sides:
        taken += [_of_figure(w.number, figure, sign) for w in walks if (figure := w.stair_step(side))]
    key = ((chart.DIAMOND, spoken(words.BY_WATCH_STAIRS)), *((sign, words.side_words(side, prosthesis)) for side, sign in sides))
    return _shown(spoken(words.STAIRS), "s", walks, taken, places=2, key=_signs_used(taken, key))


def _shown(name: str, unit: str, walks: list[Walk], taken: list[Taken], **more) -> MeasureShown:
    shown = MeasureShown(name, unit, len(walks), tuple(sorted(taken, key=lambda t: t.number)), **more)
    return MeasureShown(**{**shown.__dict__, "says": words.measure_says(shown)})


def _signs_used(taken: list[Taken], key: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    used = {t.sign for t in taken}
    return tuple(each for each in key if each[0] in used)


def _of_figure(number: int, figure: Figure, sign: str) -> Taken:
    return Taken(number, figure.value or 0.0, sign, *interval_shown(figure))
