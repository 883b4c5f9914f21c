"""Which screw comes next, and when its compound may be left alone or loaded."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.torque import Place, crosswise, cure_of, skipped_before
from shared_models.quantities.refusals import Refusal

FOUR = (Place("front", opposes="back"), Place("left", opposes="right"), Place("back"), Place("right"))
NUMBERED = (Place("a", 2), Place("b", 1), Place("c", 3))


def broken(screws, sequence) -> bool:
    """Whether any screw of a sequence comes before one that should precede it."""
    return any(skipped_before(screws, key, sequence[:i]) for i, key in enumerate(sequence))


def test_four_opposing_screws_are_tightened_crosswise():
    """Common practice for set screws of a pyramid."""
    assert crosswise(FOUR) == ("front", "back", "left", "right")
    assert crosswise(FOUR, first="right") == ("right", "left", "front", "back")


def test_the_sheets_own_order_wins_over_what_lies_opposite():
    assert crosswise(NUMBERED) == ("b", "a", "c")
    assert crosswise((Place("a", 2, "b"), Place("b", 1, "a"))) == ("b", "a")


def test_without_order_and_without_opposites_no_order_is_made_up():
    assert crosswise((Place("a"), Place("b"))) == ()
    assert not broken((Place("a"), Place("b")), ("b", "a"))


def test_of_all_sequences_of_four_exactly_those_by_pairs_are_in_order():
    """Counted by hand: 4 to begin with, then its opposite, then 2 ways: 8 of 24."""
    right = [s for s in permutations(k.key for k in FOUR) if not broken(FOUR, s)]
    assert len(right) == 8
    assert all({s[0], s[1]} in ({"front", "back"}, {"left", "right"}) for s in right)


@given(st.sampled_from([s.key for s in FOUR]))
def test_the_order_that_is_suggested_is_never_out_of_order(first):
    assert not broken(FOUR, crosswise(FOUR, first))
    assert not broken(NUMBERED, crosswise(NUMBERED, first))


def test_a_skipped_screw_is_named():
    assert skipped_before(FOUR, "left", ("front",)) == ("back",)
    assert skipped_before(NUMBERED, "c", ("b",)) == ("a",)
    assert skipped_before(NUMBERED, "unknown", ()) == ()


# Locking compound ------------------------------------------------------------------


def test_a_compound_sets_before_it_cures():
    stages = [cure_of(m, 10, 30) for m in (0, "9.9", 10, "29.9", 30)]
    assert [(s.is_set, s.is_cured) for s in stages] == [
        (False, False), (False, False), (True, False), (True, False), (True, True),
    ]


def test_without_a_figure_of_the_sheet_nothing_is_made_up():
    assert cure_of(5, None, None) == cure_of(5000, None, None)
    unknown = cure_of(5, None, None)
    assert (unknown.is_set, unknown.is_cured, unknown.minutes_left) == (None, None, None)
    assert cure_of(5, None, 30).is_set is None
    assert cure_of(30, None, 30).is_set is True, "what has cured has set"


@given(minutes=st.integers(0, 5000), sets=st.integers(1, 60), more=st.integers(0, 2000))
def test_time_left_and_cured_agree(minutes, sets, more):
    cure = cure_of(minutes, sets, sets + more)
    assert cure.is_cured == (cure.minutes_left == 0)
    assert cure.minutes_left == max(sets + more - minutes, 0)
    assert cure.is_set or not cure.is_cured


@pytest.mark.parametrize(("figures", "code"), [
    ((-1, 10, 30), "minutes_below_zero"), ((5, 0, 30), "torque_not_above_zero"), ((5, 10, float("nan")), "torque_figure_impossible"),
])
def test_times_that_cannot_be_are_refused(figures, code):
    with pytest.raises(Refusal) as refused:
        cure_of(*figures)
    assert refused.value.code == code
