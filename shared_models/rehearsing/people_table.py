"""The figures of many whole fittings as a table that is read, not parsed."""

from __future__ import annotations

from typing import Sequence

from shared_models.catalogue.edition import load_edition
from shared_models.rehearsing.intervals import share
from shared_models.rehearsing.people_run import AdjusterFigures, PeopleFigures
from shared_models.wording.rehearsing import GAVE_UP
from shared_models.wording.states import VERDICT

_HEADS = (
    ("", ""), ("trials to a", "good setting"), ("plain", "rule"), ("wrong final", "settings"), ("plain", "rule"),
    ("no setting", "found"), ("steps above", "the largest"), ("plain", "rule"),
    ("trials without", "damping"), ("plain", "rule"),
)


def table(figures: PeopleFigures) -> str:
    """Return the table as plain text, without a tail of blank lines."""
    words = load_edition().words
    rows = [_row(words("function", a.function), a) for a in figures.adjusters.values() if a.fittings]
    heads = [[pair[0] for pair in _HEADS], [pair[1] for pair in _HEADS]]
    lines = [f"Whole fittings without screens: {figures.people} people, seed {figures.seed}.", ""]
    lines += _aligned([*heads, *rows])
    lines += ["", *_fittings(figures), ""]
    lines += [
        "Plain rule: one increment in the direction of the finding until nothing is found twice,",
        "on the same people, each adjuster by itself, the others where they suit.",
        f"Took {figures.seconds:.1f} s, {1000 * figures.seconds / figures.people:.0f} ms a fitting.",
    ]
    return "\n".join(lines)


def _row(name: str, figures: AdjusterFigures) -> list[str]:
    return [
        name, _mean(figures.trials_to_good, figures.settled), _mean(figures.plain_trials, figures.fittings),
        str(figures.wrong), str(figures.plain_wrong), str(figures.not_found),
        str(figures.too_large), str(figures.plain_too_large),
        _percent(figures.unprotected, figures.trials), _percent(figures.plain_unprotected, figures.plain_trials),
    ]


def _fittings(figures: PeopleFigures) -> list[str]:
    whole, lines = figures.people, []
    reached = share(figures.complete, whole)
    lines.append((
        "reached a complete verdict", str(figures.complete), _percent(figures.complete, whole),
        f"95 % interval {100 * reached.lowest:.1f} to {100 * reached.highest:.1f} %",
    ))
    for state in ("complete", "complete_with_restriction"):
        lines.append((f"  {VERDICT[state]}", str(figures.states[state]), _percent(figures.states[state], whole), ""))
    missed = whole - figures.complete
    lines.append(("stayed incomplete", str(missed), _percent(missed, whole), ""))
    lines += [(f"  {_reason(why)}", str(count), _percent(count, whole), "") for why, count in sorted(figures.why.items())]
    lines.append(("with a stale confirmation", str(figures.stale), _percent(figures.stale, whole), ""))
    fitted, apart = figures.complete - figures.unsolvable_complete, whole - figures.unsolvable
    lines.append(("people with a good position for every adjuster", str(apart), _percent(apart, whole), ""))
    lines.append(("  of these, reached a complete verdict", str(fitted), _percent(fitted, apart), ""))
    lines.append(("people without one", str(figures.unsolvable), _percent(figures.unsolvable, whole), ""))
    lines.append((
        "  of these, reached a complete verdict (with a restriction)", str(figures.unsolvable_complete),
        _percent(figures.unsolvable_complete, figures.unsolvable), "",
    ))
    return _aligned([("Fittings", "people", "share", ""), *lines])


def _reason(why: str) -> str:
    """Return why a fitting stayed incomplete, in words."""
    place, _, code = why.partition(": ")
    edition = load_edition()
    title = edition.words("function", place)
    if title == place:
        title = next((s.title for s in edition.steps if s.key == place), place)
    return f"{title}: {GAVE_UP.get(code, code.replace('_', ' '))}"


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows as lines: the first column to the left, figures to the right."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [row[0].ljust(widths[0])]
        cells += [cell.ljust(w) if " " in cell.strip() and k == len(row) - 1 else cell.rjust(w)
                  for k, (cell, w) in enumerate(zip(row[1:], widths[1:]), 1)]
        lines.append("  ".join(cells).rstrip())
    return lines


def _mean(total: int, count: int) -> str:
    return f"{total / count:.2f}" if count else "-"


def _percent(some: int, whole: int) -> str:
    return f"{100 * some / whole:.1f} %" if whole else "-"
