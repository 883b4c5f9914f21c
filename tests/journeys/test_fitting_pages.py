"""The pages of a fitting, pressed as a prosthetist would press them."""

from __future__ import annotations

from datetime import timedelta

import pytest

from mobile.device.finding import every, window_box
from shared_models.quantities.moments import now_here
from tests.journeys.at_work import alone
from tests.journeys.tablet_desk import TabletDesk

SIZES = {"landscape": (1280, 800), "portrait": (800, 1280)}


@pytest.fixture
def at_work(tmp_path):
    """A tablet alone, its session, and a desk that records into it."""
    tablet, session = alone(tmp_path / "tablet")
    yield tablet, session, TabletDesk(tablet, session)
    tablet.close()


def show_fitting(on_screen, finger, at_work, step="", slot=""):
    tablet, session, _ = at_work
    stage = on_screen(tablet, session)
    stage.go_fitting("fitting-1", step, slot)
    finger.settle()
    return stage.page


def hands(finger):
    """Hands that type; imported late, because the window must be there first."""
    from mobile.rehearsal.hands import Hands

    return Hands(finger)


def must_fit(window, page) -> None:
    """Nothing is cut off, nothing leaves the sides, every button takes a finger."""
    from kivy.uix.behaviors import ButtonBehavior

    from mobile.device.finger import must_be_large_enough
    from mobile.widgets.surface import Words

    inside_rail = set(every(page.rail)) if page.rail is not None else set()
    for widget in every(page):
        if isinstance(widget, Words) and widget.text:
            wide, high = widget.texture_size
            assert high <= widget.height + 1, f"{widget.text!r} is {high} high in {widget.height}"
            assert wide <= widget.width + 1, f"{widget.text!r} is {wide} wide in {widget.width}"
        if isinstance(widget, ButtonBehavior):
            must_be_large_enough(widget)
        if widget not in inside_rail and widget.width and widget.height:
            left, _, right, _ = window_box(widget)
            assert left >= -1 and right <= window.width + 1, f"{widget} from {left} to {right}"


@pytest.mark.parametrize("type_size", [1.0, 1.5], ids=["usual-type", "largest-type"])
@pytest.mark.parametrize("way_up", SIZES)
def test_every_step_of_a_fitting_fits_the_tablet_either_way_up(at_work, on_screen, finger, window, way_up, type_size):
    from mobile.widgets.theme import theme

    _, session, desk = at_work
    desk.before_the_bench().on_the_bench().tune().close().hand_over()
    theme.font_scale = type_size
    try:
        window.set_size(*SIZES[way_up])
        page = show_fitting(on_screen, finger, at_work, "person")
        for step in [*(s.key for s in page.view.edition.steps), "missing"]:
            page.go(step)
            finger.settle()
            must_fit(window, page)
        for slot in ("alignment/static", "torque_final/foot.front", "trial/stairs", "trial/swing_flexion", "cap/knee.flexion"):
            page.go(page.view.edition.step_of_slot(slot).key, slot)
            finger.settle()
            must_fit(window, page)
    finally:
        theme.font_scale = 1.0


def test_a_typing_error_is_corrected_in_two_taps_and_the_old_figure_stays_readable(at_work, on_screen, finger):
    _, session, desk = at_work
    desk.before_the_bench().on_the_bench()
    page = show_fitting(on_screen, finger, at_work, "person", "body")
    finger.tap("correct")
    hands(finger).enter("body_mass_kg", "85.2")
    finger.tap("save")
    entry = session.fitting("fitting-1").head("body")
    assert (entry.body["body_mass_kg"], entry.because_code) == ("85.2", "mistyped")
    page.go("person", "body")
    finger.settle()
    assert finger.sees("Before: body mass, without prosthesis 82.5 kg")
    assert page.verdict.step("candidacy").state == "stale"


def test_an_unchanged_correction_is_not_saved(at_work, on_screen, finger):
    _, session, desk = at_work
    desk.before_the_bench()
    show_fitting(on_screen, finger, at_work, "person", "body")
    before = session.entries.count()
    finger.tap("correct")
    finger.tap("save")
    assert finger.sees("Nothing differs from what is recorded")
    assert session.entries.count() == before


def test_stairs_that_are_not_cleared_become_a_restriction_with_follow_up(at_work, on_screen, finger):
    _, session, desk = at_work
    desk.before_the_bench().on_the_bench().tune().close().hand_over()
    desk.withdraw(desk.head("trial/stairs"))
    page = show_fitting(on_screen, finger, at_work, "stance_damping", "trial/stairs")
    finger.tap("not_cleared")
    follow_up = (now_here().date() + timedelta(days=28)).isoformat()
    hands(finger).fill({"because": "not_cleared", "follow_up_on": follow_up})
    finger.tap("save")
    # What was handed over has to be said anew: the restriction was not among it.
    states = {s.key: s.state for s in page.verdict.steps if s.state != "met"}
    assert states == {"handover": "stale"}
    desk.hand_over()
    assert session.verdict("fitting-1").state == "complete_with_restriction"
    page.go("missing")
    finger.settle()
    assert finger.sees("Not cleared: stairs.")


def test_a_screw_slackened_after_sign_off_is_said_in_three_taps(at_work, on_screen, finger):
    _, session, desk = at_work
    desk.before_the_bench().on_the_bench().tune().close().hand_over()
    page = show_fitting(on_screen, finger, at_work, "torque")
    finger.tap("screw_moved")
    finger.tap("screw:foot.front")
    hands(finger).fill({"what": "slackened", "why": "foot turned out a little"})
    finger.tap("save")
    states = {s.key: s.state for s in page.verdict.steps}
    assert states["sign_off"] == states["static"] == states["swing_flexion"] == "stale"
    assert states["person"] == states["components"] == states["bench"] == "met"


def test_a_trial_with_something_marked_is_confirmed_only_with_a_reason(at_work, on_screen, finger):
    _, session, desk = at_work
    desk.before_the_bench().on_the_bench()
    desk.stand()
    desk.walk("stance_threshold")
    show_fitting(on_screen, finger, at_work, "swing_flexion")
    finger.tap("seen:heel_rise_too_high=marked")
    hands(finger).fill({"stands_by": "Bo", "aid": "none", "pain_0_10": "0"})
    finger.tap("confirm")
    assert finger.sees("Something is marked.")
    assert not session.fitting("fitting-1").trials("trial/swing_flexion")
    hands(finger).enter("confirmed_although", "person wants it so, tried three settings")
    finger.tap("confirm")
    assert session.verdict("fitting-1").step("swing_flexion").state == "met"


def test_after_a_stop_nothing_else_is_offered_until_it_is_said_what_was_restored(at_work, on_screen, finger):
    _, session, desk = at_work
    desk.before_the_bench().on_the_bench()
    desk.stand()
    desk.walk("stance_threshold")
    show_fitting(on_screen, finger, at_work, "swing_flexion")
    finger.tap("turn_first")
    finger.tap("turn:11")
    finger.tap("stop")
    finger.tap("field:stop_reason=buckling")
    assert finger.is_there("restore:swing_flexion") and not finger.is_there("confirm")
    finger.tap("not_restored")
    assert finger.sees("Say why it is not restored.")
    finger.tap("restored")
    assert finger.sees("Press at each setting once it is put back")
    assert session.fitting("fitting-1").unanswered_stops()
    finger.tap("restore:swing_flexion")
    finger.tap("restored")
    view = session.fitting("fitting-1")
    assert view.settings()["swing_flexion"] == "8" and not view.unanswered_stops()
    assert finger.is_there("confirm")


def test_a_step_larger_than_the_sheet_takes_needs_its_reason(at_work, on_screen, finger):
    from mobile.flows.tuning import Tuning

    _, session, desk = at_work
    desk.before_the_bench().on_the_bench()
    desk.stand()
    desk.walk("stance_threshold")
    tuning = Tuning(session, "fitting-1", "trial/swing_flexion")
    assert tuning.step_trouble(tuning.position + 4) == "too_large"
    assert tuning.step_trouble(tuning.adjuster.highest + 1) == "outside"
    assert tuning.step_trouble(tuning.position + 3) == ""


def test_last_confirmed_settings_are_in_view_on_every_trial_page(at_work, on_screen, finger):
    _, _, desk = at_work
    desk.before_the_bench().on_the_bench().tune()
    page = show_fitting(on_screen, finger, at_work, "person")
    for slot in ("trial/stance_threshold", "trial/swing_flexion", "trial/swing_extension", "trial/ramp", "trial/stairs", "trial/final_walk"):
        page.go(page.view.edition.step_of_slot(slot).key, slot)
        finger.settle()
        strip = finger.find("last_confirmed")
        left, bottom, right, top = window_box(strip)
        assert bottom >= 0 and top <= 800 and right <= 1280
        assert dict(strip.settings)["Stance threshold"] == "1 of 24"
        assert finger.is_there("stop")


def test_hands_claim_to_have_typed_only_what_they_typed(at_work, on_screen, finger):
    from mobile.rehearsal.hands import Hands

    _, _, desk = at_work
    desk.before_the_bench().on_the_bench()
    desk.stand()
    desk.walk("stance_threshold")
    page = show_fitting(on_screen, finger, at_work, "swing_flexion")
    remembered = page.view.trials("trial/stance_threshold")[-1].body["stands_by"]
    said = []
    careful = Hands(finger, lambda key, value: said.append((key, value)))
    # Who stands by is remembered from the trial before: nothing is typed, so no draft holds it.
    careful.fill({"stands_by": remembered, "pain_0_10": "1"})
    assert said == [("pain_0_10", None), ("pain_0_10", "1")]


@pytest.mark.plain_way
def test_the_last_confirmed_settings_never_lie_over_what_stands_above_the_keypad(at_work, on_screen, finger, window):
    _, _, desk = at_work
    desk.before_the_bench().on_the_bench().tune()
    page = show_fitting(on_screen, finger, at_work, "skin_first", "skin/first")
    if finger.is_there("anew"):
        finger.tap("anew")
    strip = finger.find("last_confirmed")
    assert strip.parent is page.side
    # As much lower as the band and the words of practice make it.
    window.set_size(1280, 660)
    finger.pump(6)
    assert page.side.minimum_height <= page.side.height + 1
    assert strip.parent is not page.side
    _, low, _, high = window_box(strip)
    assert 0 <= low and high <= window_box(page.side)[1] + 1, "at the foot, beneath the keypad"
    window.set_size(1280, 800)
    finger.pump(6)
    assert strip.parent is page.side, "back where the eye looks for it"


def test_before_the_decision_the_page_names_the_weakest_part_and_what_is_left(at_work, on_screen, finger):
    _, _, desk = at_work
    desk.before_the_bench()
    show_fitting(on_screen, finger, at_work, "candidacy", "candidacy")
    assert finger.sees("Weakest member: Alder demo knee (invented), limit 118 kg.")
    assert finger.sees("29.5 kg are left; every other part leaves as much or more.")
