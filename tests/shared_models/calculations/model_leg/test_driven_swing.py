"""The driven swing: against an adaptive solver, against the printed trial, and its directions."""

import math

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st
from scipy.integrate import solve_ivp

from shared_models.calculations.model_leg import drawn, drive
from shared_models.calculations.model_leg.damper import Damper
from shared_models.calculations.model_leg.drive import Gait, drive_at, held_thigh, tabulated
from shared_models.calculations.model_leg.segments import GRAVITY_M_S2, lower_leg
from shared_models.calculations.model_leg.swing import SwingLeg
from shared_models.quantities.refusals import Refusal

GAIT = Gait(1.15, 1.75)
LEG = lower_leg(80, 1.75, 0.5)
SWING_LEG = SwingLeg(LEG, tabulated(GAIT))
TOE_OFF = math.radians(35), math.radians(330)
damping = st.floats(0.0, 2.0)


def adaptively(damper, gait=GAIT, leg=LEG, toe_off=TOE_OFF):
    """Peak flexion in rad, time of it, time of full extension and its rate, from scipy."""
    md = leg.mass_kg * leg.centre_m

    def motion(t, y):
        m = drive_at(gait, t)
        moment = damper.moment_nm(m.thigh_rate_rad_s - y[1])
        pull = (GRAVITY_M_S2 + m.knee_up_m_s2) * math.sin(y[0]) + m.knee_forward_m_s2 * math.cos(y[0])
        return [y[1], (moment - md * pull) / leg.inertia_kg_m2]

    def knee(t, y):
        return drive_at(gait, t).thigh_rad - y[0]

    def bending(t, y):
        return drive_at(gait, t).thigh_rate_rad_s - y[1]

    bending.direction, knee.direction, knee.terminal = -1, -1, True
    start = drive_at(gait, 0.0)
    done = solve_ivp(
        motion, (0, 0.7), [start.thigh_rad - toe_off[0], start.thigh_rate_rad_s - toe_off[1]],
        events=[bending, knee], rtol=1e-10, atol=1e-12, method="DOP853",
    )
    peak_at, state = done.t_events[0][0], done.y_events[0][0]
    end = (done.t_events[1][0], -bending(done.t_events[1][0], done.y_events[1][0])) if len(done.t_events[1]) else (None, 0.0)
    return knee(peak_at, state), peak_at, *end


@pytest.mark.parametrize("damper", [
    Damper(), Damper(0.3, 0.1, 0.1, 0.02), Damper(0.5, 0.3, 0.15, 0.05), Damper(0.1, 0.8, 0.4, 0.0), Damper(1.5, 0.5, 0.0, 0.1),
])
def test_the_swing_agrees_with_an_adaptive_solver(damper):
    # scipy.integrate.solve_ivp, DOP853, relative tolerance 1e-10.
    peak, peak_at, extended_at, rate = adaptively(damper)
    bent = SWING_LEG.bent(damper, *TOE_OFF)
    swing = SWING_LEG.swing(damper, bent, 0.69, 0.69)
    assert math.degrees(swing.peak_flexion_rad) == pytest.approx(math.degrees(peak), abs=0.01)
    assert swing.peak_at_s == pytest.approx(peak_at, abs=2e-4)
    assert swing.extended_at_s == pytest.approx(extended_at, abs=2e-4)
    assert math.degrees(swing.terminal_rate_rad_s) == pytest.approx(math.degrees(rate), abs=0.5)


def test_every_step_of_a_damped_swing_agrees_with_an_adaptive_solver():
    damper, md = Damper(0.4, 0.2, 0.3, 0.1), LEG.mass_kg * LEG.centre_m

    def motion(t, y):
        moment = damper.moment_nm(-y[1])
        return [y[1], (moment - md * GRAVITY_M_S2 * math.sin(y[0])) / LEG.inertia_kg_m2]

    leg = SwingLeg(LEG, held_thigh(2.0))
    steps = list(leg.steps(damper, (0, 1.0, 0.0)))
    done = solve_ivp(motion, (0, 2), [-1.0, 0.0], t_eval=[n * leg.step_s for n, _, _ in steps], rtol=1e-11, atol=1e-13)
    assert np.array([a for _, a, _ in steps]) == pytest.approx(-done.y[0], abs=2e-6)


# Against the printed trial -----------------------------------------------------------

#: Hip and knee marker in cm of every third frame of one stride from toe-off
#: (frame 70), 69 frames of 0.987 s: Winter DA, Biomechanics and Motor Control
#: of Human Movement, Table A.1.
PRINTED = """
70 185.67 78.83 181.73 47.53
73 190.89 79.09 191.78 47.66
76 196.42 80.10 202.66 49.31
79 202.48 82.14 212.66 52.11
82 209.07 83.03 221.28 53.89
85 215.10 82.90 228.59 54.65
88 220.89 82.27 234.63 53.64
91 227.60 81.00 239.81 51.73
94 234.16 79.60 245.23 50.33
97 241.60 79.21 252.80 50.33
"""
TRIAL = Gait(1.433, 0.81 / 0.530)


def test_the_thigh_swings_as_in_the_printed_trial():
    # At the trial's own stride; its step over leg length gives an amplitude near 1.
    for line in PRINTED.split("\n")[1:-1]:
        frame, hip_x, hip_y, knee_x, knee_y = (float(part) for part in line.split())
        share = (frame - 70) / 69
        angle = math.degrees(drive_at(TRIAL, share * TRIAL.stride_s).thigh_rad)
        printed = math.degrees(math.atan2(knee_x - hip_x, hip_y - knee_y))
        assert angle == pytest.approx(printed, abs=3.0), frame


@pytest.mark.parametrize("gait", [GAIT, Gait(0.9, 1.60), Gait(1.45, 1.90)])
def test_rates_and_accelerations_of_the_drive_are_those_of_the_knee_it_moves(gait):
    # Numerical differentiation by numpy of thigh angle and knee path, built here
    # from the series; before the thigh is held.
    turn, thigh_m = 2 * np.pi / gait.stride_s, 0.245 * gait.stature_m

    def series(t, pairs):
        return sum(c * np.cos(n * turn * t) + s * np.sin(n * turn * t) for n, (c, s) in enumerate(pairs, 1))

    times = np.linspace(0, 0.25 * gait.stride_s, 401)
    angle = np.radians(drive.THIGH_MEAN_DEG + gait.amplitude * series(times, drive.THIGH_HARMONICS_DEG))
    forward = gait.amplitude / 100 * series(times, drive.HIP_FORWARD_CM) + thigh_m * np.sin(angle)
    up = gait.amplitude / 100 * series(times, drive.HIP_UP_CM) - thigh_m * np.cos(angle)
    twice = [np.gradient(np.gradient(path, times), times)[5:-5] for path in (forward, up)]
    moments = [drive_at(gait, t) for t in times]
    assert [m.thigh_rad for m in moments] == pytest.approx(angle, abs=1e-4)
    assert [m.thigh_rate_rad_s for m in moments][5:-5] == pytest.approx(np.gradient(angle, times)[5:-5], abs=5e-3)
    assert [m.knee_forward_m_s2 for m in moments][5:-5] == pytest.approx(twice[0], abs=0.05)
    assert [m.knee_up_m_s2 for m in moments][5:-5] == pytest.approx(twice[1], abs=0.05)


def test_a_thigh_that_is_held_comes_to_rest_and_stays_there():
    late = [drive_at(GAIT, part * GAIT.stride_s) for part in (0.42, 0.52, 0.60)]
    assert abs(late[0].thigh_rate_rad_s) > abs(late[1].thigh_rate_rad_s) > abs(late[2].thigh_rate_rad_s)
    assert abs(late[2].thigh_rate_rad_s) < 1e-3
    assert math.hypot(late[2].knee_forward_m_s2, late[2].knee_up_m_s2) < 0.01


def test_a_thigh_that_is_being_held_moves_the_knee_as_its_own_angle_says(monkeypatch):
    # Numerical differentiation of the knee's path under a hip that stays where it is.
    for name in ("HIP_FORWARD_CM", "HIP_UP_CM"):
        monkeypatch.setattr(drive, name, ((0.0, 0.0), (0.0, 0.0)))
    times = np.linspace(0.3 * GAIT.stride_s, 0.6 * GAIT.stride_s, 801)
    moments = [drive_at(GAIT, t) for t in times]
    angle = np.array([m.thigh_rad for m in moments])
    for path, given_m_s2 in (
        (np.sin(angle), [m.knee_forward_m_s2 for m in moments]),
        (-np.cos(angle), [m.knee_up_m_s2 for m in moments]),
    ):
        twice = np.gradient(np.gradient(0.245 * 1.75 * path, times), times)
        assert given_m_s2[5:-5] == pytest.approx(twice[5:-5], abs=0.02)


def test_a_published_leg_at_free_speed_swings_within_published_ranges():
    # Segment figures: Winter, Table 4.1; toe-off of the printed trial, 48 degrees at
    # 313/s; the trial's peak is 67 to 68 degrees, its swing 0.386 s or 39 %, its cadence
    # 122; Perry and Winter: 100 to 120 steps/min and about 60 to 70 degrees.
    for mass_kg, stature_m in ((60, 1.60), (70, 1.70), (80, 1.75)):
        gait, leg = Gait(1.433, stature_m), lower_leg(mass_kg, stature_m)
        assert 100 <= gait.cadence_steps_min <= 122
        flexion, extension = (part[0] * leg.inertia_kg_m2 for part in (drawn.FLEXION_DAMPING_RAD_S2, drawn.EXTENSION_DAMPING_RAD_S2))
        damper = Damper(0.4 * flexion / 5, 0.6 * flexion / 25, 0.4 * extension / 5, 0.6 * extension / 25)
        swing_leg = SwingLeg(leg, tabulated(gait))
        bent = swing_leg.bent(damper, math.radians(47.6), math.radians(313))
        swing = swing_leg.swing(damper, bent, 0.0, 0.7)
        assert 60 <= math.degrees(swing.peak_flexion_rad) <= 71
        assert 0.34 <= swing.extended_at_s <= 0.44
        assert 0.35 <= swing.contact_s / gait.stride_s <= 0.42


def test_people_with_a_knee_that_suits_walk_within_published_ranges():
    # Heel rise about 60 degrees (Perry); prosthetic swings take 36 to 46 % of a stride,
    # longer than sound ones; cadence 85 to 120 from slow to free (Winter, Perry).
    from shared_models.calculations.model_leg.people import model_person

    people = [model_person(seed) for seed in range(200)]
    figures = [person.swinging.figures({}) for person in people]
    peaks = sorted(f["peak_flexion_deg"] for f in figures)
    assert 50 <= peaks[0] and peaks[-1] <= 70 and 57 <= peaks[100] <= 63
    for f in figures:
        assert 84 <= f["cadence_steps_min"] <= 122
        assert 0.33 <= f["swing_time_s"] * f["cadence_steps_min"] / 120 <= 0.47
        assert 100 <= f["terminal_speed_deg_s"] <= 430  # the trial's shank extends at 431 at most


# Directions ---------------------------------------------------------------------------

def swung(damper, contact_s=0.52, latest_s=0.58):
    return SWING_LEG.swing(damper, SWING_LEG.bent(damper, *TOE_OFF), contact_s, latest_s)


@settings(max_examples=60, deadline=None)
@given(damping, damping, st.floats(0.001, 1.0), st.booleans())
def test_more_flexion_damping_never_raises_the_heel(linear, square, more, is_square):
    less = SWING_LEG.bent(Damper(linear, square), *TOE_OFF)
    damped = Damper(linear, square + more) if is_square else Damper(linear + more, square)
    assert SWING_LEG.bent(damped, *TOE_OFF).peak_rad <= less.peak_rad + 1e-9


@settings(max_examples=60, deadline=None)
@given(damping, st.floats(0, 1), st.floats(0, 1), st.floats(0.001, 1.0), st.booleans())
def test_more_extension_damping_never_hardens_the_stop_nor_hastens_it(flexion, linear, square, more, is_square):
    first = swung(Damper(flexion, 0.1, linear, square))
    damped = Damper(flexion, 0.1, linear, square + more) if is_square else Damper(flexion, 0.1, linear + more, square)
    second = swung(damped)
    assert second.terminal_rate_rad_s <= first.terminal_rate_rad_s + 1e-3
    if second.is_extended:
        assert first.is_extended and first.extended_at_s <= second.extended_at_s + 1e-6
    assert second.peak_flexion_rad == first.peak_flexion_rad


@settings(max_examples=40, deadline=None)
@given(damping, damping, damping, damping, st.floats(0, 2), st.floats(0.05, 1.5))
def test_a_damped_leg_never_gains_energy(f1, f2, e1, e2, friction, amplitude):
    leg = SwingLeg(LEG, held_thigh(1.5))
    energy = LEG.energy_j(amplitude, 0.0)
    for _, angle, rate in leg.steps(Damper(f1, f2, e1, e2, friction), (0, amplitude, 0.0)):
        after = LEG.energy_j(angle, rate)
        # Friction flips its sign within a step where the leg turns round.
        assert after <= energy * (1 + 1e-7) + friction * leg.step_s * 0.2
        energy = after


@settings(max_examples=30, deadline=None)
@given(st.floats(0.9, 1.4), st.floats(0.02, 0.3))
def test_faster_walking_lifts_the_heel_higher(speed, faster):
    peaks = []
    for own in (speed, speed + faster):
        gait = Gait(own, 1.75)
        rate = math.radians(375) * gait.amplitude
        peaks.append(SwingLeg(LEG, tabulated(gait)).bent(Damper(0.2, 0.1), math.radians(35), rate).peak_rad)
    assert peaks[0] <= peaks[1] + 1e-6


@pytest.mark.parametrize("bad", [-0.1, math.nan, math.inf])
def test_a_damper_that_would_push_is_refused(bad):
    with pytest.raises(Refusal) as refused:
        Damper(extension_square=bad)
    assert refused.value.code == "model_leg_below_zero"
    assert refused.value.figures["name"] == "extension_square"


def test_a_walk_at_no_speed_is_refused():
    with pytest.raises(Refusal, match="speed_m_s"):
        tabulated(Gait(0.0, 1.75))
