"""The course of a fitting as rows on paper: a trial and the turn before it share one, so that a usual fitting keeps to two pages."""

from __future__ import annotations

from dataclasses import replace
from typing import Sequence

from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.entries.fitting import FittingView
from shared_models.wording import fitting_record as words
from shared_models.wording.course_lines import CourseLine, course_of

#: Shares of the width: when and what; each adjuster; came to and pain.  Seen and felt has the rest.
_BEFORE, _ADJUSTER, _BEHIND = (0.05, 0.185), 0.078, (0.105, 0.064)


def course_columns(view: FittingView) -> tuple[tuple[str, ...], tuple[float, ...]]:
    """Return what the columns are called and their shares: a column for each adjuster that was turned or walked with."""
    when, what, seen, came_to, pain = words.COURSE_HEAD
    adjusters = tuple(words.ADJUSTER_HEAD[function] for function in _adjusters(view, course_of(view)))
    shares = (*_BEFORE, *(_ADJUSTER,) * len(adjusters))
    return (
        (when, what, *adjusters, seen, came_to, pain),
        (*shares, 1 - sum(shares) - sum(_BEHIND), *_BEHIND),
    )


def course_rows(view: FittingView) -> tuple[tuple[str, ...], ...]:
    """Return the rows of the table, in the order in which things happened.

    A turn made only for the trial after it stands in that trial's row, as
    'before \u2192 after'.  A turn with a reason of its own keeps its row.
    """
    rows, turned = [], None
    lines = course_of(view)
    names = [view.edition.words("function", function) for function in _adjusters(view, lines)]
    for line in _turned_together(lines):
        if turned is not None:
            joined = _walked_after(turned, line)
            if joined is None:
                rows.append(_row(turned, names))
            else:
                line = joined
            turned = None
        if line.for_next_trial:
            turned = line
        else:
            rows.append(_row(line, names))
    return tuple([*rows, _row(turned, names)] if turned is not None else rows)


def _adjusters(view: FittingView, lines: Sequence[CourseLine]) -> list[str]:
    """The functions that the course names, also of a knee that was exchanged since."""
    named = {name for line in lines for name, _ in line.settings}
    return [function for function in FUNCTIONS if view.edition.words("function", function) in named]


def _row(line: CourseLine, names: Sequence[str]) -> tuple[str, ...]:
    """A line of the course in its cells; a position is in the unit of the tables above."""
    positions = dict(line.settings)
    return (
        line.time, line.what, *(_bare(positions.get(name, "")) for name in names),
        "; ".join(line.in_short or line.notes), ", ".join(w for w in (line.came_to, line.timing) if w),
        line.pain.partition(" ")[0],
    )


def _bare(position: str) -> str:
    """'8 \u2192 10 marks' as '8 \u2192 10': the unit stands with the settings."""
    before, arrow, after = position.rpartition("\u2192")
    return f"{before.strip()} {arrow} {after.split()[0]}" if arrow else "".join(position.split()[:1])


def _turned_together(lines: Sequence[CourseLine]) -> list[CourseLine]:
    """Turns that differ only in the adjuster, such as the start positions, as one."""
    found: list[CourseLine] = []
    for line in lines:
        if line.settings and not line.outcome and found and _beside(found[-1], line):
            found[-1] = replace(line, settings=(*found[-1].settings, *line.settings))
        else:
            found.append(line)
    return found


def _beside(before: CourseLine, line: CourseLine) -> bool:
    """Whether two turns say the same but for their adjusters; turned twice, an adjuster keeps both its rows."""
    known = {name for name, _ in before.settings}
    return not known.intersection(name for name, _ in line.settings) and (
        replace(before, anchor="", settings=()) == replace(line, anchor="", settings=())
    )


def _walked_after(turned: CourseLine, trial: CourseLine) -> CourseLine | None:
    """Return a trial with the turn before it, or None where it was not walked with just what was turned to."""
    to = {name: position for name, position in turned.settings}
    with_it = dict(trial.settings)
    if not trial.outcome or not all(_ends_at(to[name], with_it.get(name)) for name in to):
        return None
    return replace(trial, settings=tuple((name, to.get(name, position)) for name, position in trial.settings))


def _ends_at(turn: str, position: str | None) -> bool:
    """Whether '8 \u2192 10 marks' ends at the position that was walked with."""
    return position is not None and turn.rpartition("\u2192")[2].split()[:1] == [str(position)]
