"""Going down on a yielding knee: against an adaptive solver, and its directions."""

import math

import pytest
from hypothesis import given, settings, strategies as st
from scipy.integrate import solve_ivp

from shared_models.calculations.model_leg.damper import Damper
from shared_models.calculations.model_leg.descent import (
    LINK_INERTIA_PART, RISE_M, START_FLEXION_RAD, Lowered, descend,
)
from shared_models.calculations.model_leg.segments import GRAVITY_M_S2
from shared_models.quantities.refusals import Refusal

BODY = Lowered(80, 0.43, 0.8)


@pytest.mark.parametrize("degrees, drop_m", [(60, 0.1152), (80, 0.2012)])
def test_a_bent_leg_lowers_the_hip_as_two_links_do(degrees, drop_m):
    # Two links of 0.43 m, hip straight above the ankle: 2·l·(1 - cos(a/2)).
    assert math.degrees(BODY.flexion_rad(drop_m)) == pytest.approx(degrees, abs=0.02)


def test_a_whole_step_from_the_straight_leg_needs_73_to_74_degrees():
    # The same geometry for the 170 mm riser of a stair used in gait studies.
    assert 73 <= math.degrees(BODY.flexion_rad(0.17)) <= 74


def adaptively(body, damper, rise_m):
    """Time and landing speed from scipy.integrate.solve_ivp (LSODA, tolerance 1e-9)."""
    heavy = body.mass_kg * body.link_m**2
    end = body.flexion_rad(2 * body.link_m * (1 - math.cos(START_FLEXION_RAD / 2)) + rise_m)

    def motion(_, y):
        sine, cosine = math.sin(y[0] / 2), math.cos(y[0] / 2)
        pull = body.part * body.mass_kg * GRAVITY_M_S2 * body.link_m * sine
        carried = heavy / 2 * sine * cosine * y[1] ** 2
        return [y[1], (pull - carried - damper.moment_nm(y[1])) / (heavy * (sine**2 + LINK_INERTIA_PART))]

    def landed(_, y):
        return y[0] - end

    landed.terminal = True
    done = solve_ivp(motion, (0, 8), [START_FLEXION_RAD, 0.0], events=landed, rtol=1e-9, atol=1e-11, method="LSODA")
    return done.t[-1], body.link_m * math.sin(end / 2) * done.y[1][-1]


@pytest.mark.parametrize("moment", [0, 10, 50, 100, 200])
@pytest.mark.parametrize("ground", RISE_M)
def test_a_step_down_agrees_with_an_adaptive_solver_to_two_percent(moment, ground):
    damper = Damper(flexion_linear=0.4 * moment, flexion_square=0.6 * moment)
    time_s, landing = adaptively(BODY, damper, RISE_M[ground])
    done = descend(BODY, damper, RISE_M[ground])
    assert done.time_s == pytest.approx(time_s, rel=0.02)
    assert done.landing_m_s == pytest.approx(landing, rel=0.02)


def test_without_damping_the_body_lands_as_its_height_says():
    # Energy: of s·M·g·h a part goes into the turning of the links, the rest is landing speed.
    done = descend(BODY, Damper(), 0.17)
    end = BODY.flexion_rad(0.17 + 2 * BODY.link_m * (1 - math.cos(START_FLEXION_RAD / 2)))
    links = 1 + LINK_INERTIA_PART / math.sin(end / 2) ** 2
    falling = math.sqrt(2 * BODY.part * GRAVITY_M_S2 * 0.17 / links)
    assert done.landing_m_s == pytest.approx(falling, rel=0.01)


def test_a_damper_takes_out_all_but_the_landing_energy_of_133_joules():
    # 80 kg lowered by 0.17 m: 133.37 J of height.
    height_j = 80 * GRAVITY_M_S2 * 0.17
    assert height_j == pytest.approx(133.37, abs=0.005)
    done = descend(Lowered(80, 0.43, 1.0), Damper(flexion_linear=40, flexion_square=40), 0.17)
    assert 0.5 * 80 * done.landing_m_s**2 < 0.15 * height_j


@settings(max_examples=100, deadline=None)
@given(st.floats(0, 300), st.floats(0, 300), st.floats(0.01, 100), st.booleans(), st.sampled_from(sorted(RISE_M)))
def test_more_stance_damping_never_shortens_a_step_down_nor_hardens_its_landing(linear, square, more, is_square, ground):
    less = descend(BODY, Damper(linear, square), RISE_M[ground])
    damped = Damper(linear, square + more) if is_square else Damper(linear + more, square)
    after = descend(BODY, damped, RISE_M[ground])
    assert after.time_s >= less.time_s
    assert after.landing_m_s <= less.landing_m_s


@settings(max_examples=50, deadline=None)
@given(st.floats(50, 120), st.floats(1, 40), st.floats(1, 200))
def test_a_heavier_person_goes_down_faster_on_the_same_knee(mass, heavier, moment):
    damper = Damper(flexion_square=moment)
    light, heavy = (descend(Lowered(m, 0.43, 0.8), damper, 0.17) for m in (mass, mass + heavier))
    assert heavy.time_s <= light.time_s


def test_a_step_higher_than_the_leg_can_bend_is_refused():
    with pytest.raises(Refusal) as refused:
        descend(BODY, Damper(), 0.86)
    assert refused.value.code == "model_leg_step_too_high"


@pytest.mark.parametrize("rise", [0, -0.17, math.nan])
def test_a_step_of_no_height_is_refused(rise):
    with pytest.raises(Refusal, match="rise_m"):
        descend(BODY, Damper(), rise)


def test_a_knee_that_hardly_yields_is_given_up():
    assert descend(BODY, Damper(flexion_linear=5000), 0.17).is_given_up
    assert descend(BODY, Damper(friction_nm=500), 0.17).is_given_up
