"""Words of the review page's component sheets: entering one, and its versions side by side."""

from __future__ import annotations

from typing import Any, Mapping

from shared_models.catalogue.adapters import LEVELS_OF
from shared_models.catalogue.edition import load_edition
from shared_models.checks.as_typed import typed_words
from shared_models.checks.sheet_typed import is_amount
from shared_models.language import Phrases, figure_said, phrase, spoken
from shared_models.wording.sentences import typed_as_words

TITLE = phrase("Component sheets")
LEAD = phrase("What the maker's instructions say of each component. A version never changes once it is published; a fitting keeps the version that it was made with.")
ENTER = phrase("Enter a new version")
BEGIN = phrase("Begin a sheet for a new component")
BEGIN_LEAD = phrase("Choose where in the leg it goes. The form then asks for what the maker's instructions of such a part can state.")
ENTER_LEAD = phrase("Copy the figures from the maker's instructions. The form begins with the newest version. What is not marked 'if stated' has to be there.")
NEW_LEAD = phrase("Copy the figures from the maker's instructions. What is not marked 'if stated' has to be there. Nothing is kept until you sign and publish; 'Check' says what does not fit.")
SIGNED = phrase("The version is signed with your own key and goes to the tablets at their next sync. Fittings begun with an older version keep it.")
SOUND = phrase("Nothing contradicts itself. Compare it once more with the instructions, then sign and publish below.")
SORTS: Mapping[str, str] = Phrases({
    "adjusters": "Adjuster", "screws": "Screw", "caps": "Cap", "adapters": "Adapter", "alignment": "Alignment, in mm",
    "build": "Build heights, in mm", "service": "Service", "outlines": "Outline", "circles": "Circle",
    "places": "Place in the drawing", "drawing": "Drawing",
})
#: Sort of row -> title of the part of the form, what stands under it, and the button for one more.
PARTS_OF_FORM: Mapping[str, tuple[str, str, str]] = Phrases({
    "adjusters": ("Adjusters", "What can be set on the knee: its range, where it starts, how far one change may go.", "Add an adjuster"),
    "screws": ("Screws", "Each screw that is tightened to a torque. A torque is typed with its unit, in N·m or lbf·in; what you type is kept.", "Add a screw"),
    "caps": ("Caps", "Covers over valves and screws, in the order they go on: the inner one first.", "Add a cap"),
    "adapters": ("Adapters", "Where the part can be tilted or slid, either way from the middle. 0 where it can't.", "Add an adapter"),
    "outlines": ("Outlines", "A closed line through its corners, one corner a line: to the right, and up, in mm.", "Add an outline"),
    "circles": ("Circles", "A round part of the outline, in mm.", "Add a circle"),
    "places": ("Places", "Where a screw, a cap or an adjuster sits, in mm.", "Add a place"),
})
DRAWING_LEAD = phrase("If you want the tablet to show where caps and screws sit: plain outlines and places in mm, as one looks at that side of the part, from a zero of your choice. Nothing is drawn that is not stated here.")
LABELS: Mapping[str, str] = Phrases({
    "name": "Name", "maker": "Maker", "version": "Version", "device_identifier": "Device identifier (UDI-DI)",
    "mass_limit_kg": "Mass limit, kg",
    "mass_basis": "Mass limit counts", "lowest_level": "Lowest functional level",
    "highest_level": "Highest functional level", "function": "What it sets", "unit": "Unit of its positions",
    "lowest": "Lowest position", "highest": "Highest position", "start": "Start position",
    "smallest_step": "Smallest step", "largest_step": "Largest step", "clockwise": "Clockwise gives",
    "key": "Key", "interim_nm": "Interim torque, with unit", "final_nm": "Final torque, with unit",
    "tolerance_percent": "Tolerance, %", "locking_method": "Locking",
    "locking_sets_min": "Compound sets after, min", "locking_cures_min": "Compound cures after, min",
    "order": "Order of tightening", "opposes": "Screw opposite", "note": "Note",
    "over": "Closes", "reference_line_target_mm": "Reference line, target",
    "reference_line_tolerance_mm": "Reference line, tolerance", "load_line_target_mm": "Load line, target",
    "load_line_tolerance_mm": "Load line, tolerance", "months": "Months", "steps": "Steps",
    "part": "Place", "cautions": "Cautions", "level": "Where in the leg", "tilt_limit_deg": "Tilt, degrees either way",
    "slide_limit_mm": "Slide, mm either way", "height_mm": "Height", "reference_mm": "Lower end to reference point",
    "below_centre_mm": "Knee centre to lower end", "above_centre_mm": "Knee centre to upper end",
    "shortest_mm": "Shortest length", "longest_mm": "Longest length", "heel_to_ball_mm": "Heel to ball",
    "ball_ahead_mm": "Ball in front of the ankle", "view": "Side", "corners_mm": "Corners, mm", "x_mm": "To the right, mm",
    "y_mm": "Up, mm", "radius_mm": "Radius, mm", "of": "What sits there",
})
HINTS: Mapping[str, str] = Phrases({
    "version": "As printed on the instructions, or their date.",
    "device_identifier": "The digits behind (01) on the label.",
    "mass_limit_kg": "In kg, or with its unit, like 260 lb.",
    "interim_nm": "Like 6 N·m or 53 lbf·in.", "final_nm": "Like 11 N·m or 97 lbf·in.",
    "unit": "Like clicks, marks or turns.", "key": "Names it in the record. Empty: made of its name.",
    "cautions": "One a line.", "corners_mm": "Like -24 28, one corner a line.",
    "order": "1 is tightened first.",
})
CHOICES: Mapping[str, Mapping[str, str]] = Phrases({
    "mass_basis": {"bare": "the body alone", "with_carried_load": "body and carried load"},
    "function": {"stance_threshold": "stance threshold", "swing_flexion": "swing flexion",
                 "swing_extension": "swing extension", "stance_damping": "stance damping"},
    "clockwise": {"more": "more", "less": "less"},
    "locking_method": {"compound": "locking compound", "none": "none"},
    "level": {"foot": "at the foot", "below_knee": "below the knee", "above_knee": "above the knee"},
    "view": {"front": "front", "back": "rear", "left": "left side", "right": "right side"},
})


def place_words(part: str) -> str:
    """Return the place in the leg that a sheet's part is, in words."""
    return load_edition().words("place", part)


def plain_label(key: str) -> str:
    """Return what a figure is called where it is read, not typed."""
    label = LABELS[key] if key in LABELS else key.replace("_", " ")
    return label.removesuffix(spoken(", with unit"))


def shown_value(row: Mapping[str, Any], key: str) -> str:
    """Return a figure of a sheet as it is read, what was typed in another unit behind it."""
    value = row.get(key)
    if key in ("interim_nm", "final_nm"):
        return f"{figure_said(str(value))} N·m" + typed_as_words(typed_words(row, key))
    if key == "corners_mm":
        return "; ".join(" ".join(figure_said(str(each)) for each in corner) for corner in value or ())
    if isinstance(value, (list, tuple)):
        return ", ".join(str(part) for part in value)
    choices = CHOICES.get(key, {})
    words = choices[str(value)] if str(value) in choices else figure_said(str(value)) if is_amount(key) else str(value)
    return words + typed_as_words(typed_words(row, key))


def levels_of(part: str) -> dict[str, str]:
    """Return where a part can carry an adapter, with the words for it."""
    return {level: CHOICES["level"][level] for level in LEVELS_OF.get(part, ())}


def field_title(field: str, typed: Mapping[str, str]) -> str:
    """Return what a field of the form is called where it stands in no form: 'Screw 1 (Top screw), Final torque'."""
    sort, _, rest = field.partition("-")
    number, _, column = rest.partition("-")
    if not number.isdigit():
        return plain_label(rest or field) if rest or field in LABELS else SORTS.get(field, field)
    name = typed.get(f"{sort}-{number}-name", "").strip()
    row = f"{SORTS[sort]} {int(number) + 1}" + (f" ({name[:60]})" if name else "")
    return f"{row}, {plain_label(column)}" if column else row


def other_rows(names: Mapping[str, str], row: str, sort: str = "") -> dict[str, str]:
    """Return the rows of a form other than one, of one sort or of all, each as a person reads it."""
    shown = {}
    for other, name in names.items():
        of, _, number = other.partition("-")
        if other != row and sort in ("", of):
            title = f"{SORTS[of]} {int(number) + 1}"
            shown[other] = f"{title}: {name}" if name else title
    return shown
