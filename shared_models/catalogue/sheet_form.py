"""Whether a component sheet has the form that `sheets.sheet_from` reads: every figure there, and a figure.

Troubles name the place as a path into the body, such as ``screws/0/final_nm``,
so that whoever shows them can put each beside its field.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Iterator, Mapping

from shared_models.quantities.amounts import amount_from


@dataclass(frozen=True)
class SheetTrouble:
    """One thing that is wrong with a sheet; ``code`` is worded in `wording.sheet_troubles`.

    ``at``: the path into the body, "" for the sheet as a whole; ``figures``:
    plain text for the sentence.
    """

    at: str
    code: str
    figures: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class RowForm:
    """The columns of one sort of row."""

    texts: tuple[str, ...] = ()
    amounts: tuple[str, ...] = ()
    wholes: tuple[str, ...] = ()
    optional: frozenset[str] = frozenset()

    @property
    def wanted(self) -> tuple[str, ...]:
        """Columns that every row has."""
        return tuple(n for n in (*self.texts, *self.amounts, *self.wholes) if n not in self.optional)


SHEET = RowForm(
    ("sheet", "name", "part", "version", "mass_basis", "maker", "device_identifier"), ("mass_limit_kg",),
    ("lowest_level", "highest_level"), frozenset({"maker", "device_identifier"}),
)
#: Sort of row -> its columns.
ROW_FORMS: Mapping[str, RowForm] = {
    "adjusters": RowForm(
        ("name", "function", "unit", "clockwise"),
        ("lowest", "highest", "start", "smallest_step", "largest_step"),
    ),
    "screws": RowForm(
        ("name", "key", "locking_method", "opposes", "note"),
        ("interim_nm", "final_nm", "tolerance_percent", "locking_sets_min", "locking_cures_min"), ("order",),
        frozenset({"opposes", "note", "locking_sets_min", "locking_cures_min", "order"}),
    ),
    "caps": RowForm(("name", "key")),
    "adapters": RowForm(
        ("name", "level"), ("tilt_limit_deg", "slide_limit_mm"), (), frozenset({"tilt_limit_deg", "slide_limit_mm"}),
    ),
}
DRAWN_FORMS: Mapping[str, RowForm] = {
    "outlines": RowForm(("view",)),
    "circles": RowForm(("view",), ("x_mm", "y_mm", "radius_mm")),
    "places": RowForm(("of", "view"), ("x_mm", "y_mm")),
}
#: A group of figures -> whether they are whole numbers.
GROUPS = {"alignment": False, "build": False, "service": True}
MOST_SHAPES, MOST_CORNERS = 100, 200


def form_troubles(body: Any) -> list[SheetTrouble]:
    """Return what is missing in a sheet, or is no figure, no row, no list."""
    if not isinstance(body, Mapping):
        return [SheetTrouble("", "not_a_table")]
    found = list(_row(body, SHEET, ""))
    for sort, form in ROW_FORMS.items():
        for at, row in _rows(body, sort, sort, found):
            found += _row(row, form, f"{at}/")
            if sort == "caps":
                found += _over(row, at)
    for group, whole in GROUPS.items():
        figures = body.get(group, {})
        if not isinstance(figures, Mapping):
            found.append(SheetTrouble(group, "not_a_table"))
            continue
        for name, value in figures.items():
            found += _figure(value, f"{group}/{name}", whole)
    if not isinstance(body.get("cautions", ()), (list, tuple)):
        found.append(SheetTrouble("cautions", "not_a_list"))
    return found + _drawing(body.get("drawing"))


def _rows(body: Mapping[str, Any], name: str, at: str, found: list[SheetTrouble]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    rows = body.get(name, ())
    if not isinstance(rows, (list, tuple)):
        found.append(SheetTrouble(at, "not_a_list"))
        return
    for number, row in enumerate(rows):
        if isinstance(row, Mapping):
            yield f"{at}/{number}", row
        else:
            found.append(SheetTrouble(f"{at}/{number}", "not_a_table"))


def _row(row: Mapping[str, Any], form: RowForm, before: str) -> Iterator[SheetTrouble]:
    for name in form.wanted:
        if name not in row:
            yield SheetTrouble(before + name, "missing", {"name": name})
    for name in form.amounts:
        if name in row and not (name in form.optional and row[name] in (None, "")):
            yield from _figure(row[name], before + name, whole=False)
    for name in form.wholes:
        if name in row:
            yield from _figure(row[name], before + name, whole=True)


def _figure(value: Any, at: str, whole: bool) -> list[SheetTrouble]:
    amount = amount_from(value)
    if amount is None:
        return [SheetTrouble(at, "not_a_figure", {"typed": str(value)[:80]})]
    if whole and amount != int(amount):
        return [SheetTrouble(at, "not_whole", {"typed": str(value)[:80]})]
    return []


def _over(row: Mapping[str, Any], at: str) -> list[SheetTrouble]:
    over = row.get("over")
    if over in (None, "", [], ()):
        return [SheetTrouble(f"{at}/over", "cap_without_place")]
    return [] if isinstance(over, (list, tuple)) else [SheetTrouble(f"{at}/over", "not_a_list")]


def _drawing(raw: Any) -> list[SheetTrouble]:
    if raw is None:
        return []
    if not isinstance(raw, Mapping):
        return [SheetTrouble("drawing", "not_a_table")]
    found: list[SheetTrouble] = []
    for sort, form in DRAWN_FORMS.items():
        where = f"drawing/{sort}"
        count = len(raw[sort]) if isinstance(raw.get(sort), (list, tuple)) else 0
        if count > MOST_SHAPES:
            found.append(SheetTrouble(where, "too_many_shapes", {"count": str(count), "most": str(MOST_SHAPES)}))
        for at, row in _rows(raw, sort, where, found):
            found += _row(row, form, f"{at}/")
            if sort == "outlines":
                found += _corners(row.get("corners_mm"), f"{at}/corners_mm")
    return found


def _corners(corners: Any, at: str) -> list[SheetTrouble]:
    if corners is None:
        return [SheetTrouble(at, "missing", {"name": "corners_mm"})]
    if not isinstance(corners, (list, tuple)):
        return [SheetTrouble(at, "not_a_list")]
    if len(corners) > MOST_CORNERS:
        return [SheetTrouble(at, "too_many_corners", {"count": str(len(corners)), "most": str(MOST_CORNERS)})]
    for corner in corners:
        if not isinstance(corner, (list, tuple)) or len(corner) != 2 or None in map(amount_from, corner):
            return [SheetTrouble(at, "not_a_corner", {"typed": _as_text(corner)})]
    return []


def _as_text(corner: Any) -> str:
    return " ".join(map(str, corner))[:80] if isinstance(corner, (list, tuple)) else str(corner)[:80]


def readable(body: Mapping[str, Any]) -> dict[str, Any]:
    """Return a sheet's body with only what has its form: rows that are rows, groups that are groups.

    For whoever shows a sheet that may have come from anywhere, in what state
    soever; a sound one is returned as it is.
    """
    found = {k: v for k, v in body.items() if k not in (*ROW_FORMS, *GROUPS, "cautions", "drawing")}
    for sort in ROW_FORMS:
        rows = _only_rows(body.get(sort))
        if sort == "caps":
            rows = [{**row, "over": _only_list(row.get("over"))} for row in rows]
        found |= {sort: rows} if rows else {}
    found |= {group: body[group] for group in GROUPS if isinstance(body.get(group), Mapping)}
    cautions, drawing = _only_list(body.get("cautions")), body.get("drawing")
    found |= {"cautions": cautions} if cautions else {}
    if isinstance(drawing, Mapping):
        shapes = {sort: _only_rows(drawing.get(sort)) for sort in DRAWN_FORMS if sort in drawing}
        for row in shapes.get("outlines", ()):
            row["corners_mm"] = [c for c in _only_list(row.get("corners_mm")) if isinstance(c, (list, tuple))]
        found["drawing"] = {**{k: v for k, v in drawing.items() if k not in DRAWN_FORMS}, **shapes}
    return found


def _only_rows(rows: Any) -> list[dict[str, Any]]:
    return [dict(row) for row in _only_list(rows) if isinstance(row, Mapping)]


def _only_list(value: Any) -> list[Any]:
    return list(value) if isinstance(value, (list, tuple)) else []
