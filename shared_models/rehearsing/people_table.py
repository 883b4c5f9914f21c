"""The figures of many whole fittings as a table that is read, not parsed."""

from __future__ import annotations

from typing import Callable, Sequence

from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.rehearsing.intervals import share
from shared_models.rehearsing.people_run import AdjusterFigures, Comparison, PeopleFigures
from shared_models.wording.rehearsing import GAVE_UP
from shared_models.wording.states import VERDICT

_GUIDED, _PLAIN = "guidance", "plain"
_Column = Callable[[AdjusterFigures], str]
#: Heading, in two lines, and what stands below it.
_COLUMNS: tuple[tuple[str, str, _Column], ...] = (
    ("trials to a", "good setting", lambda a: f"{a.trials_to_good / a.settled:.2f}" if a.settled else "-"),
    ("wrong final", "settings", lambda a: str(a.wrong)),
    ("no setting", "found", lambda a: str(a.not_found)),
    ("steps above", "the largest", lambda a: str(a.too_large)),
    ("trials without", "stance damping", lambda a: _percent(a.unprotected, a.trials)),
)


def table(found: Comparison) -> str:
    """Return the table as plain text; each figure by the guidance and by the plain rule."""
    guided, plain = found.guided, found.plain
    reached = share(guided.complete, guided.people)
    return "\n".join([
        f"Whole fittings without screens: {guided.people} people, seed {guided.seed}.", "",
        *_aligned(_adjusters(guided, plain), pairs=True), "",
        *_aligned(_fittings(guided, plain)), "",
        f"Complete verdicts with the guidance: {_percent(guided.complete, guided.people)}, "
        f"95 % interval {100 * reached.lowest:.1f} to {100 * reached.highest:.1f} %.",
        "Plain: the same fittings by the rule 'one increment in the direction of the finding until nothing is found twice'.",
        f"Took {guided.seconds:.1f} s, {1000 * guided.seconds / guided.people:.0f} ms a fitting; "
        f"with the plain rule {plain.seconds:.1f} s.",
    ])


def _adjusters(guided: PeopleFigures, plain: PeopleFigures) -> list[list[str]]:
    rows = [[""], [""], [""]]
    for first, second, _ in _COLUMNS:
        for row, pair in zip(rows, ((first, ""), (second, ""), (_GUIDED, _PLAIN))):
            row += pair
    for function in FUNCTIONS:
        own, other = guided.adjusters[function], plain.adjusters[function]
        if own.fittings:
            figures = [text for _, _, say in _COLUMNS for text in (say(own), say(other))]
            rows.append([load_edition().words("function", function), *figures])
    return rows


def _fittings(guided: PeopleFigures, plain: PeopleFigures) -> list[list[str]]:
    def row(
        name: str, count: Callable[[PeopleFigures], int], of: Callable[[PeopleFigures], int] = lambda f: f.people,
    ) -> list[str]:
        own, other = count(guided), count(plain)
        return [name, str(own), _percent(own, of(guided)), str(other), _percent(other, of(plain))]

    rows = [["Fittings", _GUIDED, "", _PLAIN, ""], row("reached a complete verdict", lambda f: f.complete)]
    for state in ("complete", "complete_with_restriction"):
        rows.append(row(f"  {VERDICT[state]}", lambda f, state=state: f.states[state]))
    rows.append(row("stayed incomplete", lambda f: f.people - f.complete))
    for why in sorted(guided.why | plain.why):
        rows.append(row(f"  {_reason(why)}", lambda f, why=why: f.why[why]))
    rows.append(row("with a stale confirmation", lambda f: f.stale))
    rows.append(row("people for whom no position is good", lambda f: f.unsolvable))
    rows.append(row("  of these, complete (with a restriction)", lambda f: f.unsolvable_complete, lambda f: f.unsolvable))
    rows.append(["Stops in trials", *_both(guided, plain, lambda a: a.stops)])
    rows.append(["Put back by more than a largest step in one turn", *_both(guided, plain, lambda a: a.put_back_far)])
    return rows


def _both(guided: PeopleFigures, plain: PeopleFigures, count: Callable[[AdjusterFigures], int]) -> list[str]:
    own, other = (sum(count(a) for a in f.adjusters.values()) for f in (guided, plain))
    return [str(own), "", str(other), ""]


def _reason(why: str) -> str:
    """Return why a fitting stayed incomplete, in words."""
    place, _, code = why.partition(": ")
    edition = load_edition()
    title = edition.words("function", place)
    if title == place:
        title = next((s.title for s in edition.steps if s.key == place), place)
    return f"{title}: {GAVE_UP.get(code, code.replace('_', ' '))}"


def _aligned(rows: Sequence[Sequence[str]], pairs: bool = False) -> list[str]:
    """Return rows as lines, the first column to the left, figures to the right.

    ``pairs``: the first two rows head two columns each.
    """
    figures = rows[2:] if pairs else rows
    widths = [max(len(row[k]) for row in figures) for k in range(len(rows[0]))]
    if pairs:
        for k in range(1, len(widths), 2):
            widest = max(len(rows[0][k]), len(rows[1][k]))
            widths[k] += max(0, widest - widths[k] - 2 - widths[k + 1])
    lines = []
    for number, row in enumerate(rows):
        cells = [row[0].ljust(widths[0])]
        if pairs and number < 2:
            cells += [row[k].rjust(widths[k] + 2 + widths[k + 1]) for k in range(1, len(row), 2)]
        else:
            cells += [cell.rjust(width) for cell, width in zip(row[1:], widths[1:])]
        lines.append("  ".join(cells).rstrip())
    return lines


def _percent(some: int, whole: int) -> str:
    return f"{100 * some / whole:.1f} %" if whole else "-"
