"""Start, stop and turning strides: everything beside steady walking, and how much is enough."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.timing.contacts import Contact
from shared_models.calculations.timing.figures import THUMB_TAPS
from shared_models.calculations.timing.jitter import sd_limits
from shared_models.calculations.timing.spread import spread_of
from shared_models.calculations.timing.walk import walk_figures
from shared_models.wording.timing import because_words
from tests.shared_models.calculations.timing.walks import alternating, even_walk, tapped

SI = "symmetry_index_percent"


def figures(contacts, **more):
    return walk_figures(contacts, basis=THUMB_TAPS, **more)


def timed(steps_s):
    return alternating(1.0 + np.concatenate([[0.0], np.cumsum(steps_s)]))


def test_the_first_and_the_last_stride_are_left_out_of_steady_walking():
    walk = timed([0.9, 0.7, *[0.6] * 20, 0.7, 0.9])
    made = figures(walk)
    assert made.all.spreads["step_time_s"]["both"].n == 24
    steady = made.steady.spreads["step_time_s"]["both"]
    assert (steady.n, steady.shortest, steady.longest) == (20, pytest.approx(0.6), pytest.approx(0.6))
    whys = {(e.interval.start, e.why) for e in made.left_out if e.interval.quantity == "step_time_s"}
    assert whys == {(0, "start"), (1, "start"), (22, "stop"), (23, "stop")}


def test_a_walk_tapped_in_full_stride_loses_nothing():
    made = figures(even_walk(20), from_standing=False, to_standing=False)
    assert made.left_out == () and made.all.figure("step_time_s", SI).worth_showing


@pytest.mark.parametrize("turn_s", [0.9, 1.0, 1.3, 2.5])
def test_a_turn_does_not_move_the_steady_symmetry(turn_s):
    steps = [0.58 if i % 2 == 0 else 0.62 for i in range(40)]
    steps[20] = turn_s
    made = figures(timed(steps))
    true_index = 100 * (0.58 - 0.62) / 0.60
    assert made.steady.figure("step_time_s", SI).value == pytest.approx(true_index)
    assert abs(made.all.figure("step_time_s", SI).value - true_index) > 1.5


def test_around_a_doubled_tap_three_gaps_are_left_out_since_either_tap_may_be_the_true_one():
    walk = even_walk(24)
    walk.insert(11, Contact(walk[10].side, walk[10].time_s + 0.1))
    made = figures(walk)
    doubled = {e.interval.start for e in made.left_out
               if e.why == "doubled" and e.interval.quantity == "contact_interval_s"}
    assert doubled == {9, 10, 11}


def test_the_steady_cadence_lies_within_its_limits_and_is_that_of_the_steady_steps():
    steps = [0.9, 0.8, *[0.58, 0.62] * 12, 0.8, 0.9]
    found = figures(timed(steps)).whole["steady_cadence_steps_per_min"]
    assert found.value == pytest.approx(100.0)
    assert found.low < 100 < found.high and found.low > 85 and found.worth_showing


def test_a_slow_side_is_not_taken_for_a_turn():
    """A prosthesis side half as slow again stays whole: each side has its own usual."""
    made = figures(even_walk(30, left_s=0.9, right_s=0.6), from_standing=False, to_standing=False)
    assert made.left_out == ()


@given(st.integers(0, 2 ** 32 - 1))
def test_of_a_plainly_tapped_even_walk_hardly_anything_is_out_of_line(seed):
    walk = tapped(even_walk(60), 0.05, np.random.default_rng(seed))
    made = figures(walk, from_standing=False, to_standing=False)
    out = sum(e.interval.quantity == "step_time_s" for e in made.left_out)
    assert out <= 3


def test_four_clean_strides_a_side_are_worth_showing_and_three_are_not():
    """Tura et al. 2012: 2.2 and 3.5 strides, once start and stop are taken off."""
    for intervals, worth in ((8, True), (7, False)):
        made = figures(even_walk(intervals), from_standing=False, to_standing=False)
        figure = made.steady.figure("step_time_s", SI)
        assert figure.worth_showing is worth and figure.value is not None
    assert because_words(figure.because) == "3 intervals; from 4 on it is worth showing"


def test_with_start_and_stop_still_in_it_takes_twenty():
    """Tura et al. 2012: 15 and 20 strides with the whole signal kept."""
    short, long = figures(even_walk(30)), figures(even_walk(44))
    assert not short.all.figure("step_time_s", SI).worth_showing
    assert short.steady.figure("step_time_s", SI).worth_showing
    assert long.all.figure("step_time_s", SI).worth_showing


def test_no_variation_is_worth_showing_from_a_ten_metre_walk_but_it_is_there():
    """Order of 100 strides: Riva et al. 2014."""
    made = figures(even_walk(18))
    for statistic in ("sd", "cv_percent"):
        figure = made.all.figure("stride_time_s", "left", statistic)
        assert not figure.worth_showing and figure.value is not None
        assert figure.because.code == "too_few_for_variation"


def long_walk():
    """202 steps of a person who varies by 30 ms, seen exactly."""
    return timed(0.6 + np.random.default_rng(11).normal(0, 0.03, 202))


def test_a_variation_of_100_strides_is_worth_showing_unless_it_is_the_thumbs_own():
    by_camera = figures(long_walk(), jitter_s=0.002).all.figure("stride_time_s", "left", "cv_percent")
    assert by_camera.worth_showing and by_camera.low < by_camera.value < by_camera.high
    by_thumb = figures(tapped(long_walk(), 0.05, np.random.default_rng(12))).all.figure("stride_time_s", "left", "cv_percent")
    assert not by_thumb.worth_showing and by_thumb.value is not None
    assert because_words(by_thumb.because).startswith("the taps' own jitter explains")


def test_the_limits_of_a_variation_hold_the_persons_own_whoever_tapped():
    """A stride of two steps that vary by 30 ms varies by 42 ms; thumbs add 71 ms to that."""
    chance = np.random.default_rng(13)
    held = 0
    for _ in range(60):
        walk = tapped(timed(0.6 + chance.normal(0, 0.03, 120)), 0.05, chance)
        figure = figures(walk, from_standing=False, to_standing=False).all.figure("stride_time_s", "left", "sd")
        held += figure.low <= 0.03 * 2 ** 0.5 <= figure.high
    assert held >= 55


@pytest.mark.parametrize("n", [5, 10, 30, 100])
def test_the_limits_of_a_standard_deviation_are_those_of_chi_square(n):
    exact = [np.sqrt((n - 1) / scipy.stats.chi2.ppf(p, n - 1)) for p in (0.975, 0.025)]
    assert sd_limits(1.0, n, 0.0) == pytest.approx(exact, rel=0.05)


def test_the_coefficient_of_variation_divides_by_n_minus_1():
    """0.56 0.58 0.57 0.60 0.55 s: 3.3628 %; with n it would be 3.0078 %."""
    spread = spread_of([0.56, 0.58, 0.57, 0.60, 0.55])
    assert spread.mean == pytest.approx(0.5720)
    assert spread.sd == pytest.approx(0.019235, abs=5e-7)
    assert spread.cv_percent == pytest.approx(3.3628, abs=5e-5)


@given(
    st.lists(st.floats(0.3, 1.5), min_size=4, max_size=40), st.floats(0, 1e4),
)
def test_starting_the_clock_elsewhere_changes_no_figure(steps_s, later_s):
    walk = timed(steps_s)
    moved = [Contact(c.side, c.time_s + later_s) for c in walk]
    first, second = figures(walk, distance_m=10.0), figures(moved, distance_m=10.0)
    for key, figure in {**first.all.figures, **first.whole}.items():
        other = {**second.all.figures, **second.whole}[key]
        if figure.value is None:
            assert other.value is None
        else:
            assert other.value == pytest.approx(figure.value, rel=1e-7, abs=1e-6), key


@given(st.lists(st.floats(0.3, 1.5), min_size=4, max_size=40))
def test_with_left_and_right_swapped_every_index_turns_its_sign(steps_s):
    walk = timed(steps_s)
    mirrored = [Contact({"left": "right", "right": "left"}[c.side], c.time_s) for c in walk]
    ours, theirs = figures(walk).all, figures(mirrored).all
    for key in (SI, "gait_asymmetry_percent", "symmetry_angle_percent"):
        assert ours.figure("step_time_s", key).value == pytest.approx(-theirs.figure("step_time_s", key).value, abs=1e-9)
    assert ours.spreads["step_time_s"]["left"] == theirs.spreads["step_time_s"]["right"]


@given(st.lists(st.floats(0.3, 1.5), min_size=4, max_size=40))
def test_with_the_prosthesis_left_or_right_the_same_index_turns_its_sign(steps_s):
    walk = timed(steps_s)
    left, right = figures(walk, prosthesis_side="left").all, figures(walk, prosthesis_side="right").all
    key = f"step_time_s.prosthesis_{SI}"
    assert left.figures[key].value == pytest.approx(-right.figures[key].value, abs=1e-9)
    assert right.figures[key].value == right.figure("step_time_s", SI).value


def test_every_figure_says_its_instrument_event_and_formula():
    made = figures(even_walk(20), distance_m=10.0)
    for figure in [*made.all.figures.values(), *made.steady.figures.values(), *made.whole.values()]:
        assert figure.basis == THUMB_TAPS and figure.formula
