"""Which trials of a fitting still count for the next step of an adjuster."""

from __future__ import annotations

from decimal import Decimal

import pytest

from shared_models.calculations.tuning import suggest
from shared_models.checks.stopping import to_restore
from shared_models.checks.tuning_course import course_of, findings_in
from tests.fitting_desk import Desk

RISE = [{"finding": "heel_rise_too_high", "grade": "slight", "perceived": "seen"}]
MISSING = [{"finding": "no_damping_when_loaded", "grade": "marked", "perceived": "felt"}]


@pytest.fixture
def desk() -> Desk:
    """A fitting aligned, with a threshold trial and three swing flexion trials walked."""
    found = Desk().staff().before_the_bench().on_the_bench()
    found.stand()
    found.turn("stance_threshold", "1")
    found.walk("stance_threshold")
    for position in ("8", "11", "14"):
        found.turn("swing_flexion", position)
        found.walk("swing_flexion", "change", findings=RISE)
    return found


def places(desk: Desk, function: str = "swing_flexion") -> list[int]:
    return [int(t.position) for t in course_of(desk.view, function)]


def test_every_position_walked_counts_wherever_the_adjuster_stands_now(desk):
    assert places(desk) == [8, 11, 14]
    desk.turn("swing_flexion", "12")
    assert places(desk) == [8, 11, 14]


@pytest.mark.parametrize("changed", [
    lambda d: d.stand("31"),
    lambda d: d.note("footwear", {"shoe_heel_height_mm": "25", "shoe": "boot"}),
    lambda d: d.note("screw_moved", {"screw": "knee.top_front", "what": "slackened"}),
    lambda d: d.component("knee", d.record.entries[d.head("component/knee").body["sheet_digest"]]),
], ids=["aligned anew", "another shoe", "a screw slackened", "another knee"])
def test_a_changed_leg_takes_the_ground_from_what_was_found_before(desk, changed):
    changed(desk)
    assert places(desk) == []


def test_correcting_a_mistyped_position_moves_the_evidence_with_it(desk):
    wrong = desk.head("setting/swing_flexion")
    desk.correct(wrong, position="13")
    assert places(desk) == [8, 11, 13]


def test_a_withdrawn_trial_says_nothing(desk):
    desk.withdraw(desk.head("trial/swing_flexion"))
    assert places(desk) == [8, 11]


def test_trials_before_the_threshold_was_turned_count_for_less(desk):
    desk.turn("stance_threshold", "2")
    desk.walk("stance_threshold")
    desk.walk("swing_flexion", "change", findings=RISE)
    assert [t.disturbed for t in course_of(desk.view, "swing_flexion")] == [True, True, True, False]


def test_a_threshold_turned_does_not_weaken_what_is_known_of_the_threshold(desk):
    desk.turn("stance_threshold", "2")
    assert [t.disturbed for t in course_of(desk.view, "stance_threshold")] == [False]


def test_hands_on_the_bars_are_provisional_and_a_stop_for_buckling_says_that_it_gave_way(desk):
    desk.walk("stance_threshold", "change", aid="bars")
    desk.walk("stance_threshold", "stopped", stop_reason="buckling")
    assert [(t.provisional, t.gave_way) for t in course_of(desk.view, "stance_threshold")] == [
        (False, False), (True, False), (False, True),
    ]


def test_missing_damping_bars_a_threshold_through_restoring_and_confirming_until_the_leg_changes(desk):
    desk.turn("stance_threshold", "2")
    desk.walk("stance_threshold", "change", findings=MISSING, damping_came_in=False)
    desk.turn("stance_threshold", "1", "restored")
    desk.walk("stance_threshold")
    assert barred(desk) == 2
    desk.stand("33")
    desk.walk("stance_threshold")
    assert barred(desk) is None


def test_damping_missing_on_the_way_down_bars_the_threshold_it_was_walked_with(desk):
    desk.turn("stance_threshold", "3")
    desk.walk("stance_threshold")
    desk.walk("ramp", "change", damping_came_in=False)
    assert barred(desk) == 3


def barred(desk: Desk):
    view, own = desk.view, desk.view.adjuster("stance_threshold")
    position = Decimal(view.settings()["stance_threshold"])
    found = suggest(own, position, course_of(view, "stance_threshold"), view.edition.findings_of("stance_threshold"), None)
    return found.missing_from


def test_ramp_low_steps_and_stairs_make_one_course_of_the_damping(desk):
    for ground in ("ramp", "low_steps", "stairs"):
        desk.walk(ground)
    assert places(desk, "stance_damping") == [8, 8, 8]


def test_an_answer_of_the_form_counts_as_the_finding_it_stands_for():
    assert findings_in({"descent": "drops", "findings": []}) == [
        {"finding": "drops_on_descent", "grade": "slight", "perceived": "seen"},
    ]
    marked = [{"finding": "drops_on_descent", "grade": "marked", "perceived": "felt"}]
    assert findings_in({"descent": "drops", "sound_side_landing": "hard", "findings": marked}) == marked
    assert findings_in({"findings": "unreadable"}) == []


def test_after_a_stop_the_threshold_is_never_put_back_to_where_damping_was_missing(desk):
    desk.turn("stance_threshold", "2")
    desk.walk("stance_threshold")
    assert "stance_threshold" not in to_restore(desk.view)
    # On the ramp it does not come in, though the threshold was confirmed there.
    desk.walk("ramp", "stopped", damping_came_in=False, stop_reason="buckling")
    assert to_restore(desk.view)["stance_threshold"] == ("2", "1")
    # Somebody turns it on for another reason: still not to 2.
    desk.turn("stance_threshold", "3")
    assert to_restore(desk.view)["stance_threshold"] == ("3", "1")
