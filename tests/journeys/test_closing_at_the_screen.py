"""Closing a fitting at the screen: caps against their drawing, the tablet changing hands, the person's sheet."""

from __future__ import annotations

import io

import pytest

from shared_models.wording import person_sheet as words
from tests.journeys.at_work import PINS, PROSTHETIST, TECHNICIAN, alone, own
from tests.journeys.tablet_desk import TabletDesk
from tests.journeys.test_at_the_screen import hands_of

F = "fitting-1"
CAPS = ("cap/knee.flexion", "cap/knee.extension", "cap/knee.front_cover")


@pytest.fixture
def desk(tmp_path):
    tablet, session = alone(tmp_path)
    desk = TabletDesk(tablet, session)
    desk.tablet = tablet
    desk.before_the_bench().on_the_bench().tune()
    desk.note("skin_end", {"skin_state": "intact"})
    yield desk
    tablet.close()


def show(desk, on_screen, finger, step, slot=""):
    stage = on_screen(desk.tablet, desk.session)
    stage.go_fitting(F, step, slot)
    finger.settle()
    return stage


def press_mark(finger, key):
    """Press where the drawing shows a cap or screw."""
    drawing = finger.find("component_map")
    spot = next(s for s in drawing.scene.shapes if getattr(s, "key", "") == key)
    x, y = drawing.to_pixels(spot.at)
    finger.press_at(drawing.to_window(x, y))


# Caps --------------------------------------------------------------------------------


def test_each_cap_is_one_tap_and_one_entry_of_its_own(desk, on_screen, finger):
    desk.tighten()
    show(desk, on_screen, finger, "caps")
    before = len(own(desk.session))
    for number, slot in enumerate(CAPS, 1):
        finger.tap(f"seated:{slot}")
        assert desk.session.fitting(F).head(slot).body["seated"] is True
        assert len(own(desk.session)) == before + number
    assert desk.session.verdict(F).step("caps").state == "met"
    assert not finger.find_all("seated:")


def test_a_cap_said_not_seated_keeps_the_step_open_until_it_is_seated(desk, on_screen, finger):
    desk.tighten()
    show(desk, on_screen, finger, "caps")
    finger.tap(f"not_seated:{CAPS[0]}")
    assert desk.session.fitting(F).head(CAPS[0]).body["seated"] is False
    assert desk.session.verdict(F).step("caps").state == "open"
    finger.tap(f"seated:{CAPS[0]}")
    assert desk.session.fitting(F).head(CAPS[0]).body["seated"] is True


def test_a_cap_ticked_by_mistake_is_taken_back_as_a_correction_with_its_reason(desk, on_screen, finger):
    desk.tighten()
    show(desk, on_screen, finger, "caps")
    finger.tap(f"seated:{CAPS[0]}")
    finger.tap("last_saved")
    finger.tap("field:seated=no")
    finger.tap("save")
    head = desk.session.fitting(F).head(CAPS[0])
    assert head.body["seated"] is False and head.is_correction and head.because_code == "mistyped"


def test_a_cover_that_goes_over_another_cap_says_which_comes_first(desk, on_screen, finger):
    desk.tighten()
    show(desk, on_screen, finger, "caps")
    assert finger.sees("Goes on over: Cap of the flexion valve.")
    finger.tap(f"seated:{CAPS[0]}")
    assert not finger.sees("Goes on over")


# Screws ------------------------------------------------------------------------------


@pytest.mark.plain_way
def test_another_screw_is_reached_by_pressing_its_mark_in_the_drawing(desk, on_screen, finger):
    stage = show(desk, on_screen, finger, "torque", "torque_final/knee.top_front")
    press_mark(finger, "torque_final/knee.top_back")
    assert stage.page.slot == "torque_final/knee.top_back"


@pytest.mark.plain_way
def test_a_part_whose_sheet_has_no_drawing_is_listed_and_nothing_is_drawn(desk, on_screen, finger):
    show(desk, on_screen, finger, "torque", "torque_final/tube.clamp")
    assert "has no drawing" in finger.find("component_map:none").text
    assert not finger.is_there("component_map")


def test_the_next_screw_asks_for_no_wrench_and_a_reading_is_judged_at_once(desk, on_screen, finger):
    desk.tighten("upper_adapter.left")
    show(desk, on_screen, finger, "torque", "torque_final/upper_adapter.right")
    hands = hands_of(finger)
    assert "in date" in [finger.find("wrench:chosen").trailing]
    assert not finger.is_there("field:wrench") and not finger.is_there("field:wrench_calibrated_on")
    hands.enter("reading_nm", "12")
    assert "0.48 N·m too low" in finger.find("torque:doubt").text
    hands.enter("reading_nm", "13")
    assert "in the window, 12.48 to 13.52 N·m" in finger.find("torque:line").text
    finger.tap("save")
    body = desk.session.fitting(F).head("torque_final/upper_adapter.right").body
    assert (body["wrench"], body["reading_nm"]) == ("W1", "13")
    assert body["wrench_calibrated_on"] == desk.head("torque_final/upper_adapter.left").body["wrench_calibrated_on"]


def test_a_wrench_out_of_date_is_marked_in_the_list_and_doubted_beside_the_reading(desk, on_screen, finger):
    desk.note("torque_final", {
        "screw": "upper_adapter.left", "locking_method": "compound", "reading_nm": "13", "wrench": "Old one",
        "wrench_calibrated_on": "2020-01-01",
    })
    show(desk, on_screen, finger, "torque", "torque_final/upper_adapter.right")
    assert finger.find("wrench:chosen").trailing == "out of date"
    assert "a year ago or more" in finger.find("torque:doubt").text
    finger.tap("wrench:chosen")
    finger.tap("wrench:2")
    assert finger.find("wrench:chosen").title == "W1"


# The tablet changes hands --------------------------------------------------------------


def test_while_the_technician_holds_the_tablet_there_is_no_way_to_anything_else(desk, on_screen, finger):
    desk.tighten()
    stage = show(desk, on_screen, finger, "sign_off")
    finger.tap("give")
    page, before = stage.page, own(desk.session)
    listed = [w.test_name for w in finger.find_all("signs:")]
    assert listed == [f"signs:{s.key}" for s in desk.view.screws()] or set(listed) == {f"signs:{s.key}" for s in desk.view.screws()}
    assert not finger.is_there("header:leave") and not finger.find_all("step_rail")
    finger.press_at(finger.find("header:unsent").to_window(*finger.find("header:unsent").center))
    assert stage.page is page and finger.is_there("pin_pad")
    finger.tap("back")
    assert finger.is_there("give") and finger.is_there("header:leave") and own(desk.session) == before


def test_the_technician_signs_exactly_the_list_and_the_prosthetist_is_at_work_again(desk, on_screen, finger):
    desk.tighten()
    stage = show(desk, on_screen, finger, "sign_off")
    finger.tap("give")
    finger.tap("field:way=witnessed")
    hands_of(finger).pin(PINS[TECHNICIAN])
    assert finger.is_there("handed_back") and not finger.is_there("header:leave")
    finger.tap("handed_back")
    signed = desk.session.fitting(F).head("sign_off")
    torques = {desk.head(f"torque_final/{s.key}").digest for s in desk.view.screws()}
    assert torques <= set(signed.rests_on) and signed.recorded_by == TECHNICIAN
    assert stage.session.staff == PROSTHETIST and finger.is_there("header:leave")


def test_the_tablet_is_not_given_away_before_every_screw_has_its_torque(desk, on_screen, finger):
    desk.tighten("upper_adapter.left")
    show(desk, on_screen, finger, "sign_off")
    finger.tap("give")
    assert "Top screw, front" in finger.find("give:refused").text
    assert not finger.is_there("pin_pad")


# The person's sheet ----------------------------------------------------------------------


def saved(desk):
    return sorted(p.name for p in desk.tablet.papers_folder.glob("*")) if desk.tablet.papers_folder.is_dir() else []


def test_a_sheet_saved_twice_lies_there_twice_and_reads_as_it_was_shown(desk, on_screen, finger):
    pypdf = pytest.importorskip("pypdf")
    desk.close().hand_over()
    show(desk, on_screen, finger, "missing")
    assert finger.is_there("stands:settings") and finger.is_there("stands:screws") and finger.is_there("stands:review")
    finger.tap("person_sheet")
    for _ in range(2):
        finger.tap("save_pdf")
        finger.wait_for(lambda: finger.is_there("paper:outcome"), what="the sheet")
    names = saved(desk)
    assert len(names) == 2 and names[0].startswith("person-sheet_D-2041_") and names[1].endswith("_2.pdf")
    first, second = ((desk.tablet.papers_folder / name).read_bytes() for name in names)
    assert first == second
    read = " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(first)).pages).split())
    assert "Ash Example" in read and finger.sees("Ash Example")
    finger.tap(f"paper:saved:{names[1]}")
    assert saved(desk) == names[:1]


def test_the_record_of_the_fitting_is_saved_beside_the_sheet_and_matches_the_record(desk, on_screen, finger):
    import pypdf

    from shared_models.papers.fitting_record import record_digest

    show(desk, on_screen, finger, "missing")
    finger.tap("person_sheet")
    finger.tap("save_record_pdf")
    finger.wait_for(lambda: finger.is_there("paper:outcome"), what="the record")
    name, = saved(desk)
    assert name.startswith("fitting-record_D-2041_") and finger.is_there(f"paper:saved:{name}")
    pages = pypdf.PdfReader(io.BytesIO((desk.tablet.papers_folder / name).read_bytes())).pages
    read = "".join("".join(page.extract_text() for page in pages).split())
    assert record_digest(desk.session.fitting(F).entries()) in read
    assert desk.session.verdict(F).digest in read


def test_a_sheet_of_an_unfinished_fitting_is_marked_before_it_is_saved(desk, on_screen, finger):
    show(desk, on_screen, finger, "missing")
    finger.tap("person_sheet")
    shown = [w.text for w in finger.find_all("paper:status")]
    assert any(text.startswith("This sheet is not complete") for text in shown)
    assert words.NOT_SIGNED in shown


def test_a_cancelled_sheet_leaves_nothing_and_says_so(desk, on_screen, finger, monkeypatch):
    import threading

    from shared_models.papers import pdf

    go_on = threading.Event()
    real = pdf._Paper.begin
    monkeypatch.setattr(pdf._Paper, "begin", lambda paper: (go_on.wait(10), real(paper)))
    show(desk, on_screen, finger, "missing")
    finger.tap("person_sheet")
    finger.tap("save_pdf")
    finger.tap("paper:progress:cancel")
    go_on.set()
    finger.wait_for(lambda: finger.is_there("paper:outcome"), what="the answer")
    assert finger.find("paper:outcome").lead == words.CANCELLED
    assert saved(desk) == []


def test_a_full_disk_is_said_and_leaves_nothing_half_written(desk, on_screen, finger, monkeypatch):
    import errno

    from mobile.flows import paper_files

    def full(_number):
        raise OSError(errno.ENOSPC, "no space")

    monkeypatch.setattr(paper_files.os, "fsync", full)
    show(desk, on_screen, finger, "missing")
    finger.tap("person_sheet")
    finger.tap("save_pdf")
    finger.wait_for(lambda: finger.is_there("paper:outcome"), what="the answer")
    assert "the disk is full" in finger.find("paper:outcome").lead
    assert saved(desk) == []


def test_what_was_waived_stands_there_with_its_reason_and_each_gap_has_its_way(desk, on_screen, finger):
    desk.note("waiver", {"step": "outcome", "because": "the hall is closed today"})
    stage = show(desk, on_screen, finger, "missing")
    assert "the hall is closed today" in finger.find("aside:outcome").subtitle
    finger.tap("gap:caps")
    assert stage.page.step_key == "caps"


def test_typing_the_wrenchs_date_does_not_scroll_back_to_the_reading(desk, on_screen, finger):
    show(desk, on_screen, finger, "torque", "torque_final/upper_adapter.left")
    hands = hands_of(finger)
    hands.enter("reading_nm", "13")
    finger.tap("wrench:chosen")
    finger.tap("wrench:other")
    hands.enter("wrench", "A third wrench")
    hands.enter("wrench_calibrated_on", "2026-08-01")
    assert finger.find("field:wrench_calibrated_on").text == "2026-08-01"
    finger.tap("save")
    assert desk.session.fitting(F).head("torque_final/upper_adapter.left").body["wrench"] == "A third wrench"
