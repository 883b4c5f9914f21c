"""What the code on a part says is held against what is recorded of it."""

from __future__ import annotations

import pytest

from shared_models.catalogue.sheets import demo_sheet
from shared_models.entries.envelope import Subject
from shared_models.wording.sentences import sentence_of
from tests.fitting_desk import LEAD, Desk

#: FDA, UDI formats by issuing agency (2017), with a lot that expires later.
CODE = "(01)51022222233336(17)491231(10)A213B1(21)1234"
RIGHT = {"part_code": CODE, "serial": "1234", "lot": "A213B1", "device_identifier": "51022222233336", "expires_on": "2049-12-31"}


@pytest.fixture
def desk() -> Desk:
    return Desk().staff().before_the_bench()


def remarks_on_knee(desk: Desk, **body):
    knee = desk.head("component/knee")
    desk.note("component", {**knee.body, **body})
    return {r.code: r for r in desk.verdict().step("components").remarks if r.slot == "component/knee"}


def test_a_component_with_the_code_that_it_carries_needs_no_word(desk):
    assert remarks_on_knee(desk, **RIGHT) == {}


def test_a_component_without_a_code_is_as_complete_as_ever(desk):
    assert remarks_on_knee(desk) == {}
    assert desk.verdict().step("components").state == "met"


@pytest.mark.parametrize(("changed", "code"), [
    ({"serial": "1243"}, "serial_differs"), ({"lot": "A213B7"}, "lot_differs"), ({"device_identifier": "1"}, "device_identifier_differs"),
])
def test_what_differs_from_the_code_is_a_doubt_that_names_both(desk, changed, code):
    doubt = remarks_on_knee(desk, **{**RIGHT, **changed})[code]
    assert not doubt.blocks
    assert set(changed.values()) <= set(doubt.figures.values())


def test_of_several_readings_the_one_recorded_is_believed(desk):
    code = "015102222223333610A213B1211234"
    assert remarks_on_knee(desk, part_code=code, serial="1234", lot="A213B1") == {}
    assert remarks_on_knee(desk, part_code=code, serial="none marked", lot="A213B1211234") == {}
    assert "serial_differs" in remarks_on_knee(desk, part_code=code, serial="777", lot="A213B1")


def test_an_expired_part_is_not_built_in_without_a_reason(desk):
    expired = remarks_on_knee(desk, **{**RIGHT, "part_code": "", "expires_on": "2015-07-07"})["part_expired"]
    assert expired.blocks and "7 Jul 2015" in sentence_of(expired, desk.view)
    kept = remarks_on_knee(desk, **{**RIGHT, "part_code": "", "expires_on": "2015-07-07", "kept_because": "date of the box only"})
    assert not kept["part_expired"].blocks


def test_a_code_that_can_not_be_read_is_said_and_blocks_nothing(desk):
    doubt = remarks_on_knee(desk, part_code="(01)51022222233335", serial="1234")["part_code_unreadable"]
    assert not doubt.blocks and "it should be 6" in sentence_of(doubt, desk.view)


@pytest.mark.parametrize(("marked", "differs"), [
    ("51022222233336", False), ("08904000210037", True), ("8904000210037", True), ("A999123ABC0", False), ("", False),
])
def test_a_label_of_another_part_than_the_sheet_is_for_is_a_doubt(desk, marked, differs):
    body = {**demo_sheet("knee_alder"), "version": "1.3", "device_identifier": "51022222233336"}
    sheet = desk.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", body["sheet"]))
    found = remarks_on_knee(desk, sheet_digest=sheet.digest, device_identifier=marked)
    assert ("label_of_another_part" in found) == differs
    if differs:
        said = sentence_of(found["label_of_another_part"], desk.view)
        assert not found["label_of_another_part"].blocks and marked in said and "51022222233336" in said
