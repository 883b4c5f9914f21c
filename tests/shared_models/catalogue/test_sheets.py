"""Component sheets are data of the clinic: each contradiction in one is said in words."""

from __future__ import annotations

import copy

import pytest

from shared_models.catalogue.sheets import DEMO_SHEETS, demo_sheet, sheet_from, sheet_troubles

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
    "no mass limit": (without("mass_limit_kg"), "lacks mass_limit_kg"),
    "no basis of the mass limit": (without("mass_basis"), "lacks mass_basis"),
    "a basis that says nothing": (spoilt(mass_basis="roughly"), "whether carried load counts"),
    "a mass limit of nothing": (spoilt(mass_limit_kg="0"), "above 0 kg"),
    "a mass limit that is no number": (spoilt(mass_limit_kg="heavy"), "is not a number"),
    "a mass limit without end": (spoilt(mass_limit_kg="Infinity"), "is not a number"),
    "a mass limit that would fill the memory": (spoilt(mass_limit_kg="1e999999"), "is not a number"),
    "a part that no leg has": (spoilt(part="ankle"), "part is ankle"),
    "levels turned round": (spoilt(lowest_level="4", highest_level="3"), "lowest first"),
    "a level beyond the scale": (spoilt(highest_level="5"), "0 to 4"),
    "half a level": (spoilt(lowest_level="2.5"), "not a whole level"),
    "a compound that cures before it sets": (with_first("screws", locking_sets_min="40", locking_cures_min="30"), "it sets before it cures"),
    "a compound that sets at once": (with_first("screws", locking_sets_min="0"), "above 0"),
    "minutes of a compound that is not used": (with_first("screws", locking_method="none"), "its locking method is none"),
    "a screw opposite itself": (with_first("screws", opposes="top_front"), "no other screw of this sheet"),
    "a screw opposite nothing": (with_first("screws", opposes="left"), "no other screw of this sheet"),
    "a tightening order from nought": (with_first("screws", order="0"), "counts from 1"),
    "half a place in the order": (with_first("screws", order="1.5"), "not a whole number"),
    "an adjuster of no function": (with_first("adjusters", function="toe_spring"), "unknown function toe_spring"),
    "two adjusters of one function": (with_first("adjusters", function="swing_flexion"), "two stand for the adjuster of swing_flexion"),
    "an adjuster with its range turned round": (with_first("adjusters", lowest="24", highest="0"), "lowest position must be below"),
    "a start outside the range": (with_first("adjusters", start="25"), "start lies outside"),
    "steps turned round": (with_first("adjusters", smallest_step="2"), "smallest first"),
    "a step of nothing": (with_first("adjusters", smallest_step="0"), "above 0"),
    "a step wider than the range": (with_first("adjusters", largest_step="30"), "wider than its range"),
    "no sense of turn": (with_first("adjusters", clockwise="right"), "clockwise must say"),
    "an adjuster that lacks its unit": (spoilt(adjusters=[{k: v for k, v in KNEE["adjusters"][0].items() if k != "unit"}]), "lacks unit"),
    "a screw without torque": (with_first("screws", final_nm="0", interim_nm="0"), "torque must be above 0"),
    "an interim torque above the final one": (with_first("screws", interim_nm="12"), "interim torque is above"),
    "a tolerance below nothing": (with_first("screws", tolerance_percent="-4"), "tolerance runs from 0"),
    "a tolerance of everything": (with_first("screws", tolerance_percent="100"), "tolerance runs from 0"),
    "a locking method that nobody has": (with_first("screws", locking_method="hope"), "locking method must be"),
    "two screws of one name": (with_first("screws", key="top_back"), "two stand for the screw top_back"),
    "a screw key that names another place": (with_first("screws", key="foot.front"), "small letters"),
    "a screw key for every screw": (with_first("screws", key="*"), "small letters"),
    "two caps of one name": (with_first("caps", key="extension"), "two stand for the cap extension"),
    "a cap over a cap that comes later": (with_first("caps", over=["cap/front_cover"]), "comes later or is not there"),
    "a cap over itself": (with_first("caps", over=["cap/flexion"]), "comes later or is not there"),
    "a cap over a screw that is not there": (with_first("caps", over=["screw/side"]), "comes later or is not there"),
    "a cap over a valve that is not there": (with_first("caps", over=["setting/toe_spring"]), "comes later or is not there"),
    "a cap over something that is no list": (with_first("caps", over="setting/swing_flexion"), "is not a list"),
    "an alignment figure of no name": (spoilt(alignment={"toe_out_target_deg": "5"}), "toe_out_target_deg"),
    "an alignment tolerance below nothing": (spoilt(alignment={"load_line_tolerance_mm": "-5"}), "can't be below 0"),
    "an alignment that is no table": (spoilt(alignment="34 mm"), "can't be read"),
    "screws that are no list": (spoilt(screws=7), "can't be read"),
    "a screw that is a word": (spoilt(screws=["top"]), "can't be read"),
}


@pytest.mark.parametrize("case", CONTRADICTIONS)
def test_a_sheet_is_not_taken_that_has(case):
    body, said = CONTRADICTIONS[case]
    found = sheet_troubles(body)
    assert any(said in trouble for trouble in found), found
