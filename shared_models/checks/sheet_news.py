"""Whether a newer version of a sheet changes a limit of a part that a fitting is under way with.

The fitting keeps its version; whoever fits is told, and decides.  No part of
the verdict: that rests on what the fitting itself names.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from shared_models.catalogue.sheet_form import readable
from shared_models.checks.sheet_offering import offered_version
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record

_LIMITS = ("mass_limit_kg", "mass_basis", "lowest_level", "highest_level")
#: Sort of row -> what names a row, and which of its figures are limits.
_OF_ROWS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "adjusters": ("function", ("lowest", "highest", "largest_step", "clockwise")),
    "screws": ("key", ("interim_nm", "final_nm", "tolerance_percent", "locking_method",
                       "locking_sets_min", "locking_cures_min", "order", "opposes")),
    "caps": ("key", ("over",)),
    "adapters": ("name", ("tilt_limit_deg", "slide_limit_mm")),
}
_GROUPS = ("alignment", "build", "service")


@dataclass(frozen=True)
class LimitChange:
    """One limit that differs: ``sort`` of its row and what that is called, "" for the sheet itself; None where not stated."""

    sort: str
    title: str
    figure: str
    was: Any
    now: Any


@dataclass(frozen=True)
class SheetNews:
    """A newer version of the sheet of a part built in, that changes limits."""

    place: str
    name: str
    version: str
    newest: str
    changes: tuple[LimitChange, ...]


def limit_changes(was: Mapping[str, Any], now: Mapping[str, Any]) -> list[LimitChange]:
    """Return every limit in which two versions of a sheet differ."""
    was, now = readable(was), readable(now)
    before, after = _limits(was), _limits(now)
    titles = {**_titles(was), **_titles(now)}
    return [
        LimitChange(sort, titles.get((sort, name), ""), figure, before.get(key), after.get(key))
        for key in dict.fromkeys((*before, *after)) for sort, name, figure in (key,) if before.get(key) != after.get(key)
    ]


def _titles(body: Mapping[str, Any]) -> dict[tuple[str, str], str]:
    return {
        (sort, str(row.get(named_by))): str(row.get("name", ""))
        for sort, (named_by, _) in _OF_ROWS.items() for row in body.get(sort, ())
    }


def _limits(body: Mapping[str, Any]) -> dict[tuple[str, str, str], Any]:
    found = {("", "", name): body[name] for name in _LIMITS if name in body}
    for group in _GROUPS:
        found |= {(group, "", name): value for name, value in body.get(group, {}).items()}
    for sort, (named_by, figures) in _OF_ROWS.items():
        for row in body.get(sort, ()):
            found |= {(sort, str(row.get(named_by)), f): row[f] for f in figures if f in row}
    return found


def sheet_news(view: FittingView, sheets: Record | None = None) -> list[SheetNews]:
    """Return which parts of a fitting under way have a newer sheet that changes a limit, from the socket down.

    ``sheets``: a record that holds all versions, where the view's own holds
    only those that it names.  Nothing for a fitting that was accepted, nor for
    a part whose sheet is disputed or can't be read.
    """
    if view.value("review", "decision") == "accepted":
        return []
    found = []
    for place, sheet in view.sheets().items():
        component = view.head(f"component/{place}")
        used = view.record.entries.get(str(component.body.get("sheet_digest", ""))) if component else None
        if used is None:
            continue
        newest = offered_version(sheets or view.record, used.subject.id)
        if newest is None:
            continue
        changes = limit_changes(used.body, newest.body)
        if changes:
            found.append(SheetNews(place, sheet.name, sheet.version, str(newest.body.get("version", "")), tuple(changes)))
    return found
