"""Component sheets: what the maker's instructions say, filled in by the clinic.

A sheet is data and versioned; a fitting remembers the version by digest.  The
form is flat text so that it travels exactly; `sheet_from` reads it and
`sheet_troubles` lists what contradicts itself.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from decimal import Decimal
from importlib.resources import files
from typing import Any, Mapping

from shared_models.catalogue.adapters import Adapter, adapter_from, adapter_troubles
from shared_models.catalogue.part_drawing import PartDrawing, drawing_from, drawing_troubles
from shared_models.quantities.amounts import amount_from, text_of

PLACES = ("socket", "upper_adapter", "knee", "tube", "foot")
FUNCTIONS = ("stance_threshold", "swing_flexion", "swing_extension", "stance_damping")
MASS_BASES = ("bare", "with_carried_load")
LOCKING_METHODS = ("compound", "none")
ALIGNMENT_NAMES = (
    "reference_line_target_mm", "reference_line_tolerance_mm",
    "load_line_target_mm", "load_line_tolerance_mm",
)
SERVICE_NAMES = ("months", "steps")
#: Beyond these a service interval is a slip of the pen.
MOST_OF_A_SERVICE = {"months": 240, "steps": 100_000_000}
_KEY = re.compile(r"[a-z][a-z0-9_]{0,63}")
DEMO_SHEETS = (
    "socket_bay", "adapter_cove", "knee_alder", "tube_dune", "foot_elm",
)


@dataclass(frozen=True)
class Adjuster:
    """A valve or screw that sets one function; positions in ``unit``."""

    function: str
    name: str
    unit: str
    lowest: Decimal
    highest: Decimal
    start: Decimal
    smallest_step: Decimal
    largest_step: Decimal
    clockwise: str


@dataclass(frozen=True)
class Screw:
    """A screw with its torque figures in N·m.

    Optional, None or "" where the sheet has none: minutes until the locking
    compound has set and until it may be loaded, the place in the tightening
    order, the key of the screw opposite, and a note of the maker's.
    """

    key: str
    name: str
    interim_nm: Decimal
    final_nm: Decimal
    tolerance_percent: Decimal
    locking_method: str
    locking_sets_min: Decimal | None = None
    locking_cures_min: Decimal | None = None
    order: int | None = None
    opposes: str = ""
    note: str = ""

    def window_nm(self, final: bool) -> tuple[Decimal, Decimal]:
        """Return lowest and highest torque in N·m that the sheet takes."""
        figure = self.final_nm if final else self.interim_nm
        slack = figure * self.tolerance_percent / 100
        return figure - slack, figure + slack


@dataclass(frozen=True)
class Cap:
    """A cap; ``over`` lists the slots it closes, in the sheet's own names."""

    key: str
    name: str
    over: tuple[str, ...]


@dataclass(frozen=True)
class Sheet:
    """One version of a component sheet."""

    sheet: str
    name: str
    part: str
    version: str
    maker: str
    mass_limit_kg: Decimal
    mass_basis: str
    lowest_level: int
    highest_level: int
    adjusters: tuple[Adjuster, ...] = ()
    screws: tuple[Screw, ...] = ()
    caps: tuple[Cap, ...] = ()
    cautions: tuple[str, ...] = ()
    alignment: Mapping[str, Decimal] = field(default_factory=dict)
    adapters: tuple[Adapter, ...] = ()
    build: Mapping[str, Decimal] = field(default_factory=dict)
    #: After how many ``months`` or ``steps`` the maker asks for a service; {} where it says nothing.
    service: Mapping[str, int] = field(default_factory=dict)
    #: None where the sheet has no drawing, as every older one.
    drawing: PartDrawing | None = None

    def adjuster(self, function: str) -> Adjuster | None:
        """Return the adjuster of that function, if the component has one."""
        return next((a for a in self.adjusters if a.function == function), None)


def sheet_from(body: Mapping[str, Any]) -> Sheet:
    """Read the body of a sheet; raise ValueError or KeyError when unreadable."""
    return Sheet(
        sheet=str(body["sheet"]),
        name=str(body["name"]),
        part=str(body["part"]),
        version=str(body["version"]),
        maker=str(body.get("maker", "")),
        mass_limit_kg=_amount(body["mass_limit_kg"]),
        mass_basis=str(body["mass_basis"]),
        lowest_level=_level(body["lowest_level"]),
        highest_level=_level(body["highest_level"]),
        adjusters=tuple(_adjuster(raw) for raw in body.get("adjusters", ())),
        screws=tuple(_screw(raw) for raw in body.get("screws", ())),
        caps=tuple(
            Cap(str(raw["key"]), str(raw["name"]), _texts(raw["over"]))
            for raw in body.get("caps", ())
        ),
        cautions=tuple(str(c) for c in body.get("cautions", ())),
        alignment={k: _amount(v) for k, v in body.get("alignment", {}).items()},
        adapters=tuple(adapter_from(raw) for raw in body.get("adapters", ())),
        build={str(k): _amount(v) for k, v in body.get("build", {}).items()},
        service={str(k): _whole(v) for k, v in body.get("service", {}).items()},
        drawing=drawing_from(body.get("drawing")),
    )


def _amount(value: Any) -> Decimal:
    amount = amount_from(value)
    if amount is None:
        raise ValueError(f"{value!r} is not a number")
    return amount


def _level(value: Any) -> int:
    amount = _amount(value)
    if amount != int(amount):
        raise ValueError(f"{value!r} is not a whole level")
    return int(amount)


def _texts(value: Any) -> tuple[str, ...]:
    if not isinstance(value, (list, tuple)):
        raise ValueError(f"{value!r} is not a list")
    return tuple(str(item) for item in value)


def _adjuster(raw: Mapping[str, Any]) -> Adjuster:
    amounts = ("lowest", "highest", "start", "smallest_step", "largest_step")
    return Adjuster(
        function=str(raw["function"]), name=str(raw["name"]), unit=str(raw["unit"]),
        clockwise=str(raw["clockwise"]), **{k: _amount(raw[k]) for k in amounts},
    )


def _screw(raw: Mapping[str, Any]) -> Screw:
    return Screw(
        key=str(raw["key"]), name=str(raw["name"]),
        interim_nm=_amount(raw["interim_nm"]), final_nm=_amount(raw["final_nm"]),
        tolerance_percent=_amount(raw["tolerance_percent"]),
        locking_method=str(raw["locking_method"]),
        locking_sets_min=_optional(raw, "locking_sets_min"),
        locking_cures_min=_optional(raw, "locking_cures_min"),
        order=_whole(raw["order"]) if "order" in raw else None,
        opposes=str(raw.get("opposes", "")), note=str(raw.get("note", "")),
    )


def _whole(value: Any) -> int:
    amount = _amount(value)
    if amount != int(amount):
        raise ValueError(f"{value!r} is not a whole number")
    return int(amount)


def _optional(raw: Mapping[str, Any], key: str) -> Decimal | None:
    return _amount(raw[key]) if key in raw else None


def sheet_troubles(body: Mapping[str, Any]) -> list[str]:
    """Return what is missing or contradicts itself in a sheet, in words."""
    try:
        sheet = sheet_from(body)
    except KeyError as error:
        return [f"the sheet lacks {error.args[0]}"]
    except (ValueError, TypeError, AttributeError) as error:
        return [f"the sheet can't be read: {error}"]
    troubles = []
    if sheet.part not in PLACES:
        troubles.append(f"part is {sheet.part}; it must be one of {', '.join(PLACES)}")
    if sheet.mass_basis not in MASS_BASES:
        troubles.append("the mass limit must say whether carried load counts")
    if sheet.mass_limit_kg <= 0:
        troubles.append("the mass limit must be above 0 kg")
    if not 0 <= sheet.lowest_level <= sheet.highest_level <= 4:
        troubles.append("functional levels run from 0 to 4, lowest first")
    for adjuster in sheet.adjusters:
        troubles += _adjuster_troubles(adjuster)
    for screw in sheet.screws:
        troubles += _screw_troubles(screw)
    troubles += _opposite_troubles(sheet)
    troubles += adapter_troubles(sheet.part, sheet.adapters, sheet.build)
    troubles += drawing_troubles(sheet.drawing, _own(sheet))
    troubles += _service_troubles(sheet)
    return troubles + _alignment_troubles(sheet) + _key_troubles(sheet) + _cap_troubles(sheet)


def _own(sheet: Sheet) -> set[str]:
    """What a sheet lists, in its own names: ``screw/``, ``cap/`` and ``setting/`` with their keys."""
    own = {f"setting/{a.function}" for a in sheet.adjusters} | {f"screw/{s.key}" for s in sheet.screws}
    return own | {f"cap/{c.key}" for c in sheet.caps}


def _screw_troubles(screw: Screw) -> list[str]:
    troubles = []
    if screw.final_nm <= 0 or screw.interim_nm <= 0:
        troubles.append(f"{screw.name}: a torque must be above 0 N·m")
    if screw.interim_nm > screw.final_nm:
        troubles.append(f"{screw.name}: interim torque is above the final one")
    if not 0 <= screw.tolerance_percent < 100:
        troubles.append(f"{screw.name}: the tolerance runs from 0 to below 100 %")
    if screw.locking_method not in LOCKING_METHODS:
        troubles.append(f"{screw.name}: the locking method must be one of {', '.join(LOCKING_METHODS)}")
    times = [t for t in (screw.locking_sets_min, screw.locking_cures_min) if t is not None]
    if any(t <= 0 for t in times) or times != sorted(times):
        troubles.append(f"{screw.name}: minutes of the compound are above 0, and it sets before it cures")
    if times and screw.locking_method != "compound":
        troubles.append(f"{screw.name}: has minutes of a compound, but its locking method is {screw.locking_method}")
    if screw.order is not None and screw.order < 1:
        troubles.append(f"{screw.name}: the tightening order counts from 1")
    return troubles


def _opposite_troubles(sheet: Sheet) -> list[str]:
    """Whoever opposes a screw is on the same sheet, and opposes no third one."""
    by_key = {screw.key: screw for screw in sheet.screws}
    troubles = []
    for screw in sheet.screws:
        other = by_key.get(screw.opposes)
        if screw.opposes and (other is None or other is screw):
            troubles.append(f"{screw.name}: opposes {screw.opposes}, which is no other screw of this sheet")
        elif other is not None and other.opposes not in ("", screw.key):
            troubles.append(f"{screw.name}: opposes {other.name}, which opposes {other.opposes}")
    return troubles


def _alignment_troubles(sheet: Sheet) -> list[str]:
    troubles = []
    for name, value in sheet.alignment.items():
        if name not in ALIGNMENT_NAMES:
            troubles.append(f"alignment: {name} is not one of {', '.join(ALIGNMENT_NAMES)}")
        elif "tolerance" in name and value < 0:
            troubles.append(f"alignment: {name} can't be below 0")
    return troubles


def _service_troubles(sheet: Sheet) -> list[str]:
    troubles = []
    for name, value in sheet.service.items():
        if name not in SERVICE_NAMES:
            troubles.append(f"service: {name} is not one of {', '.join(SERVICE_NAMES)}")
        elif not 0 < value <= MOST_OF_A_SERVICE[name]:
            troubles.append(f"service: {name} runs from 1 to {MOST_OF_A_SERVICE[name]}, not {value}")
    return troubles


def _key_troubles(sheet: Sheet) -> list[str]:
    """Keys name slots: each must be plain, and stand for one thing only."""
    troubles = []
    for sort, keys in (
        ("screw", [s.key for s in sheet.screws]), ("cap", [c.key for c in sheet.caps]),
        ("adjuster of", [a.function for a in sheet.adjusters]),
    ):
        troubles += [f"{sort} {k!r}: a key is small letters, digits and _" for k in keys if not _KEY.fullmatch(k)]
        troubles += [f"two stand for the {sort} {k}" for k in sorted(set(keys)) if keys.count(k) > 1]
    return troubles


def _adjuster_troubles(adjuster: Adjuster) -> list[str]:
    troubles = []
    if adjuster.function not in FUNCTIONS:
        troubles.append(f"{adjuster.name}: unknown function {adjuster.function}")
    if not adjuster.lowest < adjuster.highest:
        troubles.append(f"{adjuster.name}: its lowest position must be below its highest")
    elif not adjuster.lowest <= adjuster.start <= adjuster.highest:
        troubles.append(f"{adjuster.name}: its start lies outside its range")
    if not 0 < adjuster.smallest_step <= adjuster.largest_step:
        troubles.append(f"{adjuster.name}: steps must be above 0, smallest first")
    if adjuster.largest_step > adjuster.highest - adjuster.lowest:
        troubles.append(f"{adjuster.name}: its largest step is wider than its range; write {text_of(adjuster.highest - adjuster.lowest)} or less")
    if adjuster.clockwise not in ("more", "less"):
        troubles.append(f"{adjuster.name}: clockwise must say more or less")
    return troubles


def _cap_troubles(sheet: Sheet) -> list[str]:
    troubles, seen = [], set()
    covers = {f"setting/{a.function}" for a in sheet.adjusters}
    covers |= {f"screw/{s.key}" for s in sheet.screws}
    for cap in sheet.caps:
        for place in cap.over:
            if place not in covers and place not in {f"cap/{key}" for key in seen}:
                troubles.append(f"{cap.name}: closes {place}, which comes later or is not there")
        seen.add(cap.key)
    return troubles


def demo_sheet(name: str) -> dict[str, Any]:
    """Return the body of an invented sheet of the rehearsal."""
    text = (files("shared_models.catalogue") / "demo" / f"{name}.toml").read_text("utf-8")
    return tomllib.loads(text)


def demo_people() -> dict[str, Any]:
    """Return the invented clinic and its staff, with their public PINs."""
    text = (files("shared_models.catalogue") / "demo" / "people.toml").read_text("utf-8")
    return tomllib.loads(text)
