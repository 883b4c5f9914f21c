"""The leg from its component sheets: what they state, and what they lack."""

from __future__ import annotations

import pytest

from shared_models.calculations.alignment.leg_from_sheets import Settings, built_leg
from shared_models.catalogue.adapters import ABOVE_KNEE, FOOT_LEVEL
from shared_models.catalogue.sheet_form import SheetTrouble
from shared_models.catalogue.sheet_troubles import sheet_troubles
from shared_models.catalogue.sheets import DEMO_SHEETS, demo_sheet, sheet_from
from shared_models.wording.sheet_troubles import trouble_sentence


def sheets(**without: str):
    """The invented sheets by place; ``without`` takes a build figure out of a place's sheet."""
    bodies = [demo_sheet(name) for name in DEMO_SHEETS]
    for body in bodies:
        body.get("build", {}).pop(without.get(body["part"], ""), None)
    return {body["part"]: sheet_from(body) for body in bodies}


def test_the_invented_leg_adds_up_from_the_floor():
    leg = built_leg(sheets(), 498)
    assert leg.lacks == ()
    assert [joint.at_mm for joint in leg.chain.joints] == [74, 312, 526, 550]
    assert (leg.chain.knee_at_mm, leg.chain.reference_at_mm) == (498, 812)
    assert leg.tube_mm == 238, "498 − 186 − 74"


@pytest.mark.parametrize(("place", "figure", "said"), [
    ("foot", "height_mm", "Elm demo foot (invented): its height from sole to upper end"),
    ("knee", "below_centre_mm", "Alder demo knee (invented): knee centre to its lower end"),
])
def test_a_sheet_without_a_height_leaves_the_leg_unknown_and_is_named(place, figure, said):
    leg = built_leg(sheets(**{place: figure}), 498)
    assert leg.chain is None and said in leg.lacks


def test_a_socket_without_its_reference_point_leaves_the_rest_standing():
    leg = built_leg(sheets(socket="reference_mm"), 498)
    assert leg.chain.reference_at_mm is None
    assert leg.lacks == ("Bay demo socket (invented): lower end to reference point",)


def test_without_a_build_height_there_is_no_leg():
    leg = built_leg(sheets(), None)
    assert leg.chain is None and leg.lacks == ("bench alignment: build height",)


def test_a_limit_that_a_sheet_does_not_state_is_named_and_never_taken_for_another():
    body = demo_sheet("foot_elm")
    del body["adapters"][0]["tilt_limit_deg"]
    leg = built_leg({**sheets(), "foot": sheet_from(body)}, 498)
    assert leg.chain.joint("Elm joint").tilt_limit_deg == 0
    assert leg.lacks == ("Elm demo foot (invented): how far 'Elm joint' tilts",)


def test_the_present_settings_stand_at_the_adapter_that_can_take_them():
    leg = built_leg(sheets(), 498, Settings({ABOVE_KNEE: 2.0, FOOT_LEVEL: -1.0}, {ABOVE_KNEE: 5.0}))
    by_name = {joint.name: (joint.tilt_deg, joint.slide_mm) for joint in leg.chain.joints}
    assert by_name == {
        "Elm joint": (-1, 0), "Alder lower joint": (0, 0), "Alder upper joint": (2, 0), "Cove slide": (0, 5),
    }


@pytest.mark.parametrize(("name", "changes", "trouble"), [
    ("foot_elm", {"adapters": [{"level": "above_knee", "name": "Odd", "tilt_limit_deg": "5"}]}, "has no adapter at that place"),
    ("knee_alder", {"adapters": [{"level": "below_knee", "name": "Odd", "tilt_limit_deg": "-5"}]}, "tilt runs from 0 to 45"),
    ("adapter_cove", {"adapters": [{"level": "above_knee", "name": "Odd", "slide_limit_mm": "500"}]}, "slide runs from 0 to 100"),
    ("tube_dune", {"build": {"shortest_mm": "300", "longest_mm": "200"}}, "shortest length 300 mm is above"),
    ("tube_dune", {"build": {"lenght_mm": "300"}}, "'lenght_mm' is no figure"),
    ("foot_elm", {"build": {"height_mm": "-4"}}, "Lengths run from 0 to 1000 mm"),
    ("foot_elm", {"build": {"height_mm": "tall"}}, "is not a figure"),
])
def test_adapter_figures_that_contradict_themselves_are_found(name, changes, trouble):
    found = [trouble_sentence(t) for t in sheet_troubles({**demo_sheet(name), **changes})]
    assert len(found) == 1 and trouble in found[0]


def test_two_adapters_of_one_name_could_not_be_told_apart():
    body = demo_sheet("knee_alder")
    body["adapters"] = [{**body["adapters"][0]}, {**body["adapters"][1], "name": body["adapters"][0]["name"]}]
    assert sheet_troubles(body) == [SheetTrouble("adapters/1/name", "adapter_doubled", {"name": "Alder lower joint"})]


def test_a_sheet_without_any_of_these_figures_is_as_sound_as_before():
    for name in DEMO_SHEETS:
        body = demo_sheet(name)
        body.pop("adapters", None), body.pop("build", None)
        assert sheet_troubles(body) == []
