"""What contradicts itself in a component sheet: the one rule, wherever a sheet comes from.

A sheet with a trouble is not published, not taken in from a file, not offered,
and a fitting that names it reads no figure of it.  Stricter questions, asked
only of a version that is new, are `checks.sheet_taking`.
"""

from __future__ import annotations

import re
from typing import Any, Iterator, Mapping, Sequence

from shared_models.catalogue.adapters import adapter_troubles
from shared_models.catalogue.part_drawing import drawing_troubles
from shared_models.catalogue.sheet_form import SheetTrouble, form_troubles
from shared_models.catalogue.sheets import (
    ALIGNMENT_NAMES,
    FUNCTIONS,
    LOCKING_METHODS,
    MASS_BASES,
    MOST_OF_A_SERVICE,
    PLACES,
    SERVICE_NAMES,
    Adjuster,
    Screw,
    Sheet,
    adjuster_from,
    screw_from,
    sheet_from,
)
from shared_models.quantities.amounts import text_of

_KEY = re.compile(r"[a-z][a-z0-9_]{0,63}")
LOWEST_LEVEL, HIGHEST_LEVEL = 0, 4
#: Stands for what can't be read while the rest is judged; contradicts nothing.
_STANDS_IN: Mapping[str, Any] = {
    "sheet": "", "name": "", "part": "knee", "version": "", "mass_limit_kg": "1", "mass_basis": "bare",
    "lowest_level": "0", "highest_level": "4",
}


def sheet_troubles(body: Mapping[str, Any]) -> list[SheetTrouble]:
    """Return what is missing or contradicts itself in a sheet, each at its place."""
    found = form_troubles(body)
    if found:
        return found + (_of_what_is_sound(body, found) if isinstance(body, Mapping) else [])
    try:
        sheet = sheet_from(body)
    except (KeyError, ValueError, TypeError, AttributeError) as error:
        return [SheetTrouble("", "unreadable", {"error": str(error)[:80]})]
    found += _limit_troubles(sheet)
    for number, adjuster in enumerate(sheet.adjusters):
        found += _adjuster_troubles(adjuster, f"adjusters/{number}")
    for number, screw in enumerate(sheet.screws):
        found += _screw_troubles(screw, f"screws/{number}")
    found += _opposite_troubles(sheet)
    found += adapter_troubles(sheet.part, sheet.adapters, sheet.build)
    found += drawing_troubles(sheet.drawing, own_places(sheet))
    return found + [*_alignment_troubles(sheet), *_service_troubles(sheet), *_key_troubles(sheet), *_cap_troubles(sheet)]


def _of_what_is_sound(body: Mapping[str, Any], found: Sequence[SheetTrouble]) -> list[SheetTrouble]:
    """Beside what can't be read: what contradicts itself in rows and figures that can, so that all is said at once."""
    wrong = {t.at for t in found} | {"/".join(t.at.split("/")[:2]) for t in found} | {t.at.split("/")[0] for t in found}
    whole = {k: v for k, v in body.items() if k in (*_STANDS_IN, "alignment", "service") and k not in wrong}
    more: list[SheetTrouble] = []
    try:
        sheet = sheet_from({**_STANDS_IN, **whole})
        more += [*_limit_troubles(sheet), *_alignment_troubles(sheet), *_service_troubles(sheet)]
        for number, row in enumerate(body.get("adjusters", ())):
            if (at := f"adjusters/{number}") not in wrong:
                more += _adjuster_troubles(adjuster_from(row), at)
        for number, row in enumerate(body.get("screws", ())):
            if (at := f"screws/{number}") not in wrong:
                more += _screw_troubles(screw_from(row), at)
    except (KeyError, ValueError, TypeError, AttributeError):
        return []  # what can't be read is said already
    return more


def own_places(sheet: Sheet) -> set[str]:
    """Return what a sheet lists, in its own names: ``screw/``, ``cap/`` and ``setting/`` with their keys."""
    own = {f"setting/{a.function}" for a in sheet.adjusters} | {f"screw/{s.key}" for s in sheet.screws}
    return own | {f"cap/{c.key}" for c in sheet.caps}


def _limit_troubles(sheet: Sheet) -> Iterator[SheetTrouble]:
    if sheet.part not in PLACES:
        yield SheetTrouble("part", "part_unknown", {"found": sheet.part, "known": ", ".join(PLACES)})
    if sheet.mass_basis not in MASS_BASES:
        yield SheetTrouble("mass_basis", "mass_basis_unknown")
    if sheet.mass_limit_kg <= 0:
        yield SheetTrouble("mass_limit_kg", "mass_limit_not_above_0")
    levels = {"lowest": str(sheet.lowest_level), "highest": str(sheet.highest_level)}
    for at, level in (("lowest_level", sheet.lowest_level), ("highest_level", sheet.highest_level)):
        if not LOWEST_LEVEL <= level <= HIGHEST_LEVEL:
            yield SheetTrouble(at, "level_off_scale", {"found": str(level)})
    if sheet.lowest_level > sheet.highest_level:
        yield SheetTrouble("lowest_level", "levels_reversed", levels)


def _adjuster_troubles(adjuster: Adjuster, at: str) -> Iterator[SheetTrouble]:
    lowest, highest = adjuster.lowest, adjuster.highest
    ends = {"lowest": text_of(lowest), "highest": text_of(highest)}
    if adjuster.function not in FUNCTIONS:
        yield SheetTrouble(f"{at}/function", "function_unknown", {"found": adjuster.function})
    if lowest > highest:
        yield SheetTrouble(f"{at}/lowest", "range_reversed", ends)
    elif lowest == highest:
        yield SheetTrouble(f"{at}/highest", "range_empty", ends)
    elif not lowest <= adjuster.start <= highest:
        yield SheetTrouble(f"{at}/start", "start_outside_range", {"start": text_of(adjuster.start), **ends})
    for name, step in (("smallest_step", adjuster.smallest_step), ("largest_step", adjuster.largest_step)):
        if step <= 0:
            yield SheetTrouble(f"{at}/{name}", "step_not_above_0")
    if 0 < adjuster.largest_step < adjuster.smallest_step:
        yield SheetTrouble(f"{at}/smallest_step", "steps_reversed", {
            "smallest": text_of(adjuster.smallest_step), "largest": text_of(adjuster.largest_step)})
    elif highest > lowest and adjuster.largest_step > highest - lowest:
        yield SheetTrouble(f"{at}/largest_step", "step_wider_than_range", {"most": text_of(highest - lowest)})
    if adjuster.clockwise not in ("more", "less"):
        yield SheetTrouble(f"{at}/clockwise", "clockwise_unknown")


def _screw_troubles(screw: Screw, at: str) -> Iterator[SheetTrouble]:
    for name, torque in (("interim_nm", screw.interim_nm), ("final_nm", screw.final_nm)):
        if torque <= 0:
            yield SheetTrouble(f"{at}/{name}", "torque_not_above_0")
    if screw.interim_nm > screw.final_nm > 0:
        yield SheetTrouble(f"{at}/interim_nm", "interim_above_final", {
            "interim": text_of(screw.interim_nm), "final": text_of(screw.final_nm)})
    if not 0 <= screw.tolerance_percent < 100:
        yield SheetTrouble(f"{at}/tolerance_percent", "tolerance_off_scale")
    if screw.locking_method not in LOCKING_METHODS:
        yield SheetTrouble(f"{at}/locking_method", "locking_unknown", {"known": ", ".join(LOCKING_METHODS)})
    sets, cures = screw.locking_sets_min, screw.locking_cures_min
    times = {f"{at}/locking_sets_min": sets, f"{at}/locking_cures_min": cures}
    for place, minutes in times.items():
        if minutes is not None and minutes <= 0:
            yield SheetTrouble(place, "minutes_not_above_0")
        elif minutes is not None and screw.locking_method == "none":
            yield SheetTrouble(place, "minutes_without_compound")
    if sets is not None and cures is not None and sets > cures > 0:
        yield SheetTrouble(f"{at}/locking_sets_min", "cures_before_it_sets", {"sets": text_of(sets), "cures": text_of(cures)})
    if screw.order is not None and screw.order < 1:
        yield SheetTrouble(f"{at}/order", "order_below_1")


def _opposite_troubles(sheet: Sheet) -> Iterator[SheetTrouble]:
    """Whoever opposes a screw is on the same sheet, and opposes no third one."""
    by_key = {screw.key: screw for screw in sheet.screws}
    for number, screw in enumerate(sheet.screws):
        other = by_key.get(screw.opposes)
        at = f"screws/{number}/opposes"
        if screw.opposes and (other is None or other is screw):
            yield SheetTrouble(at, "opposes_nothing", {"opposes": screw.opposes})
        elif other is not None and other.opposes not in ("", screw.key):
            yield SheetTrouble(at, "opposes_another", {"other": other.name, "third": other.opposes})


def _alignment_troubles(sheet: Sheet) -> Iterator[SheetTrouble]:
    for name, value in sheet.alignment.items():
        if name not in ALIGNMENT_NAMES:
            yield SheetTrouble(f"alignment/{name}", "figure_unknown", {"name": name, "known": ", ".join(ALIGNMENT_NAMES)})
        elif "tolerance" in name and value < 0:
            yield SheetTrouble(f"alignment/{name}", "tolerance_below_0")


def _service_troubles(sheet: Sheet) -> Iterator[SheetTrouble]:
    for name, value in sheet.service.items():
        if name not in SERVICE_NAMES:
            yield SheetTrouble(f"service/{name}", "figure_unknown", {"name": name, "known": ", ".join(SERVICE_NAMES)})
        elif not 0 < value <= MOST_OF_A_SERVICE[name]:
            yield SheetTrouble(f"service/{name}", "service_off_scale", {"found": str(value), "most": str(MOST_OF_A_SERVICE[name])})


def _key_troubles(sheet: Sheet) -> Iterator[SheetTrouble]:
    """Keys name slots: each must be plain, and stand for one thing only."""
    keyed: tuple[tuple[str, str, str, Sequence[str]], ...] = (
        ("screws", "key", "screw_doubled", [s.key for s in sheet.screws]),
        ("caps", "key", "cap_doubled", [c.key for c in sheet.caps]),
        ("adjusters", "function", "function_doubled", [a.function for a in sheet.adjusters]),
    )
    for sort, column, code, keys in keyed:
        for number, key in enumerate(keys):
            if column == "key" and not _KEY.fullmatch(key):
                yield SheetTrouble(f"{sort}/{number}/key", "key_not_plain", {"key": key})
            if key in keys[:number]:
                yield SheetTrouble(f"{sort}/{number}/{column}", code, {"key": key})


def _cap_troubles(sheet: Sheet) -> Iterator[SheetTrouble]:
    closes = {p for p in own_places(sheet) if not p.startswith("cap/")}
    for number, cap in enumerate(sheet.caps):
        for place in cap.over:
            if place not in closes:
                code = "cap_on_cap_that_comes_later" if place in own_places(sheet) else "cap_place_unknown"
                yield SheetTrouble(f"caps/{number}/over", code, {"place": place})
        closes.add(f"cap/{cap.key}")
