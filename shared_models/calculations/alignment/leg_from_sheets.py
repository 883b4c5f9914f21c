"""The leg's chain from the component sheets and the measured build height.

Whatever a sheet does not state is named, and what depends on it is not worked
out; no figure is ever taken for another.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Mapping

from shared_models.calculations.alignment.chain import Chain, Joint
from shared_models.catalogue.adapters import ABOVE_KNEE, BELOW_KNEE, FOOT_LEVEL, Adapter
from shared_models.catalogue.sheets import Sheet
from shared_models.language import phrase, spoken


@dataclass(frozen=True)
class Settings:
    """How the adapters stand now: degrees and mm by level, 0 being the middle.

    ``tilt_deg`` and ``slide_mm`` go by `adapters.LEVELS`; a level that is not
    named is taken to stand in the middle, and the wording says so.
    """

    tilt_deg: Mapping[str, float]
    slide_mm: Mapping[str, float]


MIDDLE = Settings({}, {})


@dataclass(frozen=True)
class BuiltLeg:
    """The chain as far as the sheets tell, and what they lack for the rest.

    ``chain`` is None without the figures it can't do without.  ``tube_mm`` is
    the length between the foot's upper end and the knee's lower end.
    """

    chain: Chain | None
    lacks: tuple[str, ...] = ()
    tube_mm: float | None = None
    tube_shortest_mm: float | None = None
    tube_longest_mm: float | None = None
    heel_to_ball_mm: float | None = None
    ball_ahead_mm: float | None = None


class _Figures:
    """Asks sheets for figures and remembers what was not there."""

    def __init__(self, sheets: Mapping[str, Sheet]) -> None:
        self.sheets = sheets
        self.lacks: list[str] = []

    def ask(self, place: str, name: str, words: str) -> float | None:
        sheet = self.sheets.get(place)
        figure = sheet.build.get(name) if sheet else None
        if figure is None:
            self.lacks.append(f"{sheet.name if sheet else place}: {spoken(words)}")
            return None
        return float(figure)


def built_leg(
    sheets: Mapping[str, Sheet], build_height_mm: Decimal | float | None, now: Settings = MIDDLE,
) -> BuiltLeg:
    """Return the leg from its sheets by place and the height of the knee centre over the floor.

    ``build_height_mm`` is measured with the shoe on; None when not recorded.
    """
    ask = _Figures(sheets)
    foot = ask.ask("foot", "height_mm", phrase("its height from sole to upper end"))
    below = ask.ask("knee", "below_centre_mm", phrase("knee centre to its lower end"))
    above = ask.ask("knee", "above_centre_mm", phrase("knee centre to its upper end"))
    if build_height_mm is None:
        ask.lacks.append(spoken("bench alignment: build height"))
    if foot is None or below is None or above is None or build_height_mm is None:
        return BuiltLeg(None, tuple(ask.lacks))
    knee = float(build_height_mm)
    adapter = ask.ask("upper_adapter", "height_mm", phrase("its height, end to end"))
    reference = ask.ask("socket", "reference_mm", phrase("lower end to reference point"))
    tops = {"foot": foot, "tube": knee - below, "knee": knee + above}
    if adapter is not None:
        tops["upper_adapter"] = knee + above + adapter
    joints, without = _joints(sheets, tops, knee, below, now)
    tube = sheets.get("tube")
    limits = tube.build if tube else {}
    foot_sheet = sheets["foot"].build
    top = None if adapter is None or reference is None else knee + above + adapter + reference
    return BuiltLeg(
        Chain(tuple(joints), knee, top), (*ask.lacks, *without), knee - below - foot,
        _float(limits.get("shortest_mm")), _float(limits.get("longest_mm")),
        _float(foot_sheet.get("heel_to_ball_mm")), _float(foot_sheet.get("ball_ahead_mm")),
    )


def _float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _joints(
    sheets: Mapping[str, Sheet], tops: Mapping[str, float], knee: float, below: float, now: Settings,
) -> tuple[list[Joint], list[str]]:
    """The joints from the floor up, and what is not known of them."""
    joints, lacks = [], []
    settled: set[tuple[str, str]] = set()
    for place in ("foot", "tube", "knee", "upper_adapter"):
        sheet = sheets.get(place)
        for adapter in sheet.adapters if sheet else ():
            at = knee - below if adapter.level == BELOW_KNEE else tops.get(place)
            lacks += [f"{sheet.name}: {words}" for words in _unknown(adapter)]
            if at is None:
                continue
            joints.append(Joint(
                adapter.name, at,
                _now(adapter, adapter.tilt_limit_deg, now.tilt_deg, "tilt", settled),
                _now(adapter, adapter.slide_limit_mm, now.slide_mm, "slide", settled),
                float(adapter.tilt_limit_deg or 0), float(adapter.slide_limit_mm or 0),
            ))
    joints.sort(key=lambda joint: joint.at_mm)
    if not joints:
        lacks.append(spoken("the sheets of this leg: which adapters can be tilted or slid"))
    return joints, lacks


def _now(
    adapter: Adapter, limit: Decimal | None, now: Mapping[str, float], sort: str,
    settled: set[tuple[str, str]],
) -> float:
    """The present setting belongs to the first adapter of its level that can take it."""
    if not limit or (adapter.level, sort) in settled:
        return 0.0
    settled.add((adapter.level, sort))
    return now.get(adapter.level, 0.0)


def _unknown(adapter: Adapter) -> list[str]:
    found = []
    if adapter.tilt_limit_deg is None:
        found.append(spoken("how far '{name}' tilts", name=adapter.name))
    if adapter.slide_limit_mm is None:
        found.append(spoken("how far '{name}' slides", name=adapter.name))
    return found


#: From the floor up, as the sheets name them.
LEVELS_UPWARDS = (FOOT_LEVEL, BELOW_KNEE, ABOVE_KNEE)
