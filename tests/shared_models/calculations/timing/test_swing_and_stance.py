"""Swing and stance: which final contact belongs to which initial one."""

from __future__ import annotations

import pytest

from shared_models.calculations.timing.contacts import Contact
from shared_models.calculations.timing.figures import THUMB_TAPS
from shared_models.calculations.timing.walk import walk_figures
from tests.shared_models.calculations.timing.walks import even_walk

WALK = even_walk(20, 0.6, 0.6)
#: Each foot leaves the floor 0.75 s after it landed, so swing lasts 0.45 s.
LEAVING = [Contact(c.side, c.time_s + 0.75) for c in WALK[:-2]]


def figures(finals, walk=WALK, **more):
    return walk_figures(walk, finals=finals, basis=THUMB_TAPS, **more)


def found(made, quantity, side="both"):
    return made.all.spreads[quantity][side]


def test_stance_ends_and_swing_begins_with_the_final_contact():
    made = figures(LEAVING)
    assert (found(made, "stance_time_s").n, found(made, "swing_time_s").n) == (19, 19)
    assert found(made, "stance_time_s", "left").mean == pytest.approx(0.75)
    assert found(made, "swing_time_s", "right").longest == pytest.approx(0.45)


def test_stance_and_swing_of_a_side_make_up_its_strides():
    made = figures(LEAVING)
    both = found(made, "stance_time_s").mean + found(made, "swing_time_s").mean
    assert both == pytest.approx(found(made, "stride_time_s").mean)


def test_a_foot_that_leaves_twice_without_landing_has_one_stance_and_one_swing():
    """Between two final contacts the landing is missing: the first ends the stance, the second begins the swing."""
    late = Contact("left", LEAVING[4].time_s + 0.2)
    finals = sorted([*LEAVING, late], key=lambda c: c.time_s)
    made = figures(finals)
    assert found(made, "stance_time_s").n == 19 and found(made, "stance_time_s").longest == pytest.approx(0.75)
    assert found(made, "swing_time_s").n == 19 and found(made, "swing_time_s").shortest == pytest.approx(0.25)


def test_around_a_landing_without_a_time_what_is_known_is_still_counted():
    """Landed at 4, left, landed (no time), left, landed at 8: only two intervals are not known."""
    walk = [*WALK]
    walk[6] = Contact("left", None)
    made = figures(LEAVING, walk)
    for quantity, longest in (("stance_time_s", 0.75), ("swing_time_s", 0.45)):
        assert found(made, quantity, "left").n == 10 - 1
        assert found(made, quantity, "left").longest == pytest.approx(longest)


@pytest.mark.parametrize("missing", [4, 6])
def test_with_a_landing_and_a_leaving_unknown_no_stance_and_no_swing_is_guessed(missing):
    walk = [*WALK]
    walk[6] = Contact("left", None)
    finals = [c for at, c in enumerate(LEAVING) if at != missing]
    made = figures(finals, walk)
    for quantity, longest in (("stance_time_s", 0.75), ("swing_time_s", 0.45)):
        assert found(made, quantity, "left").n == 10 - 2
        assert found(made, quantity, "left").longest == pytest.approx(longest)


def test_swing_and_stance_of_a_starting_or_stopping_stride_are_not_steady():
    finals = [Contact("left", 0.9), *LEAVING, *(Contact(c.side, c.time_s + 0.75) for c in WALK[-2:])]
    made = figures(finals)
    whys = {(e.interval.quantity, e.interval.start, e.interval.end): e.why for e in made.left_out}
    # A swing that ends at the very first contact, a stance that begins at the last.
    assert whys["swing_time_s", -1, 0] == "start"
    assert whys["stance_time_s", 20, -len(finals)] == "stop"
    assert made.steady.spreads["swing_time_s"]["both"].n == found(made, "swing_time_s").n - sum(
        e.interval.quantity == "swing_time_s" for e in made.left_out)
