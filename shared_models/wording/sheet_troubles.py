"""What is wrong with a component sheet, and what would be right: beside a field, or with its place for a file."""

from __future__ import annotations

from typing import Any, Iterable, Mapping

from shared_models.catalogue.sheet_form import SheetTrouble
from shared_models.checks.sheet_taking import COMPARED_AGAIN, QUESTIONS
from shared_models.language import Phrases, begun, filled, spoken
from shared_models.wording.component_sheets import CHOICES, LABELS, SORTS, plain_label

#: Of a file that is no sheet at all.
OF_A_FILE = Phrases({
    "not_there": "The file can't be opened. Copy it into the folder again.",
    "not_utf8": "The file is not text in UTF-8. Save it as plain text in UTF-8.",
    "line_unreadable": "Line {line} can't be read, from its character {column} on. A line of a sheet reads like this: name = \"in quotation marks\".",
    "said_twice": "A name, or a whole part, stands twice in the file. Keep one of them.",
    "end_unreadable": "The file ends in the middle of a line, or of a list that was begun. Copy the whole file again, or finish its last line.",
})
SENTENCES = Phrases({
    # The form of the sheet
    "missing": "Nothing is written here. Copy it from the maker's instructions.",
    "not_a_figure": "'{typed}' is not a figure. Write digits, like 12 or 12.5.",
    "not_whole": "'{typed}' is not a whole number. Write it without a fraction, like 12.",
    "not_a_list": "This is not a list. Write one row for each.",
    "not_a_table": "This can't be read. Write each figure under its own name.",
    "unreadable": "The sheet can't be read ({error}). Compare it with a sheet that was taken.",
    "text_too_long": "This is too long; at most {most} characters are taken.",
    # The component
    "part_unknown": "'{found}' is no place in a leg. It is one of {known}.",
    "mass_basis_unknown": "Say whether the mass limit counts the body alone, or the body with what it carries.",
    "mass_limit_not_above_0": "The mass limit is above 0 kg. Copy it from the maker's instructions.",
    "mass_limit_unlikely": "{limit} kg is no usual mass limit; most lie between {from} and {to} kg. If it is {limit} lb, write {limit} lb: that is {pounds} kg. If the instructions say {limit} kg, compare again and say so.",
    "level_off_scale": "{found} is not on the scale. Functional levels run from 0 to 4.",
    "levels_reversed": "The lowest level {lowest} is above the highest {highest}. Change them over if the instructions say {highest} to {lowest}.",
    "version_taken": "Version {version} stands already and never changes. Give the new one another name.",
    "component_known": "A sheet of {name} is here already, in version {version}. Enter a new version of it instead.",
    "identifier_unknown": "'{typed}' is no device identifier. Write the 8, 12, 13 or 14 digits behind (01), or the HIBC number that begins with a letter.",
    "identifier_length": "A device identifier of digits has 8, 12, 13 or 14 of them; here are {found}. Copy all digits behind (01) on the label.",
    "identifier_check_digit": "The last digit is {found}, and behind these digits it would be {right}: a digit is wrong. Compare with the label.",
    # Adjusters
    "function_unknown": "'{found}' is nothing that an adjuster sets. Choose one of the functions.",
    "function_doubled": "Another adjuster sets this already. A knee has one adjuster for each function.",
    "range_reversed": "The lowest position {lowest} is above the highest {highest}. Change them over if the range is {highest} to {lowest}.",
    "range_empty": "Lowest and highest position are both {lowest}. Write where the range ends.",
    "start_outside_range": "The start {start} lies outside the range. Write a position from {lowest} to {highest}.",
    "step_not_above_0": "A step is above 0. Write how far one turn goes.",
    "steps_reversed": "The smallest step {smallest} is wider than the largest {largest}. Change them over, or correct one.",
    "step_wider_than_range": "The largest step is wider than the range. Write {most} or less.",
    "clockwise_unknown": "Say whether clockwise gives more or less.",
    # Screws
    "torque_without_unit": "'{typed}' has no unit. Write it with one, like {typed} N·m or {typed} lbf·in.",
    "not_a_torque": "'{typed}' is not a torque. Write a figure with its unit, like 11 N·m.",
    "not_a_mass": "'{typed}' is not a mass. Write a figure in kg, or with its unit, like 260 lb.",
    "torque_not_above_0": "A torque is above 0 N·m. Copy it from the maker's instructions.",
    "interim_above_final": "The interim torque {interim} N·m is above the final one, {final} N·m. Change them over, or correct one.",
    "torque_unlikely_high": "{torque} N·m is more than the screws of a leg usually take ({from} to {to} N·m). If it is {torque} lbf·in, write that: it is {as_pounds} N·m. If the instructions say {torque} N·m, compare again and say so.",
    "torque_unlikely_low": "{torque} N·m is less than the screws of a leg usually take ({from} to {to} N·m); it is {in_pounds} lbf·in. Look at the unit in the instructions. If the figure is right, compare again and say so.",
    "torques_far_apart": "The final torque {final} N·m is many times the interim one, {interim} N·m. Look at both units. If both are right, compare again and say so.",
    "typed_disagrees": "{figure} is not what was typed, {typed}. Write one of them anew.",
    "tolerance_off_scale": "The tolerance runs from 0 to below 100 %.",
    "locking_unknown": "Choose how the screw is locked: {known}.",
    "minutes_not_above_0": "Minutes are above 0. Leave it empty where the instructions state none.",
    "minutes_without_compound": "These are minutes of a locking compound, and the screw is said to have none. Choose the compound, or empty this.",
    "cures_before_it_sets": "It sets after {sets} minutes and cures after {cures}. It sets first: change them over, or correct one.",
    "order_below_1": "The order of tightening counts from 1.",
    "opposes_nothing": "'{opposes}' is no other screw of this sheet. Choose the screw opposite, or none.",
    "opposes_another": "{other} is said to be opposite {third}. Two screws oppose each other; correct one of them.",
    # Caps and names
    "cap_without_place": "Nothing is said of what the cap closes. Tick each adjuster, screw or cap under it.",
    "cap_place_unknown": "The cap closes {place}, which is not on this sheet. Tick what it closes.",
    "cap_on_cap_that_comes_later": "The cap closes {place}, which goes on later. Caps stand in the order they go on: put the inner one first.",
    "name_doubled": "Another one is called {name} already. Give this one a name that tells them apart.",
    "key_not_plain": "'{key}' can't name it. Write small letters, digits and _, beginning with a letter, or leave it empty.",
    "screw_doubled": "Another screw has the key {key} already. Write another, or leave it empty.",
    "cap_doubled": "Another cap has the key {key} already. Write another, or leave it empty.",
    # Figures of the whole
    "figure_unknown": "'{name}' is no figure of this part. It is one of {known}.",
    "tolerance_below_0": "A tolerance is 0 or more.",
    "service_off_scale": "{found} is no interval. Write a whole number from 1 to {most}, or leave it empty where the instructions state none.",
    "build_off_scale": "Lengths run from 0 to 1000 mm.",
    "tube_reversed": "The shortest length {shortest} mm is above the longest {longest} mm. Change them over, or correct one.",
    # Adapters
    "adapter_doubled": "Another adapter is called {name} already. Give this one a name that tells them apart.",
    "level_not_of_part": "This part has no adapter at that place. It is one of {known}.",
    "part_has_no_adapter": "This part has no adapter that is told by itself. Take this one out.",
    "tilt_off_scale": "A tilt runs from 0 to {most} degrees either way.",
    "slide_off_scale": "A slide runs from 0 to {most} mm either way.",
    # The drawing
    "too_many_shapes": "Here are {count}; at most {most} are taken.",
    "too_many_corners": "Here are {count} corners; at most {most} are taken.",
    "not_a_corner": "'{typed}' is no corner. Write two figures a line: to the right, and up, like -24 28.",
    "view_unknown": "'{view}' is no side of a part. It is one of {known}.",
    "too_few_corners": "An outline has at least {fewest} different corners.",
    "drawn_too_far": "This reaches beyond {most} mm. Lengths are in millimetres.",
    "radius_not_above_0": "A radius is above 0 mm.",
    "place_doubled": "This has a place already ({of}). Each has one.",
    "place_unknown": "'{of}' is no screw, cap or adjuster of this sheet. Choose one.",
    "place_in_empty_view": "Nothing is drawn on this side. Draw an outline there first, or choose another side.",
    "place_outside_drawing": "This lies outside of what is drawn on this side: {left} to {right} across, {bottom} to {top} up.",
    "place_on_another": "This lies on {other}. Two places are at least {nearest} mm apart.",
})


def trouble_sentence(trouble: SheetTrouble) -> str:
    """Return what is wrong and what would be right, as it stands beside its field."""
    figures = {k: _known(v) if k == "known" else v for k, v in trouble.figures.items()}
    return begun(filled(SENTENCES[trouble.code], figures) if figures else SENTENCES[trouble.code])


def _known(listed: str) -> str:
    """Names of the format, as a form shows them where it has words."""
    words = {k: CHOICES[table][k] for table in ("level", "locking_method") for k in CHOICES[table]}
    return ", ".join(words.get(name, name) for name in listed.split(", "))


def troubles_with_places(troubles: Iterable[SheetTrouble], body: Mapping[str, Any]) -> list[str]:
    """Return each trouble with its place before it, for a sheet that stands in no form."""
    found = []
    for trouble in troubles:
        said, place = trouble_sentence(trouble), _place(trouble.at, body)
        if trouble.code in QUESTIONS:
            said += " " + spoken("In a file, write {words} beside it.", words=_answer(trouble.at, body))
        found.append(spoken("{place}: {sentence}", place=place, sentence=said) if place else said)
    return found


def _answer(at: str, body: Mapping[str, Any]) -> str:
    """How a file says that a figure was compared again."""
    node: Any = body
    for piece in at.split("/"):
        node = _within(node, piece)
    return f'{COMPARED_AGAIN} = {{ {at.rpartition("/")[2]} = "{node}" }}'


def _place(at: str, body: Mapping[str, Any]) -> str:
    """Where in the sheet: ``screws/0/final_nm`` is 'Screw 1 (Top screw, front), Final torque'."""
    words, node = [], body
    for piece in at.split("/") if at else ():
        node = _within(node, piece)
        if piece.isdigit() and words:
            name = str(node.get("name", "")) if isinstance(node, Mapping) else ""
            words[-1] += f" {int(piece) + 1}" + (f" ({name[:60]})" if name else "")
        elif piece != "drawing":
            words.append(SORTS[piece] if piece in SORTS else plain_label(piece) if piece in LABELS else piece)
    return ", ".join(words)


def _within(node: Any, piece: str) -> Any:
    if isinstance(node, Mapping):
        return node.get(piece)
    if isinstance(node, (list, tuple)) and piece.isdigit() and int(piece) < len(node):
        return node[int(piece)]
    return None
