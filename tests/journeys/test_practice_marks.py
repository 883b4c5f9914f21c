"""Practice can't be taken for care, nor care for practice: the mark, the way in and out, help and feedback."""

from __future__ import annotations

import itertools
import time
from dataclasses import replace

import pytest

from shared_models.wording import practice as words_of
from mobile.flows.practice import Practice, TapsBeside
from tests.journeys.at_work import PINS, PROSTHETIST, alone, open_fitting
from tests.journeys.test_practising import go_to

SCREENS = [((1280, 800), "sun", 1.0), ((800, 1280), "dim", 1.0), ((1280, 800), "dim", 1.5), ((800, 1280), "sun", 1.5)]


@pytest.fixture
def locked(tmp_path, on_screen):
    """A real tablet with the demo clinic, locked on the screen."""
    tablet, _ = alone(tmp_path / "tablet")
    stage = on_screen(tablet)
    yield stage, tablet
    stage.practising.close()
    tablet.close()


def every_page(stage, fitting, whole: bool):
    """Show each page that practice has, or some of its steps only; gives the name of each."""
    from mobile.screens.practice_people import PracticePeoplePage
    from mobile.screens.sheets import SheetsPage
    from mobile.screens.welcome import ColleaguePage

    for name, go in (
        ("home", stage.go_home), ("new", stage.go_new),
        ("timing", lambda: stage.go_timing(fitting, "swing_flexion", "trial/swing_flexion")),
        ("sync", stage.go_sync), ("people", lambda: stage.show(PracticePeoplePage(stage))),
        ("colleague", lambda: stage.show(ColleaguePage(stage))), ("sheets", lambda: stage.show(SheetsPage(stage))),
        ("files", lambda: stage.go_contact_files(fitting, "swing_flexion", "trial/swing_flexion")),
    )[: None if whole else 3]:
        go()
        yield name
    view = stage.session.fitting(fitting)
    for step in view.edition.steps if whole else [view.edition.step(k) for k in ("person", "swing_flexion", "sign_off")]:
        stage.go_fitting(fitting, step.key, view.expand(step.asks[0])[0])
        yield step.key
    stage.go_fitting(fitting, "missing")
    yield "missing"
    stage.go_lock()
    yield "lock"


@pytest.mark.parametrize("size, light, scale", SCREENS)
def test_every_page_of_practice_is_marked_by_stripes_and_words(locked, window, finger, size, light, scale):
    from mobile.widgets.practice_band import Stripes
    from mobile.widgets.theme import theme

    stage, _ = locked
    window.set_size(*size)
    theme.name, theme.font_scale = light, scale
    fitting = go_to(stage, "even", "bench")
    for name in every_page(stage, fitting, whole=(size, scale) == ((1280, 800), 1.0)):
        finger.settle()
        mark = finger.find("practice:mark")
        assert mark.text == "PRACTICE · nobody is being fitted", name
        left, bottom = mark.to_window(mark.x, mark.y)
        assert 0 <= left and left + mark.width <= size[0] and size[1] / 2 < bottom < size[1], name
        assert mark.texture_size[1] <= mark.height + 1, name
        band = mark.parent
        assert sum(isinstance(w, Stripes) and w.width > 20 for w in band.children) == 2, name
        leave = finger.find("practice:leave")
        assert min(leave.size) >= 56, name
        if stage.session is not None:
            assert stage.page.header.unsent == "never sent", name
        assert stage.practising.title == words_of.WINDOW_TITLE, name


def test_no_page_of_care_is_marked_and_practice_is_entered_beside_the_people(locked, window, finger):
    stage, real = locked
    assert not finger.is_there("practice:mark") and finger.is_there("practise")
    stage.unlocked(real.unlock(PROSTHETIST, PINS[PROSTHETIST]))
    fitting = open_fitting(stage.session, "D-1")
    stage.go_fitting(fitting, "person", "body")
    finger.settle()
    assert not finger.is_there("practice:mark") and not finger.is_there("practice:line:")
    assert stage.practising.title == "Stancebook"
    assert "never" not in stage.page.header.unsent


def test_going_into_practice_locks_the_record_of_people_and_one_press_leads_back(locked, finger):
    stage, real = locked
    finger.tap("practise")
    assert stage.session.is_practice and stage.tablet is not real
    finger.tap("practice:leave")
    assert stage.tablet is real and stage.session is None
    assert finger.is_there("person:demo-prosthetist")


def test_a_tablet_left_lying_in_practice_comes_back_to_the_record_of_people(locked, finger, monkeypatch):
    stage, real = locked
    finger.tap("practise")
    monkeypatch.setattr(stage, "_touched", time.monotonic() - 3600)
    stage._lock_when_idle(0)
    finger.settle()
    assert stage.tablet is real and stage.session is None and not finger.is_there("practice:mark")


def test_sending_from_practice_is_refused_on_the_page(locked, finger):
    stage, _ = locked
    finger.tap("practise")
    finger.tap("header:unsent")
    assert "nothing of it is ever sent" in finger.find("practice:never_sent").text
    assert not finger.is_there("main"), "there is nothing to press"
    # Even with a server's address put in by hand there is only the refusal.
    session = stage.session
    access = {"address": "http://127.0.0.1:1", "token": "t", "server": "s", "server_key": "k"}
    session.entries.keep_sync_state(replace(session.entries.sync_state(session.clinic), access=access))
    stage.go_home()
    finger.settle()
    finger.tap("header:unsent")
    finger.tap("main")
    finger.wait_for(lambda: finger.is_there("sync:outcome"), most_s=10, what="the outcome")
    outcome = finger.find("sync:outcome")
    said = " ".join(str(getattr(outcome, name, "")) for name in ("lead", "text"))
    assert "This is practice" in said and "ever sent" in said


def test_practice_goes_on_where_it_was_left(locked, finger):
    stage, _ = locked
    fitting = go_to(stage, "fast", "bench")
    stage.go_fitting(fitting, "bench", "alignment/bench")
    stage.practising.practice.walked()
    finger.tap("practice:leave")
    finger.tap("practise")
    assert (stage.page.fitting, stage.page.slot) == (fitting, "alignment/bench")
    assert dict(stage.practising.practice.report())["walks watched"] == "1"
    assert stage.practising.practice.person.key == "fast"


# The figure -----------------------------------------------------------------------------


def at_the_trial(stage, finger, slot="trial/swing_flexion", step="swing_flexion"):
    fitting = go_to(stage, "even", "stance_threshold")
    stage.go_fitting(fitting, step, slot)
    finger.settle()
    return fitting


def timers(panel):
    """The timers that still move a panel."""
    from kivy.clock import Clock

    return [e for e in Clock.get_events() if getattr(e.get_callback(), "__self__", None) is panel]


def test_a_figure_stops_when_its_page_is_left_and_when_it_is_paused(locked, finger):
    stage, _ = locked
    at_the_trial(stage, finger)
    panel = stage.practising.panel
    # However busy the machine, the walk does not end before it is paused.
    ticks = itertools.count()
    panel.now_s = lambda: next(ticks) / 100
    finger.tap("practice:walk")
    assert panel.walking and timers(panel)
    finger.wait_for(lambda: panel.elapsed_s > 0, what="the first step")
    finger.tap("practice:pause")
    at_s = panel.elapsed_s
    finger.pump(3)
    assert not panel.walking and not timers(panel) and panel.elapsed_s == at_s
    finger.tap("practice:pause")
    assert panel.walking and timers(panel)
    stage.go_home()
    assert not panel.walking and not timers(panel)


def test_a_figure_that_went_off_the_screen_stops_by_itself(locked, finger):
    stage, _ = locked
    at_the_trial(stage, finger)
    panel = stage.practising.panel
    finger.tap("practice:walk")
    panel.parent.remove_widget(panel)
    finger.pump(5)
    panel._frame(0)
    assert not panel.walking and not timers(panel)


def test_what_is_seen_is_not_said_and_being_shown_it_counts_as_help(locked, finger):
    stage, _ = locked
    at_the_trial(stage, finger)
    panel, practice = stage.practising.panel, stage.practising.practice
    there = practice.there("trial/swing_flexion")
    assert [one.finding for one in there] == ["heel_rise_too_high"] and not there[0].is_said
    finger.tap("practice:walk")
    panel.advance(panel.walk.lasts_s, time.monotonic())
    said = " ".join(lead + text for lead, text in panel.lines)
    assert "The person says: it feels as it should" in said and "heel" not in said
    assert dict(practice.report())["times shown"] == "0"
    finger.tap("practice:show")
    said = " ".join(lead + text for lead, text in panel.lines)
    assert "heel rises too high" in said and "°" in said and words_of.SHOWN_ALREADY in said
    assert dict(practice.report())["times shown"] == "1"
    assert any(getattr(shape, "dashed", False) for shape in panel.view.scene.shapes)


def saved_trial(stage, findings, outcome, slot="trial/swing_flexion", **more):
    """Record a trial as the page does, and return what is said after it."""
    from mobile.flows.forms import SlotForm

    session, fitting = stage.session, stage.practising.practice.fitting
    form = SlotForm(session, fitting, slot)
    typed = {"stands_by": "Bo Helper", "aid": "none", "pain_0_10": "1", "findings": findings, "outcome": outcome, **more}
    body = {**{f.key: form.typed[f.key] for f in form.fields if f.key in form.typed}, **typed}
    stage.saved(session.save(form.kind.key, session.fitting(fitting).subject, body))
    return " ".join(text for _, text in stage.practising.panel.lines)


def seen(finding, grade):
    return {"finding": finding, "grade": grade, "perceived": "seen"}


def test_after_recording_it_is_said_kindly_what_the_leg_showed(locked, finger):
    stage, _ = locked
    at_the_trial(stage, finger)
    practice = stage.practising.practice
    grade = practice.there("trial/swing_flexion")[0].grade
    other = {"slight": "marked", "marked": "slight"}[grade]
    assert "Just what the leg showed: heel rises too high" in saved_trial(stage, [seen("heel_rise_too_high", grade)], "change")
    assert "Look once more for this: heel rises too high" in saved_trial(stage, [], "confirmed")
    assert f"the leg showed it {grade}, recorded was {other}" in saved_trial(stage, [seen("heel_rise_too_high", other)], "change")
    assert "did not show that this time" in saved_trial(stage, [seen("heel_rise_too_high", grade), seen("heel_rise_too_low", "slight")], "change")
    report = dict(practice.report())
    assert (report["trials recorded"], report["judged otherwise than the leg showed"]) == ("4", "3")


def test_a_walk_that_should_have_been_stopped_is_said_and_counted(locked, finger):
    from shared_models.entries.envelope import Subject

    stage, _ = locked
    fitting = at_the_trial(stage, finger, "trial/stance_threshold", "stance_threshold")
    stage.session.save("setting", Subject("fitting", fitting), {"function": "stance_threshold", "position": "20", "reason": "trial"})
    practice = stage.practising.practice
    there = practice.there("trial/stance_threshold")
    assert any(one.asks_to_stop for one in there)
    threshold = {"slot": "trial/stance_threshold", "damping_came_in": False, "damping_let_go": True}
    findings = [seen(one.finding, one.grade) for one in there]
    assert "stopped at once" in saved_trial(stage, findings, "change", **threshold)
    assert dict(practice.report())["stops missed"] == "1"
    assert "Stopped rightly" in saved_trial(stage, [], "stopped", stop_reason="stumble", **threshold)
    report = dict(practice.report())
    assert (report["stops missed"], report["judged otherwise than the leg showed"]) == ("1", "0")


# Tapping ----------------------------------------------------------------------------------


def test_taps_are_compared_with_the_feet_of_the_figure():
    beside = TapsBeside([("left", 10.0), ("right", 10.6), ("left", 11.2)], [])
    assert beside.tap_words("left", 10.04) == "left: 40 ms late"
    assert beside.tap_words("right", 10.58) == "right: 20 ms early"
    assert beside.tap_words("right", 12.5) == words_of.TAP_NO_FOOT
    assert beside.mean_words() == "2 taps, on average 10 ms late, scattered by 42 ms"


def test_tapping_along_on_the_timing_page_says_how_far_each_tap_was_off(locked, finger):
    stage, _ = locked
    fitting = at_the_trial(stage, finger)
    stage.go_timing(fitting, "swing_flexion", "trial/swing_flexion")
    finger.settle()
    panel = stage.practising.panel
    assert panel.is_shown and words_of.TAP_LEAD in [text for _, text in panel.lines]
    panel.start()
    panel.stop()
    now_s = time.monotonic()
    panel.advance(panel.walk.period_s, now_s)
    contacts = stage.practising.taps.contacts
    assert [side for side, _ in contacts] == ["left", "right"], "a left prosthesis comes down first"
    stage.page.tapped("left", contacts[0][1] + 0.03)
    assert any("left: 30 ms late" in text for _, text in panel.lines)


def test_each_invented_person_is_what_is_said_of_them():
    from shared_models.calculations.model_leg.people import model_person
    from shared_models.catalogue.sheets import FUNCTIONS, demo_sheet
    from shared_models.rehearsing.practice_people import PEOPLE

    walkers = {p.key: p.walker for p in PEOPLE}
    usual = [model_person(seed) for seed in range(1000, 1040)]
    mean_speed = sum(w.speed_m_s for w in usual) / len(usual)
    mean_mass = sum(w.mass_kg for w in usual) / len(usual)
    assert walkers["fast"].speed_m_s > mean_speed + 0.1 and walkers["short"].speed_m_s < mean_speed - 0.1
    limit = float(demo_sheet("knee_alder")["mass_limit_kg"])
    assert mean_mass + 15 < walkers["heavy"].mass_kg < limit - 4
    wide = {key: sum(w.wanted_window(f)[1] - w.wanted_window(f)[0] for f in FUNCTIONS) for key, w in walkers.items()}
    assert wide["narrow"] == min(wide.values()) and wide["even"] == max(wide.values())
    assert len({p.file_number for p in PEOPLE}) == len(PEOPLE)
    assert all(p.family_name.startswith("Practice-") for p in PEOPLE)


def test_a_practice_person_answers_every_slot_that_a_fitting_asks(locked, finger):
    stage, _ = locked
    fitting = go_to(stage, "short", "bench")
    practice = Practice(stage.session, fitting)
    view = practice.view
    asked = [s for step in view.edition.steps for p in step.asks for s in view.expand(p)]
    silent = [s for s in asked if practice.told(s) is None and not s.startswith("setting/")]
    assert silent in ([], ["identity", "opened"]), silent


def test_an_empty_list_of_practice_has_one_main_button_and_says_to_begin_with_it(locked, window, finger):
    from mobile.widgets.buttons import MainButton

    stage, _ = locked
    stage.practising.enter()
    finger.settle()
    offered = [w.text for w in window.children[0].walk() if isinstance(w, MainButton)]
    assert offered == [words_of.BEGIN]
    assert finger.sees(f"No fitting yet. Begin with '{words_of.BEGIN}'.")
    finger.tap("new_fitting")
    assert finger.is_there("field:family_name")
