"""What a timing says beside its trial, and that it never stands in the way of a fitting."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared_models.calculations.timing.contacts import Contact
from shared_models.checks.bodies import body_troubles
from shared_models.checks.contacts_text import CONTACTS, contacts_from, contacts_text, landings_in
from shared_models.checks.walk_timing import figures_of, timed_trial, timings_of
from shared_models.quantities.refusals import Refusal
from shared_models.wording.sentences import place_words, sentence_of
from shared_models.wording.timing_lines import brief_words, jitter_words, shift_words, timing_lines
from tests.fitting_desk import Desk

times = st.one_of(st.none(), st.floats(0, 86_400).map(lambda s: round(s, 6)))
rows = st.lists(st.tuples(st.sampled_from(("left", "right")), times), max_size=60)


def even(count, step_s=0.6, longer_right_s=0.0, first="left"):
    """Return the text of an even walk; steps onto the right foot may take longer."""
    at_s, found, side = 0.0, [], first
    for number in range(count):
        at_s += 0 if not number else step_s + (longer_right_s if side == "right" else -longer_right_s)
        found.append(Contact(side, round(at_s, 3)))
        side = "left" if side == "right" else "right"
    return contacts_text(found)


def body(trial, text, name="one", **more):
    return {
        "timing": name, "trial": trial.digest, "way": "level", "instrument": "thumb taps on the tablet",
        "event": "foot first touches the floor", "contacts": text, **more,
    }


@pytest.fixture
def desk():
    return Desk.finished()


@given(rows, st.sets(st.integers(0, 59)))
@settings(max_examples=60, deadline=None)
def test_contacts_come_back_from_their_text_as_they_were(row, marked):
    contacts = tuple(Contact(side, time_s) for side, time_s in row)
    landings = tuple(sorted(at for at in marked if at < len(contacts)))
    text = contacts_text(contacts, landings)
    assert contacts_from(text) == contacts and landings_in(text) == landings
    assert not text or CONTACTS.fullmatch(text)


@pytest.mark.parametrize("text", ["left", "left -1", "middle 1", "left 1,right 2", "left 1e3", "left nan", "left 1 ", 5, ["left 1"]])
def test_a_text_that_is_no_row_of_contacts_is_refused(text):
    with pytest.raises(Refusal, match="contacts_text_unreadable"):
        contacts_from(text)


def test_a_timing_makes_no_complete_fitting_incomplete_however_odd_it_is(desk):
    before = desk.verdict()
    trial = desk.head("trial/swing_flexion")
    steps = even(12).split(", ")
    doubled = [*steps[:6], "right 3.05", *steps[6:]]
    desk.note("walk_timing", body(trial, ", ".join(doubled)))
    desk.note("walk_timing", body(trial, "left 3, right 1", "two"))
    desk.note("walk_timing", body(trial, "no contacts at all", "three"))
    desk.note("walk_timing", {"timing": "four"})
    verdict = desk.verdict()
    assert (verdict.state, [s.state for s in verdict.steps]) == (before.state, [s.state for s in before.steps])
    step = verdict.step("swing_flexion")
    said = [sentence_of(remark, desk.view) for remark in step.remarks]
    assert any("perhaps doubled taps, 1" in each for each in said)
    assert any("can't be read" in each for each in said)
    assert not any(remark.blocks for remark in step.remarks)


def test_a_timing_follows_its_trial_through_corrections_and_goes_with_it(desk):
    trial = desk.head("trial/swing_flexion")
    timing = desk.note("walk_timing", body(trial, even(14)))
    corrected = desk.correct(trial, note="walked twice")
    assert [t.digest for t in timings_of(desk.view, corrected)] == [timing.digest]
    desk.withdraw(corrected)
    assert timed_trial(desk.view, timing).trial.digest == trial.digest, "the correction was taken back"
    final = desk.head("trial/final_walk")
    other = desk.note("walk_timing", body(final, even(14), "two"))
    desk.withdraw(final)
    assert timed_trial(desk.view, other).trial is None
    desk.withdraw(timing)
    assert desk.view.head("timing/one") is None


def test_a_corrected_distance_gives_another_speed_and_the_old_one_stays_readable(desk):
    timing = desk.note("walk_timing", body(desk.head("trial/final_walk"), even(14), distance_m="1"))
    newest = desk.correct(timing, distance_m="10")
    assert timed_trial(desk.view, newest).figures.whole["speed_m_per_s"].value == pytest.approx(10 / 7.8)
    assert [e.body["distance_m"] for e in desk.view.slot("timing/one").versions(newest)] == ["1", "10"]


def test_the_place_of_a_timing_is_named_by_its_kind_and_not_by_an_id(desk):
    assert place_words("timing/0192f0c3", desk.view) == "Timing of a walk"


def test_figures_are_named_by_prosthesis_and_sound_side_wherever_the_prosthesis_is():
    text = even(24, longer_right_s=0.2)
    left, right = figures_of({"contacts": text}, "left"), figures_of({"contacts": text}, "right")
    # Robinson 1987: (X_R - X_L) / (0.5 (X_R + X_L)) * 100, here 0.8 s right and 0.4 s left.
    assert right.symmetry.value == pytest.approx(200 * 0.4 / 1.2)
    assert left.symmetry.value == pytest.approx(-right.symmetry.value)
    assert "longer on the right, sound side" in " ".join(line.says for line in timing_lines(left))
    assert "longer on the right, prosthesis" in " ".join(line.says for line in timing_lines(right))


def test_a_short_walk_says_what_is_still_missing_and_shows_nothing_before():
    figures = figures_of({"contacts": even(5)}, "left")
    assert brief_words(figures) == "No figure is worth showing yet: 0 intervals; from 4 on it is worth showing."
    assert not any(line.shown or line.value for line in timing_lines(figures))


def test_taps_of_fifty_milliseconds_leave_eleven_points_over_nine_intervals():
    # 14 even contacts of 0.6 s: 13 steps, two left out at either end, 9 steady ones. Carried through by
    # hand: each contact inside weighs 1/4 + 1/5 in the difference of the means, those at the ends less.
    figures = figures_of({"contacts": even(14)}, "left")
    assert figures.symmetry.n == 9
    inner, first, last = 1 / 4 + 1 / 5, 1 / 5, 1 / 5
    by_hand = 100 * 0.05 / 0.6 * (8 * inner ** 2 + first ** 2 + last ** 2) ** 0.5
    assert figures.symmetry.u_taps == pytest.approx(by_hand, rel=1e-6)
    assert 10 < figures.symmetry.u_taps < 12
    assert "leaves about 21 points, either way (95 %)" in jitter_words(figures)


def test_walks_of_two_instruments_are_not_compared(desk):
    desk.note("walk_timing", body(desk.head("trial/swing_flexion"), even(24, longer_right_s=0.2)))
    other = desk.note("walk_timing", body(desk.head("trial/final_walk"), even(24), "two", instrument="insoles"))
    assert timed_trial(desk.view, other).former is None
    same = desk.note("walk_timing", body(desk.head("trial/final_walk"), even(24), "three"))
    timed = timed_trial(desk.view, same)
    assert timed.former.body["timing"] == "one"
    assert any("changed since" in each for each in shift_words(timed.figures, timed.shifts, "before"))


def test_stairs_are_compared_with_stairs_only_and_landings_are_left_out(desk):
    ramp = desk.note("walk_timing", body(desk.head("trial/ramp"), even(12), "ramp", way="down"))
    stairs = desk.note("walk_timing", body(desk.head("trial/stairs"), even(6, 0.9), "stairs", way="down"))
    assert timed_trial(desk.view, stairs).former is None and ramp
    figures = timed_trial(desk.view, stairs).figures
    assert figures.pattern == "step_over_step" and figures.time_per_tread_s == pytest.approx(0.9)
    marked = even(12).replace("right 3,", "right 3 landing,")
    on_landing = figures_of({"contacts": marked, "way": "down"}, "left")
    assert on_landing.landing_s == pytest.approx((0.6,)) and any(each.why == "landing" for each in on_landing.left_out)


def test_a_timing_has_the_form_that_its_kind_asks(desk):
    sound = desk.note("walk_timing", body(desk.head("trial/final_walk"), even(14), taken_away="left 3.05"))
    assert body_troubles(sound) == []
    odd = desk.note("walk_timing", body(desk.head("trial/final_walk"), "left one", "odd", distance_m="ten"))
    assert set(body_troubles(odd)) == {"contacts", "distance_m"}
