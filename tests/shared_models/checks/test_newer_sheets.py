"""A newer sheet leaves a fitting under way as it is, and is told where it changes a limit."""

from __future__ import annotations

import pytest

from shared_models.checks.sheet_news import limit_changes, sheet_news
from shared_models.checks.sheet_offering import offered_version
from shared_models.catalogue.sheets import demo_sheet
from shared_models.entries.envelope import Subject
from shared_models.wording.sheet_news import news_words
from tests.fitting_desk import LEAD, Desk

KNEE = "demo-knee-alder"


@pytest.fixture
def desk() -> Desk:
    return Desk().staff().before_the_bench()


def published(desk: Desk, **changed):
    body = {**demo_sheet("knee_alder"), "version": "1.3", **changed}
    return desk.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", KNEE), settles=True)


def with_screw(**changed) -> list[dict]:
    screws = demo_sheet("knee_alder")["screws"]
    return [{**screws[0], **changed}, *screws[1:]]


def test_a_fitting_under_way_keeps_its_version_and_is_told_of_a_lower_mass_limit(desk):
    before = desk.verdict().digest
    published(desk, mass_limit_kg="90")
    assert desk.view.sheets()["knee"].version == "1.2" and desk.verdict().digest == before
    (news,) = sheet_news(desk.view)
    said = news_words(news)
    assert "version 1.3" in said and "keeps version 1.2" in said and "Mass limit, kg 118 → 90" in said


def test_a_torque_that_changed_is_told_with_its_screw_and_unit(desk):
    published(desk, screws=with_screw(final_nm="10"))
    (news,) = sheet_news(desk.view)
    assert "Top screw, front, Final torque 11 N·m → 10 N·m" in news_words(news)


def test_a_new_note_or_caution_or_drawing_is_no_limit(desk):
    body = demo_sheet("knee_alder")
    published(desk, cautions=["Another word."], screws=with_screw(note="clean first"),
              drawing={**body["drawing"], "circles": []}, name="Alder knee, renamed")
    assert sheet_news(desk.view) == []


def test_once_the_part_is_recorded_anew_by_the_newer_sheet_nothing_more_is_said(desk):
    desk.component("knee", published(desk, mass_limit_kg="112"))
    assert sheet_news(desk.view) == [] and desk.view.sheets()["knee"].version == "1.3"


def test_a_fitting_that_was_accepted_is_left_alone():
    desk = Desk.finished()
    desk.request_review()
    desk.decide()
    published(desk, mass_limit_kg="90")
    assert sheet_news(desk.view) == []


def test_a_limit_that_was_not_stated_before_is_a_change(desk):
    body = demo_sheet("knee_alder")
    del body["service"]
    assert [(c.sort, c.figure, c.was, c.now) for c in limit_changes(body, demo_sheet("knee_alder"))] == [
        ("service", "months", None, "24"), ("service", "steps", None, "2400000")]


def test_a_sheet_that_came_by_sync_and_contradicts_itself_is_not_offered_and_the_one_before_is(desk):
    wrong = published(desk, mass_limit_kg="-1")
    assert desk.record.head(Subject("component_sheet", KNEE), "sheet") == wrong, "kept"
    offered = offered_version(desk.record, KNEE)
    assert offered is not None and offered.body["version"] == "1.2"
    assert sheet_news(desk.view) == [], "nobody is sent to a sheet that can't be right"
