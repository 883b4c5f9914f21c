"""How much a tapper's jitter leaves in a figure: derived, and simulated."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from shared_models.calculations.timing.blocks import block_of
from shared_models.calculations.timing.figures import THUMB_TAPS
from shared_models.calculations.timing.indices import INDICES
from shared_models.calculations.timing.intervals import steps
from shared_models.calculations.timing.jitter import index_from_taps, student_975
from shared_models.calculations.timing.walk import walk_figures
from tests.shared_models.calculations.timing.walks import alternating, even_walk, tapped

SI = "symmetry_index_percent"


def figures(contacts, jitter_s=0.05, **more):
    return walk_figures(contacts, basis=THUMB_TAPS, jitter_s=jitter_s, from_standing=False, to_standing=False, **more)


@pytest.mark.parametrize(("intervals", "points"), [(9, 11), (39, 5)])
def test_taps_of_50_ms_leave_these_points_in_a_symmetry_index(intervals, points):
    u = figures(even_walk(intervals)).all.figure("step_time_s", SI).u_taps
    assert u == pytest.approx(points, abs=0.5)


def test_the_points_left_by_the_taps_follow_from_the_weights_of_each_contact():
    """9 steps of 0.6 s, 5 right and 4 left: 8 contacts weigh 1/5 + 1/4, the two ends 1/5."""
    in_difference_s = 0.05 * math.sqrt(8 * (1 / 5 + 1 / 4) ** 2 + 2 * (1 / 5) ** 2)
    u = figures(even_walk(9)).all.figure("step_time_s", SI).u_taps
    assert u == pytest.approx(100 * in_difference_s / 0.6, rel=1e-12)


@pytest.mark.parametrize("key", sorted(INDICES))
@pytest.mark.parametrize("intervals", [9, 39])
def test_simulated_tappers_scatter_as_much_as_derived(key, intervals):
    chance = np.random.default_rng(20260)
    truth = even_walk(intervals, left_s=0.62, right_s=0.58)
    found = []
    for _ in range(3000):
        walked = steps(tapped(truth, 0.05, chance))
        means = [np.mean([s.time_s for s in walked if s.side == side]) for side in ("left", "right")]
        found.append(INDICES[key].of(*means))
    sides = [[s for s in steps(truth) if s.side == side] for side in ("left", "right")]
    derived = index_from_taps(INDICES[key], *sides, 0.05)
    # The scatter of 3000 draws is known to 1.3 % (one sigma).
    assert np.std(found, ddof=1) == pytest.approx(derived, rel=0.05)


def test_simulated_tappers_scatter_in_means_cadence_and_speed_as_much_as_derived():
    chance = np.random.default_rng(7)
    truth = even_walk(20, left_s=0.62, right_s=0.58)
    exact = figures(truth, distance_m=12.0)
    runs = [figures(tapped(truth, 0.05, chance), distance_m=12.0) for _ in range(300)]
    for key in ("step_time_s.left.mean", "stride_time_s.right.mean", "step_time_s.both.mean"):
        scatter = np.std([r.all.figures[key].value for r in runs], ddof=1)
        assert scatter == pytest.approx(exact.all.figures[key].u_taps, rel=0.13), key
    for key in ("duration_s", "cadence_steps_per_min", "speed_m_per_s"):
        scatter = np.std([r.whole[key].value for r in runs], ddof=1)
        assert scatter == pytest.approx(exact.whole[key].u_taps, rel=0.13), key


@pytest.mark.parametrize(("strides", "spread_s"), [(4, 0.02), (5, 0.0), (5, 0.05), (20, 0.1)])
def test_the_interval_holds_the_persons_own_symmetry_as_often_as_it_says(strides, spread_s):
    """People whose steps vary, tapped with 50 ms: 95 % of the intervals, a little over when they vary less.

    600 draws know the share to 0.9 % (one sigma).
    """
    chance = np.random.default_rng(strides)
    true_index = INDICES[SI].of(0.62, 0.58)
    held, runs = 0, 600
    for _ in range(runs):
        walked = np.array([0.58 if i % 2 == 0 else 0.62 for i in range(2 * strides)])
        walked = walked + chance.normal(0, spread_s, len(walked))
        contacts = tapped(alternating(5 + np.concatenate([[0.0], np.cumsum(walked)])), 0.05, chance)
        walk = {"step_time_s": steps(contacts)}
        figure = block_of(walk, THUMB_TAPS, 0.05, 4).figure("step_time_s", SI)
        held += figure.low <= true_index <= figure.high
    assert 0.925 <= held / runs <= 0.985


@given(st.integers(8, 60), st.floats(0.0, 0.1), st.floats(0.3, 1.2))
def test_less_jitter_never_leaves_more_uncertainty(intervals, jitter_s, step_s):
    walk = even_walk(intervals, step_s, step_s)
    less = figures(walk, jitter_s / 2).all.figure("step_time_s", SI)
    more = figures(walk, jitter_s).all.figure("step_time_s", SI)
    assert less.u_taps == pytest.approx(more.u_taps / 2)
    assert less.taps_high - less.taps_low <= more.taps_high - more.taps_low + 1e-12


@settings(max_examples=30)
@given(st.integers(4, 40), st.integers(1, 40))
def test_more_strides_leave_less_uncertainty(strides, more):
    few, many = even_walk(2 * strides), even_walk(2 * (strides + more))
    for key in ("step_time_s." + SI, "step_time_s.left.mean", "stride_time_s.right.mean", "stride_time_s.right.median"):
        assert figures(many).all.figures[key].u_taps < figures(few).all.figures[key].u_taps


def test_without_jitter_the_taps_leave_nothing():
    assert figures(even_walk(20), 0.0).all.figure("step_time_s", SI).u_taps == 0


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 7.5, 12, 30, 200])
def test_students_t_agrees_with_scipy(degrees):
    assert student_975(degrees) == pytest.approx(scipy.stats.t.ppf(0.975, degrees), rel=2e-3)
