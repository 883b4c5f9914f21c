"""Component sheets are data of the clinic: each contradiction in one is said in words."""

from __future__ import annotations

import copy

import pytest

from shared_models.catalogue.sheet_troubles import sheet_troubles
from shared_models.catalogue.sheets import DEMO_SHEETS, demo_sheet, sheet_from
from shared_models.wording.sheet_troubles import trouble_sentence

KNEE = demo_sheet("knee_alder")


def spoilt(**changed) -> dict:
    return {**copy.deepcopy(KNEE), **changed}


def with_first(group: str, **changed) -> dict:
    """The demo knee with figures of its first adjuster, screw or cap changed."""
    sheet = spoilt()
    sheet[group][0].update(changed)
    return sheet


def without(name: str) -> dict:
    return {key: value for key, value in spoilt().items() if key != name}


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_each_demo_sheet_is_sound(name):
    assert sheet_troubles(demo_sheet(name)) == []


def test_a_sheet_is_read_with_its_figures_exact():
    knee = sheet_from(KNEE)
    assert (str(knee.mass_limit_kg), str(knee.alignment["load_line_target_mm"])) == ("118", "34")
    assert [str(x) for x in knee.screws[0].window_nm(final=True)] == ["10.45", "11.55"]


CONTRADICTIONS = {
    "no mass limit": (without("mass_limit_kg"), "mass_limit_kg: Nothing is written"),
    "no basis of the mass limit": (without("mass_basis"), "mass_basis: Nothing is written"),
    "a basis that says nothing": (spoilt(mass_basis="roughly"), "Say whether the mass limit counts"),
    "a mass limit of nothing": (spoilt(mass_limit_kg="0"), "above 0 kg"),
    "a mass limit that is no number": (spoilt(mass_limit_kg="heavy"), "is not a figure"),
    "a mass limit without end": (spoilt(mass_limit_kg="Infinity"), "is not a figure"),
    "a mass limit that would fill the memory": (spoilt(mass_limit_kg="1e999999"), "is not a figure"),
    "a part that no leg has": (spoilt(part="ankle"), "'ankle' is no place in a leg"),
    "levels turned round": (spoilt(lowest_level="4", highest_level="3"), "The lowest level 4 is above the highest 3"),
    "a level beyond the scale": (spoilt(highest_level="5"), "from 0 to 4"),
    "half a level": (spoilt(lowest_level="2.5"), "is not a whole number"),
    "a compound that cures before it sets": (with_first("screws", locking_sets_min="40", locking_cures_min="30"), "It sets first"),
    "a compound that sets at once": (with_first("screws", locking_sets_min="0"), "above 0"),
    "minutes of a compound that is not used": (with_first("screws", locking_method="none"), "said to have none"),
    "a screw opposite itself": (with_first("screws", opposes="top_front"), "no other screw of this sheet"),
    "a screw opposite nothing": (with_first("screws", opposes="left"), "no other screw of this sheet"),
    "a tightening order from nought": (with_first("screws", order="0"), "counts from 1"),
    "half a place in the order": (with_first("screws", order="1.5"), "not a whole number"),
    "an adjuster of no function": (with_first("adjusters", function="toe_spring"), "'toe_spring' is nothing that an adjuster sets"),
    "two adjusters of one function": (with_first("adjusters", function="swing_flexion"), "adjusters/1/function: Another adjuster sets this"),
    "an adjuster with its range turned round": (with_first("adjusters", lowest="24", highest="0"), "Change them over if the range is 0 to 24"),
    "a start outside the range": (with_first("adjusters", start="25"), "lies outside the range"),
    "steps turned round": (with_first("adjusters", smallest_step="2"), "is wider than the largest"),
    "a step of nothing": (with_first("adjusters", smallest_step="0"), "above 0"),
    "a step wider than the range": (with_first("adjusters", largest_step="30"), "wider than the range"),
    "no sense of turn": (with_first("adjusters", clockwise="right"), "clockwise gives more or less"),
    "an adjuster that lacks its unit": (spoilt(adjusters=[{k: v for k, v in KNEE["adjusters"][0].items() if k != "unit"}]), "adjusters/0/unit: Nothing is written"),
    "a screw without torque": (with_first("screws", final_nm="0", interim_nm="0"), "A torque is above 0"),
    "an interim torque above the final one": (with_first("screws", interim_nm="12"), "is above the final one"),
    "a tolerance below nothing": (with_first("screws", tolerance_percent="-4"), "The tolerance runs from 0"),
    "a tolerance of everything": (with_first("screws", tolerance_percent="100"), "The tolerance runs from 0"),
    "a locking method that nobody has": (with_first("screws", locking_method="hope"), "Choose how the screw is locked"),
    "two screws of one name": (with_first("screws", key="top_back"), "Another screw has the key top_back"),
    "a screw key that names another place": (with_first("screws", key="foot.front"), "small letters"),
    "a screw key for every screw": (with_first("screws", key="*"), "small letters"),
    "two caps of one name": (with_first("caps", key="extension"), "Another cap has the key extension"),
    "a cap over a cap that comes later": (with_first("caps", over=["cap/front_cover"]), "put the inner one first"),
    "a cap over itself": (with_first("caps", over=["cap/flexion"]), "put the inner one first"),
    "a cap over a screw that is not there": (with_first("caps", over=["screw/side"]), "Tick what it closes"),
    "a cap over a valve that is not there": (with_first("caps", over=["setting/toe_spring"]), "Tick what it closes"),
    "a cap over nothing": (with_first("caps", over=[]), "Nothing is said of what the cap closes"),
    "a cap over something that is no list": (with_first("caps", over="setting/swing_flexion"), "is not a list"),
    "an alignment figure of no name": (spoilt(alignment={"toe_out_target_deg": "5"}), "'toe_out_target_deg' is no figure"),
    "an alignment tolerance below nothing": (spoilt(alignment={"load_line_tolerance_mm": "-5"}), "0 or more"),
    "an alignment that is no table": (spoilt(alignment="34 mm"), "can't be read"),
    "screws that are no list": (spoilt(screws=7), "screws: This is not a list"),
    "a screw that is a word": (spoilt(screws=["top"]), "can't be read"),
}


@pytest.mark.parametrize("case", CONTRADICTIONS)
def test_a_sheet_is_not_taken_that_has(case):
    body, said = CONTRADICTIONS[case]
    found = [f"{trouble.at}: {trouble_sentence(trouble)}" for trouble in sheet_troubles(body)]
    assert any(said in trouble for trouble in found), found
