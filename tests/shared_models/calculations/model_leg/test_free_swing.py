"""The free swing of shank and foot against what is known exactly of a pendulum."""

import math

import pytest
from scipy.special import ellipk

from shared_models.calculations.model_leg.damper import Damper
from shared_models.calculations.model_leg.drive import held_thigh
from shared_models.calculations.model_leg.segments import lower_leg
from shared_models.calculations.model_leg.swing import SwingLeg

LEG = lower_leg(80, 1.75)
#: 2·sqrt(I·m·g·d): the damping at which it no longer swings.
CRITICAL = 2 * math.sqrt(LEG.inertia_kg_m2 * LEG.weight_moment_nm)


def freely(amplitude_rad, damper=Damper(), duration_s=4.0, step_s=0.005):
    """Every step of a shank let go at rest from an amplitude, the thigh held upright."""
    leg = SwingLeg(LEG, held_thigh(duration_s, step_s))
    return [(n * step_s, a, w) for n, a, w in leg.steps(damper, (0, amplitude_rad, 0.0))]


def crossings(steps):
    """Times in s at which the shank hangs straight down."""
    times = []
    for (t0, a0, _), (t1, a1, _) in zip(steps, steps[1:]):
        if a0 * a1 < 0:
            times.append(t0 + (t1 - t0) * a0 / (a0 - a1))
    return times


@pytest.mark.parametrize("degrees", [5, 30, 60, 90])
def test_the_period_is_that_of_the_exact_pendulum(degrees):
    # T = T0·2·K(sin²(a/2))/pi, complete elliptic integral of the first kind (scipy.special.ellipk).
    exact = LEG.small_period_s * 2 * ellipk(math.sin(math.radians(degrees) / 2) ** 2) / math.pi
    times = crossings(freely(math.radians(degrees)))
    assert times[2] - times[0] == pytest.approx(exact, rel=2e-6)
    assert times[0] == pytest.approx(exact / 4, rel=2e-5)


@pytest.mark.parametrize("degrees, longer", [(10, 1.001907), (30, 1.017409), (45, 1.039973), (60, 1.073182), (90, 1.180341)])
def test_a_wider_swing_takes_longer_by_the_tabulated_factor(degrees, longer):
    # T/T0 at amplitude, e.g. Nelson RA, Olsson MG, Am J Phys 1986;54:112-121.
    times = crossings(freely(math.radians(degrees)))
    assert (times[2] - times[0]) / LEG.small_period_s == pytest.approx(longer, abs=2e-6)


@pytest.mark.parametrize("degrees", [5, 30, 60, 90])
def test_a_swing_without_damping_keeps_its_energy(degrees):
    start = LEG.energy_j(math.radians(degrees), 0.0)
    for _, angle, rate in freely(math.radians(degrees), duration_s=10.0):
        assert LEG.energy_j(angle, rate) == pytest.approx(start, rel=1e-6)


@pytest.mark.parametrize("degrees, rate_deg_s, energy_j", [(60, 289.631, 6.2425), (65, 311.237, 7.2086)])
def test_released_at_rest_it_passes_the_bottom_as_fast_as_its_height_says(degrees, rate_deg_s, energy_j):
    steps = freely(math.radians(degrees), step_s=0.001)
    fastest = max(abs(rate) for _, _, rate in steps)
    assert math.degrees(fastest) == pytest.approx(rate_deg_s, rel=1e-5)
    assert LEG.energy_j(math.radians(degrees), 0.0) == pytest.approx(energy_j, abs=5e-5)


@pytest.mark.parametrize("part, period_s, half_ratio", [
    (0.1, 1.249222, 0.729248), (0.2, 1.268591, 0.526621), (0.3, 1.302976, 0.372326), (0.5, 1.435246, 0.163034),
])
def test_a_linear_damper_slows_and_shrinks_small_swings_as_in_any_textbook(part, period_s, half_ratio):
    # Damped linear oscillator: T0/sqrt(1-z²); exp(-pi·z/sqrt(1-z²)) each half swing.
    damper = Damper(flexion_linear=part * CRITICAL, extension_linear=part * CRITICAL)
    steps = freely(1e-4, damper)
    times = crossings(steps)
    assert times[2] - times[0] == pytest.approx(period_s, rel=2e-5)
    half = 0.5 * period_s
    after = min(steps, key=lambda step: abs(step[0] - half))
    assert -after[1] / 1e-4 == pytest.approx(half_ratio, rel=2e-3)


def closed_form_peak_deg(rate_deg_s, friction_nm=0.0, square=0.0):
    """Peak flexion from the energy that is left, solved by bisection."""
    rate = math.radians(rate_deg_s)
    inertia, weight = LEG.inertia_kg_m2, LEG.weight_moment_nm

    def left(angle):
        if square:
            b, k = 2 * square / inertia, 2 * weight / inertia
            bend = math.exp(b * angle) * (b * math.sin(angle) - math.cos(angle)) + 1
            return rate**2 - k * bend / (b * b + 1)
        return inertia * rate**2 / 2 - weight * (1 - math.cos(angle)) - friction_nm * angle

    low, high = 0.0, math.pi / 2
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if left(middle) > 0 else (low, middle)
    return math.degrees(low)


HEEL_RISE = [
    # rate, none, linear 0.5, orifice 0.1, friction 2 N·m; worked from the closed
    # forms, the linear column by an independent integration.
    (250, 51.1362, 43.515, 45.5488, 41.8787),
    (300, 62.3830, 52.752, 54.1548, 52.4049),
    (350, 74.3450, 62.330, 62.7363, 63.4356),
    (400, 87.3447, 72.357, 71.3548, 75.1424),
]


@pytest.mark.parametrize("rate, none, linear, orifice, friction", HEEL_RISE)
def test_the_heel_rises_as_the_closed_forms_say(rate, none, linear, orifice, friction):
    leg = SwingLeg(LEG, held_thigh(1.0, 0.001))
    peaks = [
        math.degrees(leg.bent(damper, 0.0, math.radians(rate)).peak_rad)
        for damper in (
            Damper(), Damper(flexion_linear=0.5), Damper(flexion_square=0.1), Damper(friction_nm=2.0),
        )
    ]
    assert peaks == pytest.approx([none, linear, orifice, friction], abs=1e-3)
    assert peaks[0] == pytest.approx(closed_form_peak_deg(rate), abs=1e-4)
    assert peaks[2] == pytest.approx(closed_form_peak_deg(rate, square=0.1), abs=1e-4)
    assert peaks[3] == pytest.approx(closed_form_peak_deg(rate, friction_nm=2.0), abs=1e-4)


def test_an_orifice_evens_out_fast_and_slow_walking_best():
    # Tsai CS, Mansour JM, J Biomech Eng 1986;108:65: hydraulic control lets speed
    # change, constant friction suits one speed.
    leg = SwingLeg(LEG, held_thigh(1.0))

    def spread(damper):
        return leg.bent(damper, 0, math.radians(400)).peak_rad - leg.bent(damper, 0, math.radians(250)).peak_rad

    orifice, linear, friction, none = (
        spread(damper) for damper in (
            Damper(flexion_square=0.1), Damper(flexion_linear=0.5), Damper(friction_nm=2.0), Damper(),
        )
    )
    assert orifice < linear < friction < none
    assert math.degrees(orifice) == pytest.approx(25.81, abs=0.01)


def test_friction_takes_the_same_moment_both_ways():
    # Energy lost in a half swing from a to b: m·g·d·(cos b - cos a) = friction·(a + b).
    steps = freely(math.radians(60), Damper(friction_nm=1.0), step_s=0.001)
    turns = [math.radians(60)]
    for before, here, after in zip(steps, steps[1:], steps[2:]):
        if abs(here[1]) >= max(abs(before[1]), abs(after[1])) and here[1] * turns[-1] < 0:
            turns.append(here[1])
    assert len(turns) >= 4
    for one, other in zip(turns, turns[1:4]):
        lost = LEG.weight_moment_nm * (math.cos(other) - math.cos(one))
        assert lost == pytest.approx(1.0 * (abs(one) + abs(other)), rel=2e-3)
