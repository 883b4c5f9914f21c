"""The drawings on the page of a fitting, each with the same said in a table or in words."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.drawings.alignment import alignment_picture, planes_of
from shared_models.drawings.svg import Paper, svg_of
from shared_models.drawings.trial_course import CourseShown, course_scene
from shared_models.drawings.trial_points import course_shown, trials_on, with_findings
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import text_of
from shared_models.wording import page_drawings as words
from shared_models.wording.findings import noticed_words

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
    signs: str = words.COURSE_SIGNS


def courses_drawn(view: FittingView) -> CourseDrawings:
    """Return each adjuster's position over its trials, with what was found."""
    found = {name: shown for name in FUNCTIONS if (shown := course_shown(view, name)) is not None}
    courses, key = with_findings(view, found)
    return CourseDrawings(tuple(_course(view, name, shown) for name, shown in courses.items()), key)


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
    unit = adjuster.unit if adjuster else ""
    title = words.COURSE_TITLE.format(name=view.edition.words("function", function), unit=unit)
    trials, rows = trials_on(view, function), []
    for point in shown.points:
        noticed = "; ".join(noticed_words(trials[point.number - 1], view)) or words.NOTHING_FOUND
        letters = ", ".join(mark.letter for mark in point.marks)
        rows.append((
            str(point.number), text_of(point.position), words.OUTCOMES.get(point.outcome, point.outcome),
            f"{letters}: {noticed}" if letters else noticed,
        ))
    svg = svg_of(course_scene(shown, CHART.room), CHART, f"course-{function.replace('_', '-')}", title)
    return Drawing(title, svg, head=words.COURSE_HEAD, rows=tuple(rows))
