"""What a component sheet says of its adapters: how far they go, how high the part is.

All of it is optional: a sheet that lacks a figure leaves the results that
depend on it 'not available', and says which figure that is.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Mapping

from shared_models.catalogue.sheet_form import SheetTrouble
from shared_models.quantities.amounts import amount_from, text_of

FOOT_LEVEL, BELOW_KNEE, ABOVE_KNEE = "foot", "below_knee", "above_knee"
LEVELS = (FOOT_LEVEL, BELOW_KNEE, ABOVE_KNEE)
#: Which parts carry an adapter of which level.
LEVELS_OF = {
    "foot": (FOOT_LEVEL,), "tube": (FOOT_LEVEL, BELOW_KNEE), "knee": (BELOW_KNEE, ABOVE_KNEE),
    "upper_adapter": (ABOVE_KNEE,), "socket": (),
}
#: Figures along a part in mm, by part; each is what its name says:
#: height_mm from end to end (foot: sole to upper end, as built in the shoe);
#: below_centre_mm / above_centre_mm from the knee centre to the part's ends;
#: reference_mm from the socket's lower end to the point the line is drawn through;
#: heel_to_ball_mm along the sole, ball_ahead_mm from under the ankle to the ball;
#: shortest_mm / longest_mm of the tube between foot and knee, clamps included.
BUILD_NAMES = {
    "socket": ("reference_mm",),
    "upper_adapter": ("height_mm",),
    "knee": ("below_centre_mm", "above_centre_mm"),
    "tube": ("shortest_mm", "longest_mm"),
    "foot": ("height_mm", "heel_to_ball_mm", "ball_ahead_mm"),
}
STEEPEST_DEG, FARTHEST_MM = Decimal(45), Decimal(100)


@dataclass(frozen=True)
class Adapter:
    """A place that can be tilted or slid, either way from its middle.

    ``tilt_limit_deg`` and ``slide_limit_mm``: 0 where it does not, None where
    the sheet does not say.
    """

    level: str
    name: str
    tilt_limit_deg: Decimal | None = None
    slide_limit_mm: Decimal | None = None


def adapter_from(raw: Mapping[str, Any]) -> Adapter:
    """Read one adapter of a sheet; raise KeyError or ValueError when unreadable."""
    return Adapter(
        str(raw["level"]), str(raw["name"]), _limit(raw, "tilt_limit_deg"), _limit(raw, "slide_limit_mm")
    )


def _limit(raw: Mapping[str, Any], name: str) -> Decimal | None:
    if raw.get(name) in (None, ""):
        return None
    amount = amount_from(raw[name])
    if amount is None:
        raise ValueError(f"{raw[name]!r} is not a number")
    return amount


def adapter_troubles(
    part: str, adapters: tuple[Adapter, ...], build: Mapping[str, Decimal],
) -> list[SheetTrouble]:
    """Return what contradicts itself in the adapter figures of a sheet, each at its place."""
    troubles = []
    names = [adapter.name for adapter in adapters]
    for number, adapter in enumerate(adapters):
        at = f"adapters/{number}"
        if adapter.name in names[:number]:
            troubles.append(SheetTrouble(f"{at}/name", "adapter_doubled", {"name": adapter.name}))
        if adapter.level not in LEVELS_OF.get(part, ()):
            known = ", ".join(LEVELS_OF.get(part, ()))
            code = "level_not_of_part" if known else "part_has_no_adapter"
            troubles.append(SheetTrouble(f"{at}/level", code, {"level": adapter.level, "known": known}))
        if adapter.tilt_limit_deg is not None and not 0 <= adapter.tilt_limit_deg <= STEEPEST_DEG:
            troubles.append(SheetTrouble(f"{at}/tilt_limit_deg", "tilt_off_scale", {"most": str(STEEPEST_DEG)}))
        if adapter.slide_limit_mm is not None and not 0 <= adapter.slide_limit_mm <= FARTHEST_MM:
            troubles.append(SheetTrouble(f"{at}/slide_limit_mm", "slide_off_scale", {"most": str(FARTHEST_MM)}))
    known = BUILD_NAMES.get(part, ())
    for name, value in build.items():
        if name not in known:
            troubles.append(SheetTrouble(f"build/{name}", "figure_unknown", {"name": name, "known": ", ".join(known)}))
        elif not 0 <= value <= 1000:
            troubles.append(SheetTrouble(f"build/{name}", "build_off_scale"))
    shortest, longest = build.get("shortest_mm"), build.get("longest_mm")
    if shortest is not None and longest is not None and shortest > longest:
        troubles.append(SheetTrouble("build/shortest_mm", "tube_reversed", {
            "shortest": text_of(shortest), "longest": text_of(longest)}))
    return troubles
