"""A component sheet as typed in its form: read into a body, with what is wrong by field.

What contradicts itself is judged by `sheet_taking.taking_troubles` alone; here
stands only how a text becomes a figure, and beside which field each trouble goes.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Any, Collection, Mapping

from shared_models.catalogue.sheet_form import SheetTrouble, readable
from shared_models.checks.as_typed import AS_TYPED
from shared_models.checks.sheet_taking import COMPARED_AGAIN, TORQUES, gtin_of, taking_troubles, unit_of
from shared_models.checks.sheet_typed import (
    AGAIN,
    DRAWN,
    KEYED,
    PLAIN,
    ROWS,
    SLOTS,
    groups_of,
    is_empty,
    rows_in,
    rows_of,
)
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.units import family_of, rounded, typed_from

#: Fields that hold words; all others hold a figure.
WORDS = {
    "name", "maker", "version", "device_identifier", "mass_basis", "function", "unit", "clockwise", "key",
    "locking_method", "note", "level", "view",
}
#: Fields that name another row.
_REFERENCES = {"opposes", "of"}
LONGEST_TEXT, LONGEST_LIST = 400, 5000
LONGEST_TYPED = 40
_MEASURES = {"N·m": "not_a_torque", "kg": "not_a_mass"}

Wrongs = dict[str, SheetTrouble]


def body_from(
    typed: Mapping[str, str], newest: Mapping[str, Any], versions: Collection[str] = (),
) -> tuple[dict[str, Any], Wrongs]:
    """Return the body of the next version and what is wrong with it, by field; '' is the form as a whole.

    ``newest``: the version it follows, or just ``sheet`` and ``part`` of a new one;
    what no field holds is kept from it.  ``versions``: the names that stand already.
    """
    reading = _Reading(typed, newest)
    body = reading.body()
    wrongs = reading.wrongs
    for trouble in taking_troubles(body, versions):
        wrongs.setdefault(reading.field_of(trouble.at), trouble)
    return body, wrongs


def key_from(name: str, taken: Collection[str]) -> str:
    """Return a key made of a name: small letters, digits and _; with a number where it is taken."""
    plain = unicodedata.normalize("NFKD", name.casefold().replace("ß", "ss")).encode("ascii", "ignore").decode()
    words = "_".join(re.findall(r"[a-z0-9]+", plain))[:50]
    first = words if words[:1].isalpha() else f"k_{words}".rstrip("_")
    return next(k for k in (first, *(f"{first}_{n}" for n in range(2, 1000))) if k not in taken)


class _Reading:
    """One form being read; ``wrongs`` by field, ``at`` where each row of the body stands in the form."""

    def __init__(self, typed: Mapping[str, str], newest: Mapping[str, Any]) -> None:
        self.typed, self.newest, self.wrongs = typed, readable(newest), Wrongs()
        self._rows = {sort: [n for n in rows_of(typed, sort) if not is_empty(typed, sort, n)] for sort in ROWS}
        self._slots = self._slots_of_rows()

    def body(self) -> dict[str, Any]:
        """The body as far as it can be read."""
        left = {k: v for k, v in self.newest.items() if k not in (*PLAIN, *ROWS, "cautions", "drawing", AS_TYPED, COMPARED_AGAIN)}
        found = {**left, **self._row("", PLAIN, {})}
        found["device_identifier"] = gtin_of(re.sub(r"[\s-]", "", str(found.get("device_identifier", ""))))
        cautions = [line.strip() for line in self.typed.get("cautions", "").splitlines() if line.strip()]
        groups = groups_of(str(self.newest.get("part", "")), self.typed)
        found |= {g: self._row(f"{g}-", names, {}) for g, names in groups.items()}
        for sort in ROWS:
            if sort not in DRAWN:
                found[sort] = self._rows_read(sort)
        drawn = {sort: self._rows_read(sort) for sort in DRAWN}
        kept = {k: v for k, v in (self.newest.get("drawing") or {}).items() if k not in DRAWN}
        found |= {"cautions": cautions, "drawing": {**kept, **{k: v for k, v in drawn.items() if v}}}
        return {name: value for name, value in found.items() if value not in ("", [], {})}

    def field_of(self, at: str) -> str:
        """The field, or the row or section, that a path into the body stands for."""
        pieces = at.removeprefix("drawing/").split("/")
        if pieces[0] in ROWS and len(pieces) > 1:
            numbers = self._rows[pieces[0]]
            number = numbers[int(pieces[1])] if int(pieces[1]) < len(numbers) else int(pieces[1])
            return "-".join([pieces[0], str(number), *pieces[2:]])
        return "-".join(pieces)

    def _slots_of_rows(self) -> dict[str, str]:
        """Row of the form -> what the sheet calls it."""
        found: dict[str, str] = {}
        for slot, (sort, column) in SLOTS.items():
            taken = [self._text(f"{sort}-{n}-{column}") for n in self._rows[sort]]
            for number in self._rows[sort]:
                row = f"{sort}-{number}"
                key = self._text(f"{row}-{column}")
                if not key and sort in KEYED and self._text(f"{row}-name"):
                    key = key_from(self._text(f"{row}-name"), taken)
                    taken.append(key)
                if key:
                    found[row] = f"{slot}/{key}"
        return found

    def _text(self, field: str) -> str:
        return self.typed.get(field, "").strip()

    def _rows_read(self, sort: str) -> list[dict[str, Any]]:
        names = tuple(c for column in SLOTS.values() if column[0] == sort for c in column[1:]) or ("name",)
        former = {str(row.get(names[0])): row for row in rows_in(self.newest)[sort]} if sort not in DRAWN else {}
        return [self._one(sort, number, former) for number in self._rows[sort]]

    def _one(self, sort: str, number: int, former: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
        before = f"{sort}-{number}-"
        key = self._slots.get(f"{sort}-{number}", "").partition("/")[2]
        known = former.get(key or self._text(before + "name"), {})
        left = {k: v for k, v in known.items() if k not in (*ROWS[sort], AS_TYPED, COMPARED_AGAIN)}
        row = self._row(before, ROWS[sort], left)
        if sort in KEYED and key:
            row["key"] = key
        if sort == "caps":
            row["over"] = self._over(before)
        if sort == "outlines":
            row["corners_mm"] = _corners(self.typed.get(before + "corners_mm", ""))
        return {name: value for name, value in row.items() if value not in ("", [])}

    def _over(self, before: str) -> list[str]:
        """What a cap closes: adjusters, screws, then caps, each in their order."""
        ticked = [n[len(before) + 5:] for n, v in self.typed.items() if n.startswith(before + "over-") and v]
        places = [self._slots.get(row, row) for row in ticked]
        order = list(self._slots.values())
        return sorted(places, key=lambda p: order.index(p) if p in order else len(order))

    def _row(self, before: str, names: tuple[str, ...], row: dict[str, Any]) -> dict[str, Any]:
        as_typed: dict[str, str] = {}
        compared: dict[str, str] = {}
        for name in names:
            text, field = self._text(before + name), before + name
            if not text or name == "over":
                continue
            if len(text) > (LONGEST_LIST if name == "corners_mm" else LONGEST_TEXT):
                self.wrongs[field] = SheetTrouble(field, "text_too_long", {"most": str(LONGEST_TEXT)})
            elif name in _REFERENCES:
                slot = self._slots.get(text, text)
                row[name] = slot if name == "of" else slot.removeprefix("screw/")
            elif name in WORDS:
                row[name] = text
            elif name != "corners_mm":
                row[name] = self._figure(text, name, field, as_typed)
                if text == self._text(field + AGAIN):
                    compared[name] = row[name]
        if as_typed:
            row[AS_TYPED] = as_typed
        return {**row, COMPARED_AGAIN: compared} if compared else row

    def _figure(self, text: str, name: str, field: str, as_typed: dict[str, str]) -> str:
        """The figure in the record's unit, a decimal comma taken as a point; the text itself where it is none, with its wrong."""
        figure = text.replace(",", ".")
        plain, unit = amount_from(figure), unit_of(name)
        if plain is not None and name not in TORQUES:
            return figure.removeprefix("+")
        read = typed_from(text) if unit and len(text) <= LONGEST_TYPED else None
        if read is None or family_of(read.unit) != family_of(unit):
            code = "torque_without_unit" if plain is not None else _MEASURES.get(unit, "not_a_figure")
            self.wrongs[field] = SheetTrouble(field, code, {"typed": text[:80]})
            return text
        if read.unit != unit:
            as_typed[name] = text
        return rounded(read.into(unit))


def _corners(text: str) -> list[list[str]]:
    """One corner a line, or parted by semicolons: two figures."""
    lines = [line for line in re.split(r"[;\n]", text) if line.strip()]
    return [[piece for piece in re.split(r"[\s,]+", line.strip()) if piece] for line in lines]
