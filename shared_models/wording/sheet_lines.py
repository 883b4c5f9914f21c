"""Every figure of a component sheet as lines: a label that says where it stands, and the value as it is read."""

from __future__ import annotations

from typing import Any, Iterator, Mapping

from shared_models.catalogue.sheet_form import readable
from shared_models.checks.as_typed import AS_TYPED
from shared_models.checks.sheet_taking import COMPARED_AGAIN
from shared_models.checks.sheet_typed import DRAWN, GROUPS, PLAIN, ROWS, SLOTS
from shared_models.language import figure_said, spoken
from shared_models.wording.component_sheets import CHOICES, SORTS, place_words, plain_label, shown_value

_NO_LINE = ("sheet", AS_TYPED, COMPARED_AGAIN)


def sheet_lines(body: Mapping[str, Any]) -> dict[str, str]:
    """Return the figures of a sheet in the order of its form, label to value."""
    body = readable(body)
    names = _names(body)
    found = {plain_label("part"): place_words(str(body.get("part", "")))}
    found |= {plain_label(name): shown_value(body, name) for name in PLAIN if name in body}
    for sort, columns in ROWS.items():
        for row in _rows(body, sort) if sort not in DRAWN else ():
            title = str(row.get("name") or SORTS[sort])
            shown = [c for c in (*columns, *row) if c in row and c not in ("name", *_NO_LINE)]
            found |= {f"{title}: {plain_label(c)}": _value(row, c, names) for c in shown}
    for group in GROUPS:
        figures = body.get(group)
        if isinstance(figures, Mapping):
            found |= {f"{SORTS[group]}: {plain_label(k)}": shown_value(figures, k) for k in figures}
    found |= dict(_drawn(body.get("drawing"), names))
    known = (*PLAIN, *ROWS, *GROUPS, "part", "drawing", *_NO_LINE)
    return found | {plain_label(k): shown_value(body, k) for k in body if k not in known}


def _rows(body: Mapping[str, Any], sort: str) -> list[Mapping[str, Any]]:
    rows = body.get(sort)
    return [row for row in rows if isinstance(row, Mapping)] if isinstance(rows, (list, tuple)) else []


def _names(body: Mapping[str, Any]) -> dict[str, str]:
    """What a sheet calls its adjusters, screws and caps -> what a person calls them."""
    return {
        f"{slot}/{row.get(column)}": str(row.get("name", ""))
        for slot, (sort, column) in SLOTS.items() for row in _rows(body, sort)
    }


def _value(row: Mapping[str, Any], column: str, names: Mapping[str, str]) -> str:
    if column == "over" and isinstance(row["over"], (list, tuple)):
        return "; ".join(names.get(str(place), str(place)) for place in row["over"])
    if column == "opposes":
        return names.get(f"screw/{row[column]}", str(row[column]))
    return shown_value(row, column)


def _drawn(drawing: Any, names: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    if not isinstance(drawing, Mapping):
        return
    for sort in DRAWN:
        for number, row in enumerate(_rows(drawing, sort), 1):
            side = CHOICES["view"].get(str(row.get("view")), str(row.get("view")))
            at = f"{figure_said(str(row.get('x_mm')))} {figure_said(str(row.get('y_mm')))}"
            if sort == "places":
                of = str(row.get("of"))
                yield f"{SORTS[sort]}: {names.get(of, of)}", f"{side}, {at} mm"
            elif sort == "circles":
                yield f"{SORTS[sort]} {number}", spoken("{side}, {at} mm, radius {radius} mm", side=side, at=at, radius=row.get("radius_mm"))
            else:
                yield f"{SORTS[sort]} {number}", f"{side}, {shown_value(row, 'corners_mm')} mm"
