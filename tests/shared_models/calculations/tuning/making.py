"""Adjusters and courses for tests of the guidance."""

from __future__ import annotations

from decimal import Decimal

from shared_models.calculations.tuning import Tried
from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.sheets import Adjuster, demo_sheet, sheet_from

KNEE = sheet_from(demo_sheet("knee_alder"))
EDITION = load_edition()
LOW_HIGH = {
    "stance_threshold": ("damping_stays_in", "no_damping_when_loaded"),
    "swing_flexion": ("heel_rise_too_high", "heel_rise_too_low"),
    "swing_extension": ("terminal_impact", "extension_incomplete"),
    "stance_damping": ("drops_on_descent", "yields_too_slowly"),
}


def adjuster(function: str = "swing_flexion", **changed) -> Adjuster:
    """The demo knee's adjuster, with figures changed (decimal text)."""
    own = vars(KNEE.adjuster(function)) | {"function": function}
    return Adjuster(**own | {
        key: Decimal(value) if key not in ("unit", "clockwise", "name") else value
        for key, value in changed.items()
    })


def known(function: str):
    """The findings that the edition offers for a function."""
    return EDITION.findings_of(function)


def tried(function: str, position: str, low: str = "none", high: str = "none", perceived: str = "seen", **more) -> Tried:
    """A trial with the function's 'too low' and 'too high' finding graded."""
    keys = LOW_HIGH[function]
    found = tuple(
        {"finding": key, "grade": grade, "perceived": perceived}
        for key, grade in zip(keys, (low, high)) if grade != "none"
    )
    more.setdefault("damping_came_in", None if function.startswith("swing") else high == "none" or function == "stance_damping")
    return Tried(Decimal(position), found, **more)
