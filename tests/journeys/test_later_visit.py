"""A person comes back: the visit begins from how the leg was left, on real widgets and a real store."""

from __future__ import annotations

import pytest

from shared_models.checks.drift import drifts
from shared_models.checks.events import open_events
from shared_models.checks.parts_over_time import parts_over_time
from shared_models.entries.envelope import Subject
from shared_models.papers.fitting_record import fitting_record
from tests.journeys.test_fitting_pages import SIZES, at_work, hands, must_fit, show_fitting  # noqa: F401


@pytest.fixture
def fitted(at_work):  # noqa: F811
    _, _, desk = at_work
    desk.before_the_bench().on_the_bench().tune().close().hand_over()
    desk.event()
    return at_work


def test_a_visit_begins_shows_drift_takes_a_new_foot_and_closes_the_fall(fitted, on_screen, finger):
    _, session, desk = fitted
    page = show_fitting(on_screen, finger, fitted, "missing")
    finger.tap("visit")
    visit = next(s.fitting for s in session.summaries() if s.fitting != "fitting-1")
    page = page.stage.page
    assert page.fitting == visit and page.view.after == "fitting-1"
    desk.fitting = Subject("fitting", visit)
    desk.asked(falls="1")
    desk.compared()

    # The fall is still open, and is closed from the first step.
    page.go("since")
    page.show_cards()
    finger.settle()
    assert finger.sees("Still open: fall")
    finger.tap("follow:e1")
    hands(finger).enter("what", "knee looked at, sound")
    hands(finger).enter("closes", True)
    finger.tap("save")
    assert open_events(session.fitting(visit)) == []

    # Where a valve was left stands beside its field, and is not typed in for anybody.
    page.go("as_found", "found/swing_flexion")
    finger.settle()
    assert finger.sees("left at 8 marks last time")
    hands(finger).enter("position", "10")
    finger.tap("save")
    assert session.fitting(visit).value("found/swing_flexion", "position") == "10"
    page.go("as_found")
    page.show_cards()
    finger.settle()
    assert finger.sees("found at 10 marks, left at 8 last time")

    # A step that nothing has touched offers what may be done in it.
    page.go("exchange")
    finger.settle()
    finger.tap("door:part_out/foot")
    assert page.slot == "part_out/foot"
    sheet = next(e for e in session.record.entries.values() if e.kind == "component_sheet" and e.body["part"] == "foot")
    desk.note("part_out", {"place": "foot", "serial": "none marked", "reason": "worn", "condition": "worn", "goes_to": "maker"})
    desk.component("foot", sheet, "F-200")
    feet = [p.serial for p in parts_over_time(session.fitting(visit)) if p.place == "foot"]
    assert feet == ["none marked", "F-200"]
    page.go("exchange")
    page.show_cards()
    finger.settle()
    assert finger.sees("F-200")
    page.stage.go_home()
    finger.settle()
    assert finger.sees("next: ")


@pytest.mark.parametrize("way_up", SIZES)
def test_every_step_of_a_visit_fits_the_tablet_either_way_up(fitted, on_screen, finger, window, way_up):
    _, session, desk = fitted
    desk.visit("visit-1").asked(falls="1")
    desk.compared()
    desk.found(swing_flexion="10")
    window.set_size(*SIZES[way_up])
    tablet, session, _ = fitted
    stage = on_screen(tablet, session)
    stage.go_fitting("visit-1", "since")
    finger.settle()
    page = stage.page
    for step in [*(s.key for s in page.view.edition.steps), "missing"]:
        page.go(step)
        finger.settle()
        must_fit(window, page)


def test_a_screw_is_checked_with_the_drawing_the_wrench_list_and_what_its_reading_means(fitted, on_screen, finger):
    _, session, desk = fitted
    desk.visit("visit-1").asked(falls="1")
    desk.compared()
    page = on_a_page(on_screen, fitted)
    key = next(s.key for s in page.view.screws() if s.screw.name == "Top screw, front")
    page.go("as_found", f"torque_check/{key}")
    finger.settle()
    assert finger.sees("left at 11 N·m last time")
    hands(finger).enter("reading_nm", "4")
    finger.tap("wrench:1")
    hands(finger).enter("held", False)
    assert finger.sees("Top screw, front: turned at 4 N·m, the sheet takes 10.45 to 11.55 N·m (left at 11 N·m).")
    finger.tap("save")
    entry = session.fitting("visit-1").head(f"torque_check/{key}")
    assert entry.body["wrench"] == "W1" and entry.body["wrench_calibrated_on"]
    page.go("as_found")
    page.show_cards()
    finger.settle()
    assert finger.sees("Drifted since last time: Top screw, front from 11 to 4 N·m.")
    assert finger.sees("turned, at 4 N·m")


def test_a_fall_is_recorded_and_followed_up_where_it_is_asked_for(fitted, on_screen, finger):
    _, session, desk = fitted
    desk.event("e2", during="stairs")
    desk.event("e3", during="bus step")
    desk.visit("visit-1").asked(falls="4")
    page = on_a_page(on_screen, fitted)
    page.go("since")
    page.show_cards()
    finger.settle()
    finger.tap("still_open")
    finger.settle()
    assert finger.sees("stairs") and finger.sees("bus step") and finger.sees("wet kerb")
    finger.tap("follow:e2")
    hands(finger).enter("what", "rail fitted")
    hands(finger).enter("closes", True)
    finger.tap("save")
    assert [e.id for e in open_events(session.fitting("visit-1"))] == ["e1", "e3"]
    page.go("since")
    page.show_cards()
    finger.settle()
    finger.tap("event")
    assert page.slot.startswith("event/")


def test_outcome_measures_of_the_visits_are_drawn_with_the_published_change(fitted, on_screen, finger):
    _, session, desk = fitted
    desk.visit("visit-1").asked(falls="1")
    desk.note("outcome_measures", {"ten_metre_walk_s": "8.1", "timed_up_and_go_s": "14.0", "two_minute_walk_m": "140", "socket_comfort_0_10": "8", "aid": "none"})
    page = on_a_page(on_screen, fitted)
    page.go("outcome", "outcome")
    finger.settle()
    chart = finger.find("outcome_chart:1")
    assert chart.scene.says.startswith("Timed up and go: ") and "14.0 s, changed; band: ± 3.6 s." in chart.scene.says
    assert finger.sees("Timed up and go, band: ± 3.6 s, the minimal detectable change at 90 %")


def on_a_page(on_screen, fitted):
    tablet, session, _ = fitted
    stage = on_screen(tablet, session)
    stage.go_fitting("visit-1", "since")
    return stage.page


def test_a_whole_later_visit_is_recorded_by_touches_from_its_beginning_to_complete(fitted, on_screen, finger):
    from mobile.rehearsal.course import Course

    tablet, session, desk = fitted
    desk.follow_up("e1")
    page = show_fitting(on_screen, finger, fitted, "missing")
    finger.tap("visit")
    visit = next(s.fitting for s in session.summaries() if s.fitting != "fitting-1")
    stage = page.stage
    course = Course(stage, finger, say=lambda _words: None)
    course.run_until(course.complete)
    view, verdict = session.fitting(visit), session.verdict(visit)
    assert verdict.is_complete and verdict.screws_are_signed
    assert {d.name: d.has_drifted for d in drifts(view)} == dict.fromkeys((d.name for d in drifts(view)), False)
    # Nothing was turned or tightened, and paper says so with what was left.
    record = fitting_record(view, verdict)
    torques = next(t for t in record.tables if t.heading == "Final torques")
    assert all(row[2].startswith("not touched at this visit; last ") for row in torques.rows) and torques.rows
    assert not record.is_draft and record.title == "Record of a later visit"
