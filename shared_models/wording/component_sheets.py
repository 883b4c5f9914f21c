"""Words of the review page's component sheets: entering a version, and versions side by side."""

from __future__ import annotations

from typing import Any, Mapping

from shared_models.language import Phrases, phrase, spoken

TITLE = phrase("Component sheets")
LEAD = phrase("What the maker's instructions say of each component. A version never changes once it is published; a fitting keeps the version that it was made with.")
ENTER = phrase("Enter a new version")
ENTER_LEAD = phrase("Copy the figures from the maker's instructions. The form begins with the newest version. Adapters, build heights, cautions and the drawing are kept from it. Leave a row empty to leave it out.")
SIGNED = phrase("The new version is signed with your own key and goes to the tablets at their next sync. Fittings begun with an older version keep it.")
SORTS = Phrases({"adjusters": "Adjuster", "screws": "Screw", "caps": "Cap", "alignment": "Alignment, in mm", "service": "Service"})
LABELS: Mapping[str, str] = Phrases({
    "name": "Name", "maker": "Maker", "version": "Version", "mass_limit_kg": "Mass limit, kg",
    "mass_basis": "Mass limit counts", "lowest_level": "Lowest functional level",
    "highest_level": "Highest functional level", "function": "What it sets", "unit": "Unit of its positions",
    "lowest": "Lowest position", "highest": "Highest position", "start": "Start position",
    "smallest_step": "Smallest step", "largest_step": "Largest step", "clockwise": "Clockwise gives",
    "key": "Key", "interim_nm": "Interim torque, with unit", "final_nm": "Final torque, with unit",
    "tolerance_percent": "Tolerance, %", "locking_method": "Locking",
    "locking_sets_min": "Compound sets after, min", "locking_cures_min": "Compound cures after, min",
    "order": "Order of tightening", "opposes": "Key of the screw opposite", "note": "Note",
    "over": "Closes, parted by commas", "reference_line_target_mm": "Reference line, target",
    "reference_line_tolerance_mm": "Reference line, tolerance", "load_line_target_mm": "Load line, target",
    "load_line_tolerance_mm": "Load line, tolerance", "months": "Months", "steps": "Steps",
    "part": "Place", "cautions": "Cautions", "adapters": "Adapters", "build": "Build heights", "drawing": "Drawing",
})
CHOICES: Mapping[str, Mapping[str, str]] = Phrases({
    "mass_basis": {"bare": "the body alone", "with_carried_load": "body and carried load"},
    "function": {"stance_threshold": "stance threshold", "swing_flexion": "swing flexion",
                 "swing_extension": "swing extension", "stance_damping": "stance damping"},
    "clockwise": {"more": "more", "less": "less"},
    "locking_method": {"compound": "locking compound", "none": "none"},
})
_SENTENCES = Phrases({
    "sheet_field_missing": "Nothing is written here. Copy it from the maker's instructions.",
    "sheet_cap_without_place": "Say what the cap closes: setting/, screw/ or cap/ with the key, like setting/swing_flexion.",
    "sheet_text_too_long": "This is too long; at most {most} characters are taken.",
    "sheet_not_a_figure": "'{typed}' is not a figure. Write digits, like 12 or 12.5.",
    "sheet_torque_without_unit": "'{typed}' has no unit. Write it with one, like {typed} N·m or {typed} lbf·in.",
    "sheet_not_a_torque": "'{typed}' is not a torque. Write a figure with its unit, like 11 N·m.",
    "sheet_version_taken": "Version {version} stands already and never changes. Give the new one another name.",
    "sheet_trouble": "{trouble}.",
})


def shown_label(key: str) -> str:
    """Return what a figure is called where it is read, not typed."""
    label = LABELS[key] if key in LABELS else key.replace("_", " ")
    return label.removesuffix(spoken(", with unit")).removesuffix(spoken(", parted by commas"))


def shown_value(key: str, value: Any) -> str:
    """Return a figure of a sheet as it is read."""
    if key in ("interim_nm", "final_nm"):
        return f"{value} N·m"
    if isinstance(value, (list, tuple)):
        return ", ".join(str(part) for part in value)
    choices = CHOICES.get(key, {})
    return choices[str(value)] if str(value) in choices else str(value)


def sheet_sentence(code: str, values: Mapping[str, str]) -> str:
    """Return what is wrong with a field of a sheet, and what would be right."""
    said = _SENTENCES[code].format(**values)
    return said[:1].upper() + said[1:]
