"""A new version of a component sheet as typed: read into a body, with what is wrong by field.

What contradicts itself is judged by `catalogue.sheets.sheet_troubles` alone; here
stand only the checks of what was typed, and beside which field each sentence goes.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Mapping

from shared_models.catalogue.sheets import ALIGNMENT_NAMES, SERVICE_NAMES, sheet_troubles
from shared_models.quantities.amounts import amount_from, text_of
from shared_models.quantities.units import family_of, typed_from

#: Sort of row -> its columns in the order of the form.
ROWS: Mapping[str, tuple[str, ...]] = {
    "adjusters": ("name", "function", "unit", "lowest", "highest", "start", "smallest_step", "largest_step", "clockwise"),
    "screws": ("name", "key", "interim_nm", "final_nm", "tolerance_percent", "locking_method",
               "locking_sets_min", "locking_cures_min", "order", "opposes", "note"),
    "caps": ("name", "key", "over"),
}
PLAIN = ("name", "maker", "version", "mass_limit_kg", "mass_basis", "lowest_level", "highest_level")
GROUPS: Mapping[str, tuple[str, ...]] = {"alignment": ALIGNMENT_NAMES, "service": SERVICE_NAMES}
OPTIONAL = {"maker", "locking_sets_min", "locking_cures_min", "order", "opposes", "note", *ALIGNMENT_NAMES, *SERVICE_NAMES}
#: Fields that hold words; all others hold a figure.
WORDS = {"name", "maker", "version", "mass_basis", "function", "unit", "clockwise", "key", "locking_method", "opposes", "note", "over"}
TORQUES = ("interim_nm", "final_nm")
LONGEST_TEXT = 400
#: How a trouble with the sheet itself begins -> the field it stands beside.
_BESIDE = {
    "the mass limit must say": "mass_basis", "the mass limit": "mass_limit_kg",
    "functional levels": "lowest_level",
}

Wrongs = dict[str, tuple[str, dict[str, str]]]


def typed_of(body: Mapping[str, Any], spare: int = 2) -> dict[str, str]:
    """Return the form of a sheet's body, field by field, with spare empty rows."""
    typed = {name: str(body.get(name, "")) for name in PLAIN}
    for group, names in GROUPS.items():
        typed |= {f"{group}-{name}": str(body.get(group, {}).get(name, "")) for name in names}
    for sort, columns in ROWS.items():
        rows = list(body.get(sort, ()))
        for place in range(len(rows) + spare):
            row = rows[place] if place < len(rows) else {}
            typed |= {f"{sort}-{place}-{c}": _shown(c, row.get(c, "")) for c in columns}
    return typed


def _shown(column: str, value: Any) -> str:
    if column in TORQUES and value != "":
        return f"{value} N·m"
    return ", ".join(value) if isinstance(value, (list, tuple)) else str(value)


def rows_of(typed: Mapping[str, str], sort: str) -> list[int]:
    """Return the numbers of the rows of a sort that the form has."""
    return sorted({
        int(parts[1]) for name in typed
        if len(parts := name.split("-")) == 3 and parts[0] == sort and parts[1].isascii()
        and parts[1].isdigit() and len(parts[1]) < 3 and parts[2] in ROWS[sort]
    })


def body_from(typed: Mapping[str, str], newest: Mapping[str, Any], versions: set[str]) -> tuple[dict[str, Any], Wrongs]:
    """Return the body of the next version and what is wrong with it, by field; '' is the form as a whole.

    What the form does not show (adapters, build heights, drawing) is as in ``newest``;
    ``versions`` are the names that stand already.
    """
    wrongs: Wrongs = {}
    body = {**newest, **_read(typed, "", PLAIN, wrongs)}
    for group, names in GROUPS.items():
        body[group] = _read(typed, f"{group}-", names, wrongs)
    at: dict[str, str] = {}
    for sort, columns in ROWS.items():
        body[sort] = []
        for place in rows_of(typed, sort):
            before = f"{sort}-{place}-"
            if any(typed.get(before + c, "").strip() for c in columns):
                row = _read(typed, before, columns, wrongs)
                body[sort].append(row)
                at.setdefault(str(row.get("name", "")), f"{sort}-{place}")
    if typed.get("version", "").strip() in versions:
        wrongs["version"] = ("sheet_version_taken", {"version": typed["version"].strip()})
    if not wrongs:
        for trouble in sheet_troubles(body):
            wrongs.setdefault(_beside(trouble, at), ("sheet_trouble", {"trouble": trouble}))
    return body, wrongs


def _read(typed: Mapping[str, str], before: str, names: tuple[str, ...], wrongs: Wrongs) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name in names:
        text = typed.get(before + name, "").strip()
        if not text:
            if name not in OPTIONAL:
                wrongs[before + name] = ("sheet_cap_without_place" if name == "over" else "sheet_field_missing", {})
        elif len(text) > LONGEST_TEXT:
            wrongs[before + name] = ("sheet_text_too_long", {"most": str(LONGEST_TEXT)})
        elif name == "over":
            found[name] = [part.strip() for part in text.split(",") if part.strip()]
        elif name in WORDS:
            found[name] = text
        else:
            _figure(text, name, before + name, found, wrongs)
    return found


def _figure(text: str, name: str, where: str, found: dict[str, Any], wrongs: Wrongs) -> None:
    plain = amount_from(text)
    if name not in TORQUES:
        if plain is None:
            wrongs[where] = ("sheet_not_a_figure", {"typed": text})
        else:
            found[name] = text_of(plain)
        return
    read = typed_from(text)
    if read is None or family_of(read.unit) != "torque":
        wrongs[where] = ("sheet_not_a_torque" if plain is None else "sheet_torque_without_unit", {"typed": text})
        return
    exact = read.into("N·m").exact
    found[name] = text_of((Decimal(exact.numerator) / exact.denominator).quantize(Decimal("0.01")).normalize())


def _beside(trouble: str, at: Mapping[str, str]) -> str:
    """The row that a trouble names first, or a field of the sheet; '' where neither is told."""
    row = at.get(trouble.partition(": ")[0])
    if row:
        return f"{row}-largest_step" if "largest step" in trouble else row
    return next((field for begin, field in _BESIDE.items() if trouble.startswith(begin)), "")
