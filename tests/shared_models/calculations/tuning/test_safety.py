"""What the guidance never does, whatever was found, on whatever adjuster."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared_models.calculations.tuning import Tried, positions, suggest, turn_direction
from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.quantities.refusals import Refusal
from tests.shared_models.calculations.tuning.making import LOW_HIGH, adjuster, known, tried

GRADES = ["none", "slight", "marked"]
#: Counted in clicks, in quarter turns, in marks that do not start at 0, finely, coarsely.
SHEETS = [
    {"unit": "clicks", "lowest": "0", "highest": "24", "smallest_step": "1", "largest_step": "3"},
    {"unit": "turns", "lowest": "0", "highest": "4.5", "smallest_step": "0.25", "largest_step": "0.75"},
    {"unit": "marks", "lowest": "1", "highest": "9", "smallest_step": "0.5", "largest_step": "1.25"},
    {"unit": "clicks", "lowest": "0", "highest": "200", "smallest_step": "1", "largest_step": "20"},
    {"unit": "turns", "lowest": "2", "highest": "3", "smallest_step": "0.5", "largest_step": "0.5"},
]


@st.composite
def _adjusters(draw):
    function, sheet = draw(st.sampled_from(FUNCTIONS)), dict(draw(st.sampled_from(SHEETS)))
    if function.startswith("stance"):
        sheet["largest_step"] = sheet["smallest_step"]
    places = positions(adjuster(function, **sheet, start=sheet["lowest"]))
    start = draw(st.sampled_from(places))
    clockwise = draw(st.sampled_from(["more", "less"]))
    return adjuster(function, **sheet, start=str(start), clockwise=clockwise)


@st.composite
def _trials(draw, function: str, position: Decimal):
    low, high = draw(st.sampled_from(GRADES)), draw(st.sampled_from(GRADES))
    return tried(
        function, str(position), low, high if draw(st.integers(0, 3)) == 0 or low == "none" else "none",
        perceived=draw(st.sampled_from(["seen", "felt", "heard"])),
        provisional=draw(st.booleans()), disturbed=draw(st.booleans()),
        outcome=draw(st.sampled_from(["change", "confirmed", "stopped"])),
    )


@settings(deadline=None, max_examples=150)
@given(st.data())
def test_no_course_of_trials_leads_off_the_range_above_the_largest_step_or_off_the_grid(data):
    own = data.draw(_adjusters())
    grid, at = set(positions(own)), own.start
    course, missing = [], []
    for _ in range(data.draw(st.integers(1, 7))):
        course.append(data.draw(_trials(own.function, at)))
        if own.function == "stance_threshold" and not course[-1].damping_came_in:
            if not (course[-1].provisional and at == own.lowest):
                missing.append(at)
        found = suggest(own, at, course, known(own.function), None)
        if found.position is None:
            break
        assert found.position in grid
        if found.action == "turn":
            assert 0 < abs(found.position - at) <= own.largest_step
        if own.function.startswith("stance") and found.action == "turn":
            assert abs(found.position - at) == own.smallest_step
        if own.function == "stance_threshold" and found.action == "turn":
            assert found.position > at, "the threshold comes from below"
        if missing:
            assert found.position < min(missing)
        if found.action == "confirm":
            assert not course[-1].provisional and course[-1].outcome != "stopped"
            assert all(i["grade"] == "none" for i in course[-1].findings)
        # Whoever turns may also choose another position: it is evidence like any other.
        at = found.position if data.draw(st.booleans()) else data.draw(st.sampled_from(sorted(grid)))


@given(st.lists(st.sampled_from(GRADES), min_size=1, max_size=6), st.integers(1, 24), st.integers(0, 24))
@settings(deadline=None, max_examples=60)
def test_a_threshold_without_damping_is_never_suggested_again_whatever_was_confirmed(grades, gone, confirmed):
    own = adjuster("stance_threshold")
    course = [tried("stance_threshold", str(gone), high="slight")]
    at = suggest(own, Decimal(gone), course, known(own.function), Decimal(confirmed)).position
    for grade in grades:
        assert at is None or at < gone
        if at is None:
            return
        course.append(tried("stance_threshold", str(at), low=grade, outcome="confirmed" if grade == "none" else "change"))
        at = suggest(own, at, course, known(own.function), Decimal(confirmed)).position


def test_missing_damping_restores_the_last_confirmed_position_at_once():
    own = adjuster("stance_threshold")
    course = [tried("stance_threshold", str(k), low="slight") for k in range(5)] + [tried("stance_threshold", "5", high="slight")]
    found = suggest(own, Decimal(5), course, known(own.function), Decimal(2))
    assert (found.action, found.position, found.missing_from) == ("restore", Decimal(2), Decimal(5))


def test_without_a_confirmed_position_it_goes_back_to_where_damping_last_came_in():
    own = adjuster("stance_threshold")
    course = [tried("stance_threshold", str(k), low="slight") for k in range(5)] + [tried("stance_threshold", "5", high="marked")]
    found = suggest(own, Decimal(5), course, known(own.function), None)
    assert (found.action, found.position) == ("restore", Decimal(4))


def test_the_knee_giving_way_restores_as_missing_damping_does():
    own = adjuster("stance_threshold")
    course = [tried("stance_threshold", "2"), Tried(Decimal(3), outcome="stopped", gave_way=True)]
    found = suggest(own, Decimal(3), course, known(own.function), Decimal(2))
    assert (found.action, found.position) == ("restore", Decimal(2))


def test_with_too_low_below_and_damping_missing_above_no_threshold_is_left():
    own = adjuster("stance_threshold")
    course = [tried("stance_threshold", "7", low="marked"), tried("stance_threshold", "8", high="marked")]
    course += [tried("stance_threshold", "7", low="marked")] * 2
    found = suggest(own, Decimal(7), course, known(own.function), None)
    assert (found.action, found.position) == ("closed", None)


def test_a_drop_asks_first_whether_damping_came_in_at_all():
    own = adjuster("stance_damping")
    asked = suggest(own, Decimal(8), [tried("stance_damping", "8", low="marked", damping_came_in=None)], known(own.function), None)
    came = suggest(own, Decimal(8), [tried("stance_damping", "8", low="marked", damping_came_in=True)], known(own.function), None)
    gone = suggest(own, Decimal(8), [tried("stance_damping", "8", low="marked", damping_came_in=False)], known(own.function), None)
    assert asked.action == "ask"
    assert (came.action, came.position) == ("turn", Decimal(9))
    assert gone.action == "threshold", "more damping can't help where none comes in"


def test_what_is_found_with_hands_on_the_bars_confirms_nothing():
    own = adjuster("swing_flexion")
    free = [tried("swing_flexion", "10")] * 3
    held = [*free[:2], tried("swing_flexion", "10", provisional=True)]
    assert suggest(own, Decimal(10), free, known(own.function), None).action == "confirm"
    assert suggest(own, Decimal(10), held, known(own.function), None).action != "confirm"


def test_too_much_and_too_little_in_one_trial_is_no_average():
    own = adjuster("swing_flexion")
    found = suggest(own, Decimal(10), [tried("swing_flexion", "10", low="slight", high="slight")], known(own.function), None)
    assert (found.action, found.position) == ("contradiction", None)


@pytest.mark.parametrize(("start", "low", "high"), [("20", "marked", "none"), ("0", "none", "marked")])
def test_at_the_end_of_the_range_it_says_so(start, low, high):
    own = adjuster("swing_flexion")
    course = [tried("swing_flexion", start, low=low, high=high)] * 3
    assert suggest(own, Decimal(start), course, known(own.function), None).action == "end_of_range"


@pytest.mark.parametrize("clockwise", ["more", "less"])
@pytest.mark.parametrize("function", sorted(LOW_HIGH))
def test_the_direction_is_said_by_the_sheets_own_sense(function, clockwise):
    own = adjuster(function, clockwise=clockwise)
    more = "clockwise" if clockwise == "more" else "anticlockwise"
    assert turn_direction(own, Decimal(3), Decimal(4)) == more
    assert turn_direction(own, Decimal(4), Decimal(3)) != more
    assert turn_direction(own, Decimal(4), Decimal(4)) == ""


@pytest.mark.parametrize("position", ["-1", "21", "NaN", "Infinity"])
def test_a_position_that_the_adjuster_does_not_have_is_refused_by_name(position):
    with pytest.raises(Refusal) as refused:
        suggest(adjuster("swing_flexion"), Decimal(position), [], (), None)
    assert refused.value.code == "tuning_position_outside"
    assert refused.value.figures["adjuster"] == "Flexion valve"


def test_the_same_range_counted_otherwise_is_tuned_alike():
    """20 marks, or 5 turns in quarters: the same places are suggested."""
    marks = adjuster("swing_flexion")
    turns = adjuster("swing_flexion", unit="turns", lowest="0", highest="5", start="2", smallest_step="0.25", largest_step="0.75")
    course = [("8", "marked", "none"), ("11", "slight", "none"), ("13", "none", "slight")]
    for upto in (1, 2, 3):
        own = [tried("swing_flexion", p, lo, hi) for p, lo, hi in course[:upto]]
        scaled = [tried("swing_flexion", str(Decimal(p) / 4), lo, hi) for p, lo, hi in course[:upto]]
        there = suggest(marks, Decimal(course[upto - 1][0]), own, known("swing_flexion"), None)
        here = suggest(turns, Decimal(course[upto - 1][0]) / 4, scaled, known("swing_flexion"), None)
        assert here.position * 4 == there.position


@pytest.mark.parametrize("function", ["swing_flexion", "swing_extension", "stance_damping"])
@pytest.mark.parametrize("side, way", [(0, 1), (1, -1)])
@pytest.mark.parametrize("right_before", [0, 2, 5])
def test_what_was_found_twice_at_a_position_is_not_walked_there_a_third_time(function, side, way, right_before):
    """Seen, though the person felt nothing and nothing was heard: walking there again would be answered as before."""
    own, key = adjuster(function), LOW_HIGH[function][side]
    found = tuple({"finding": key, "grade": "slight" if w == "seen" else "none", "perceived": w} for w in ("seen", "felt", "heard"))
    for position in range(1, 16):
        here = Decimal(position)
        course = [tried(function, str(position))] * right_before + [Tried(here, found, damping_came_in=True)] * 2
        next_step = suggest(own, here, course, known(function), None)
        assert next_step.action == "turn" and (next_step.position - here) * way > 0
