"""Component sheets: what the maker's instructions say, filled in by the clinic.

A sheet is data and versioned; a fitting remembers the version by digest.  The
form is flat text so that it travels exactly; `sheet_from` reads it and
`sheet_troubles.sheet_troubles` lists what contradicts itself.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from decimal import Decimal
from importlib.resources import files
from typing import Any, Mapping

from shared_models.catalogue.adapters import Adapter, adapter_from
from shared_models.catalogue.part_drawing import PartDrawing, drawing_from
from shared_models.quantities.amounts import amount_from

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
    #: The device identifier of the maker's label (UDI-DI), "" where the sheet does not know it.
    device_identifier: str = ""

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
        adjusters=tuple(adjuster_from(raw) for raw in body.get("adjusters", ())),
        screws=tuple(screw_from(raw) for raw in body.get("screws", ())),
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
        device_identifier=str(body.get("device_identifier", "")),
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


def adjuster_from(raw: Mapping[str, Any]) -> Adjuster:
    """Read one adjuster of a sheet; raise KeyError or ValueError when unreadable."""
    amounts = ("lowest", "highest", "start", "smallest_step", "largest_step")
    return Adjuster(
        function=str(raw["function"]), name=str(raw["name"]), unit=str(raw["unit"]),
        clockwise=str(raw["clockwise"]), **{k: _amount(raw[k]) for k in amounts},
    )


def screw_from(raw: Mapping[str, Any]) -> Screw:
    """Read one screw of a sheet; raise KeyError or ValueError when unreadable."""
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


def demo_sheet(name: str) -> dict[str, Any]:
    """Return the body of an invented sheet of the rehearsal."""
    text = (files("shared_models.catalogue") / "demo" / f"{name}.toml").read_text("utf-8")
    return tomllib.loads(text)


def demo_people() -> dict[str, Any]:
    """Return the invented clinic and its staff, with their public PINs."""
    text = (files("shared_models.catalogue") / "demo" / "people.toml").read_text("utf-8")
    return tomllib.loads(text)
