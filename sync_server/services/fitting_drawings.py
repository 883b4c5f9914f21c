"""The drawings on the page of a fitting, each with the same said in a table or in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Iterable

from shared_models.calculations.timing.figures import Figure
from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.checks.walk_timing import TimingFigures
from shared_models.drawings.alignment import alignment_picture, planes_of
from shared_models.drawings.measure_chart import measure_scene
from shared_models.drawings.outcome_course import outcome_scene
from shared_models.drawings.outcome_values import outcome_courses
from shared_models.drawings.step_times import steps_scene, steps_shown
from shared_models.drawings.svg import Paper, svg_of
from shared_models.drawings.trial_course import CourseShown, course_scene
from shared_models.drawings.trial_points import course_shown, trials_on, with_findings
from shared_models.drawings.walk_measures import Walk, measures_of, walks_of
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.language import Worded, figure_said, number_words, spoken
from shared_models.quantities.amounts import text_of
from shared_models.wording import outcome_course as over_time
from shared_models.wording import page_drawings as words
from shared_models.wording import walk_measures as said
from shared_models.wording.dates import day_words
from shared_models.wording.findings import noticed_words
from shared_models.wording.sentences import place_words
from shared_models.wording.timing_lines import interval_shown
from shared_models.wording.units import unit_behind

#: Drawings keep the size of their type on a phone of 390 px.
CHART, PLANE = Paper(358, 250), Paper(358, 400)


@dataclass(frozen=True)
class Drawing:
    """A drawing of the page: its SVG, the words beneath, and the same figures as a table."""

    title: str
    svg: str
    caption: str = ""
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class CourseDrawings:
    """The courses of the adjusters, and what the letters in them stand for."""

    charts: tuple[Drawing, ...]
    key: tuple[tuple[str, str], ...]
    signs: str = Worded(words.COURSE_SIGNS)


@dataclass(frozen=True)
class WalkDrawings:
    """What was measured by walk: a chart a measure, and one table for all of them."""

    charts: tuple[Drawing, ...]
    rows: tuple[tuple[str, ...], ...]
    head: tuple[str, ...] = said.WALKS_HEAD
    title: str = Worded(said.WALKS_TITLE)
    says: str = Worded(said.WALKS_SAY)


def courses_drawn(view: FittingView) -> CourseDrawings:
    """Return each adjuster's position over its trials, with what was found."""
    found = {name: shown for name in FUNCTIONS if (shown := course_shown(view, name)) is not None}
    courses, key = with_findings(view, found)
    return CourseDrawings(tuple(_course(view, name, shown) for name, shown in courses.items()), key)


def walks_drawn(view: FittingView) -> WalkDrawings:
    """Return what was measured in the trials, by walk."""
    walks = walks_of(view)
    charts = tuple(
        Drawing(title := said.chart_title(shown.name, shown.unit), svg_of(
            measure_scene(shown, CHART.room), CHART, f"walks-{n}", title,
        ))
        for n, shown in enumerate(measures_of(view, walks))
    )
    rows = (_walk_row(view, walk) for walk in walks)
    return WalkDrawings(charts, tuple(row for row in rows if any(cell != spoken(said.NOT_MEASURED) for cell in row[2:])))


def steps_drawn(figures: TimingFigures, name: str, trial: str) -> Drawing | None:
    """Return each step of a timing; None where it has none with a time."""
    shown = steps_shown(figures)
    if shown is None:
        return None
    title = spoken(said.STEPS_TITLE, trial=trial)
    words_of = dict(zip(shown.sides, shown.side_words))
    rows = tuple(
        (str(n), words_of[step.side], number_words(step.at_s, ".2f"), number_words(step.time_s, ".2f"), spoken("yes") if step.is_counted else spoken("left out"))
        for n, step in enumerate(shown.steps, 1)
    )
    svg = svg_of(steps_scene(shown, CHART.room), CHART, f"steps-{name}", title)
    return Drawing(title, svg, head=said.STEPS_HEAD, rows=rows)


def outcomes_drawn(view: FittingView, others: Iterable[FittingView]) -> tuple[Drawing, ...]:
    """Return each outcome measure over the person's fittings and visits."""
    found = []
    for n, shown in enumerate(outcome_courses(view, others)):
        title = over_time.chart_title(shown.name, shown.unit)
        rows = tuple((day_words(p.day), f"{number_words(p.value, f'.{shown.places}f')} {shown.unit}", p.says) for p in shown.points)
        svg = svg_of(outcome_scene(shown, CHART.room), CHART, f"outcome-{n}", title)
        found.append(Drawing(title, svg, over_time.source_words(shown), over_time.HEAD, rows))
    return tuple(found)


def _walk_row(view: FittingView, walk: Walk) -> tuple[str, ...]:
    speed = [spoken("{watched_speed_m_per_s:.2f} (stopwatch)", watched_speed_m_per_s=walk.watched_speed_m_per_s)] if walk.watched_speed_m_per_s is not None else []
    speed += [_figure(figure, 2)] if (figure := walk.speed()) else []
    stairs = [spoken("{watched_step_s:.2f} (stopwatch)", watched_step_s=walk.watched_step_s)] if walk.watched_step_s is not None else []
    stairs += [f"{side} {_figure(found, 2)}" for side in ("left", "right") if (found := walk.stair_step(side))]
    symmetry = walk.symmetry()
    return (
        str(walk.number), f"{place_words(walk.slot, view)} {walk.nth}",
        said.heel_rise_words(walk.heel_rises, walk.is_about_heel_rise), "; ".join(speed) or said.NOT_MEASURED,
        _figure(symmetry, 0) if symmetry else said.NOT_MEASURED, "; ".join(stairs) or said.NOT_MEASURED,
    )


def _figure(figure: Figure, places: int) -> str:
    return said.figure_words(figure.value or 0.0, *interval_shown(figure), places)


def alignment_drawn(view: FittingView, entry: Entry) -> tuple[Drawing, ...]:
    """Return an alignment to scale in the planes in which it reads anything."""
    found = []
    for plane in planes_of(view, entry.kind):
        picture = alignment_picture(view, entry.kind, entry.body, plane, PLANE.room)
        title = words.ALIGNMENT_TITLES[plane].format(title=view.edition.kinds[entry.kind].title)
        svg = svg_of(picture.scene, PLANE, f"drawn-{plane}-{entry.digest[:16]}", title)
        found.append(Drawing(title, svg, picture.caption))
    return tuple(found)


def _course(view: FittingView, function: str, shown: CourseShown) -> Drawing:
    adjuster = view.adjuster(function)
    unit = unit_behind(adjuster.highest, adjuster.unit) if adjuster else ""
    title = spoken(words.COURSE_TITLE, name=view.edition.words("function", function), unit=unit)
    trials, rows = trials_on(view, function), []
    for point in shown.points:
        noticed = "; ".join(noticed_words(trials[point.number - 1], view)) or spoken(words.NOTHING_FOUND)
        letters = ", ".join(mark.letter for mark in point.marks)
        rows.append((
            str(point.number), figure_said(text_of(point.position)), words.OUTCOMES.get(point.outcome, point.outcome),
            f"{letters}: {noticed}" if letters else noticed,
        ))
    svg = svg_of(course_scene(shown, CHART.room), CHART, f"course-{function.replace('_', '-')}", title)
    return Drawing(title, svg, head=words.COURSE_HEAD, rows=tuple(rows))
