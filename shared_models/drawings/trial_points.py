"""Trials as points of a chart: where the adjuster stood, how it ended, what it left open."""

from __future__ import annotations

from dataclasses import replace
from string import ascii_lowercase
from typing import Sequence

from shared_models.checks.tuning_advice import brackets_after
from shared_models.checks.tuning_course import course_of
from shared_models.drawings.trial_course import CourseShown, FindingMark, TrialPoint
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from
from shared_models.wording.findings import items_of

#: What was known is drawn after so many of the latest trials; it takes some milliseconds each.
_BRACKETS_DRAWN = 8


def trial_points(view: FittingView, function: str, trials: Sequence[Entry]) -> tuple[TrialPoint, ...]:
    """Return the points of trials on a function's adjuster, oldest first.

    What they left open is known only while all of them still count.
    """
    counted = course_of(view, function)
    known = list(brackets_after(view, function, counted, _BRACKETS_DRAWN)) if len(counted) == len(trials) else []
    brackets = [None] * (len(trials) - len(known)) + known
    points = []
    for number, (trial, bracket) in enumerate(zip(trials, brackets), 1):
        position = amount_from(view.position_in(trial, function))
        if position is not None:
            low, high = (bracket.low, bracket.high) if bracket else (None, None)
            points.append(TrialPoint(number, position, str(trial.body.get("outcome", "")), low, high))
    return tuple(points)


def trials_on(view: FittingView, function: str) -> list[Entry]:
    """Return every trial on a function's adjuster, in the order first recorded."""
    walked = []
    for kind in view.edition.kinds.values():
        if kind.group == "trial" and kind.function == function:
            slot = view.slot(kind.slot)
            walked += [(slot.root(t).order, n, t) for n, t in enumerate(slot.history())]
    return [trial for _, _, trial in sorted(walked, key=lambda each: each[:2])]


def course_shown(view: FittingView, function: str) -> CourseShown | None:
    """Return all trials of a function as the chart shows them; None without an adjuster or a trial."""
    adjuster = view.adjuster(function)
    if adjuster is None:
        return None
    points = trial_points(view, function, trials_on(view, function))
    if not points:
        return None
    return CourseShown(adjuster.name, adjuster.lowest, adjuster.highest, adjuster.smallest_step, points)


def with_findings(
    view: FittingView, courses: dict[str, CourseShown],
) -> tuple[dict[str, CourseShown], tuple[tuple[str, str], ...]]:
    """Return courses with what was found in each trial, and what each letter stands for.

    Letters run through all courses of the fitting, by function.  Only what was
    there is marked, not what was looked for and absent.
    """
    known, letters, found = {f.key: f for f in view.edition.findings}, {}, {}
    for function, shown in courses.items():
        trials, points = trials_on(view, function), []
        for point in shown.points:
            marks: dict[str, FindingMark] = {}
            for item in items_of(trials[point.number - 1]):
                key, grade = str(item.get("finding", "")), item.get("grade")
                if key and grade in ("slight", "marked"):
                    letter = letters.setdefault(key, _letter(len(letters)))
                    own = known.get(key)
                    way = "" if own is None else "restore" if own.restore else own.turn if own.adjuster == function else ""
                    # Seen and felt is one finding; the stronger of the two is drawn.
                    strong = grade == "marked" or letter in marks and marks[letter].is_marked
                    marks[letter] = FindingMark(letter, way, strong)
            points.append(replace(point, marks=tuple(marks.values())))
        found[function] = replace(shown, points=tuple(points))
    words = {key: known[key].words if key in known else key for key in letters}
    return found, tuple((letter, words[key]) for key, letter in letters.items())


def _letter(number: int) -> str:
    """a to z, then a2 and on."""
    turn, place = divmod(number, len(ascii_lowercase))
    return ascii_lowercase[place] + (str(turn + 1) if turn else "")
