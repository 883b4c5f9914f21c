"""Model people: what they answer follows from what their leg does."""

import math
import random
import statistics
from collections import Counter
from decimal import Decimal

import pytest
from hypothesis import given, settings, strategies as st

from shared_models.calculations.model_leg.people import model_person
from shared_models.calculations.model_leg.perceiving import TRUE_FROM_ERRORS
from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.sheets import FUNCTIONS, Adjuster
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence

seeds = st.integers(0, 10**6)
functions = st.sampled_from(FUNCTIONS)
EDITION = load_edition()
TOO_LITTLE = {"damping_stays_in", "heel_rise_too_high", "terminal_impact", "drops_on_descent"}
TOO_MUCH = {"no_damping_when_loaded", "heel_rise_too_low", "extension_incomplete", "yields_too_slowly"}


def adjuster(function, lowest, highest, step, largest, clockwise="more"):
    return Adjuster(
        function, function, "turns", Decimal(lowest), Decimal(highest), Decimal(lowest),
        Decimal(step), Decimal(largest), clockwise,
    )


def exactly(person, function, positions, **more):
    """A trial observed without any error."""
    return person.walk(function, positions, random.Random(1), observer_error=0.0, **more)


@settings(max_examples=30, deadline=None)
@given(seeds, functions)
def test_the_same_seed_is_the_same_person_who_answers_alike(seed, function):
    first, second = model_person(seed), model_person(seed)
    assert first.good_window(function) == second.good_window(function)
    position = {function: first.ranges[function].positions[3]}
    assert first.walk(function, position, random.Random(7)) == second.walk(function, position, random.Random(7))


def test_a_thousand_seeds_are_a_thousand_different_people():
    people = {(p.mass_kg, p.stature_m, p.speed_m_s) for p in map(model_person, range(1000))}
    assert len(people) > 990


@settings(max_examples=60, deadline=None)
@given(seeds, functions)
def test_an_observer_without_error_finds_something_outside_the_wanted_window_only(seed, function):
    person = model_person(seed)
    low, high = person.wanted_window(function)
    for position in person.ranges[function].positions:
        walk = exactly(person, function, {function: position})
        assert walk.is_right == (low <= position <= high)
        shown = {f["finding"] for f in walk.findings if f["grade"] != "none"} - {"knee_gives_way"}
        if position < low:
            assert shown <= TOO_LITTLE
        if position > high:
            assert shown <= TOO_MUCH


@settings(max_examples=60, deadline=None)
@given(seeds, functions)
def test_a_good_position_is_beyond_what_is_wanted_by_no_more_than_the_stated_errors(seed, function):
    person = model_person(seed)
    low, high = person.good_window(function)
    wanted = person.wanted_window(function)
    assert low <= wanted[0] <= person.ranges[function].suits <= wanted[1] <= high
    for position in person.ranges[function].positions:
        is_good = low <= position <= high
        assert person.is_good(function, {function: position}) == is_good
        for one in person._complaints(function, {function: position}, 1.0, "stairs"):
            if is_good:
                assert one.excess <= TRUE_FROM_ERRORS * one.error
            if is_good and one.finding == "no_damping_when_loaded":
                assert one.excess <= 0  # a knee without damping is never good
                assert exactly(person, function, {function: position}).protected


@settings(max_examples=30, deadline=None)
@given(seeds)
def test_findings_are_those_of_the_edition_and_turn_towards_the_good_window(seed):
    person, chance = model_person(seed), random.Random(seed)
    for function in FUNCTIONS:
        known = {f.key: f for f in EDITION.findings_of(function)}
        for position in person.ranges[function].positions[::4]:
            for found in person.walk(function, {function: position}, chance).findings:
                assert found["finding"] in known
                assert found["grade"] in ("none", "slight", "marked")
                assert found["perceived"] in ("seen", "felt")
    for finding in TOO_LITTLE:
        assert next(f.turn for f in EDITION.findings if f.key == finding) == "more"
    for finding in TOO_MUCH:
        assert next(f.turn for f in EDITION.findings if f.key == finding) == "less"


@settings(max_examples=40, deadline=None)
@given(seeds, st.integers(0, 19))
def test_turning_the_flexion_valve_up_never_raises_the_heel(seed, place):
    person = model_person(seed)
    first, second = (exactly(person, "swing_flexion", {"swing_flexion": Decimal(p)}) for p in (place, place + 1))
    assert second.figures["peak_flexion_deg"] <= first.figures["peak_flexion_deg"] + 1e-9


@settings(max_examples=40, deadline=None)
@given(seeds, st.integers(0, 19))
def test_turning_the_extension_valve_up_never_hardens_the_stop(seed, place):
    person = model_person(seed)
    first, second = (exactly(person, "swing_extension", {"swing_extension": Decimal(p)}) for p in (place, place + 1))
    assert second.figures["terminal_speed_deg_s"] <= first.figures["terminal_speed_deg_s"] + 0.1


@settings(max_examples=40, deadline=None)
@given(seeds, st.integers(0, 15), st.sampled_from(["stairs", "low_steps", "ramp"]))
def test_turning_the_stance_damping_up_never_shortens_the_way_down(seed, place, ground):
    person = model_person(seed)
    first, second = (
        exactly(person, "stance_damping", {"stance_damping": Decimal(p)}, ground=ground) for p in (place, place + 1)
    )
    assert second.figures["descent_time_s"] >= first.figures["descent_time_s"]
    assert second.figures["landing_speed_m_s"] <= first.figures["landing_speed_m_s"]


# What disturbs what ---------------------------------------------------------------


def test_a_higher_heel_rise_leaves_the_knee_straight_later():
    for seed in range(30):
        person = model_person(seed)
        low, high = person.ranges["swing_flexion"].positions[4], person.ranges["swing_flexion"].positions[16]
        higher, lower = (person.swinging.figures({"swing_flexion": p}) for p in (low, high))
        assert higher["peak_flexion_deg"] > lower["peak_flexion_deg"]
        assert higher.get("extended_at_s", math.inf) > lower["extended_at_s"]


def test_a_right_heel_rise_always_leaves_a_right_extension():
    for seed in range(60):
        person = model_person(seed)
        for flexion in person.good_window("swing_flexion"):
            assert person.good_window("swing_extension", {"swing_flexion": flexion}) is not None


def test_a_threshold_too_high_leaves_the_person_unprotected_on_the_way_down():
    for seed in range(40):
        person = model_person(seed)
        highest = {"stance_threshold": person.ranges["stance_threshold"].positions[-1]}
        walk = exactly(person, "stance_damping", highest)
        assert not walk.protected and not walk.damping_came_in
        shown = {f["finding"]: f["grade"] for f in walk.findings}
        assert shown["no_damping_on_descent"] == "marked" and shown["drops_on_descent"] == "marked"
        suited = exactly(person, "stance_damping", {})
        assert suited.protected and suited.damping_came_in and suited.is_right


def test_a_threshold_right_on_the_level_may_be_too_high_for_the_way_down_and_more_often_is_not():
    apart = Counter()
    for seed in range(400):
        person = model_person(seed)
        for position in person.ranges["stance_threshold"].positions:
            level = person.standing.stance({"stance_threshold": position}).comes_in
            down = person.standing.stance({"stance_threshold": position}, down=True).comes_in
            apart[level, down] += 1
    assert apart[False, True] > apart[True, False] > 0


def test_a_threshold_too_low_cuts_the_heel_rise_short():
    short = 0
    for seed in range(40):
        person = model_person(seed)
        lowest = person.ranges["stance_threshold"].positions[0]
        walk = exactly(person, "stance_threshold", {"stance_threshold": lowest})
        held = exactly(person, "swing_flexion", {"stance_threshold": lowest})
        free = exactly(person, "swing_flexion", {})
        if not walk.damping_let_go:
            assert held.figures["peak_flexion_deg"] < free.figures["peak_flexion_deg"]
            short += any(f["finding"] == "heel_rise_too_low" for f in held.findings)
    assert short > 20


def test_hands_on_the_bars_make_a_threshold_look_too_high_that_is_right_without():
    looks, total = 0, 0
    for seed in range(60):
        person = model_person(seed)
        right = {"stance_threshold": person.wanted_window("stance_threshold")[1]}
        assert exactly(person, "stance_threshold", right).is_right
        walk = exactly(person, "stance_threshold", right, hands_on_bars=True)
        looks += any(f["finding"] == "no_damping_when_loaded" for f in walk.findings)
        total += 1
        assert walk.protected is not any(f["finding"] == "no_damping_when_loaded" for f in walk.findings)
    assert looks > 0.9 * total


def test_what_is_right_on_stairs_is_right_on_ramps_and_low_steps():
    for seed in range(60):
        person = model_person(seed)
        for position in person.good_window("stance_damping"):
            for ground in ("ramp", "low_steps"):
                assert person.is_good("stance_damping", {"stance_damping": position}, ground)


# Whoever observes ------------------------------------------------------------------


def test_an_observer_errs_more_often_near_the_edge_and_more_with_a_greater_error():
    missed = Counter()
    for seed in range(150):
        person, chance = model_person(seed), random.Random(seed)
        low, _ = person.wanted_window("swing_flexion")
        for off in (1, 3):
            position = low - off
            if position < 0:
                continue
            for error in (0.5, 2.0):
                walk = person.walk("swing_flexion", {"swing_flexion": position}, chance, observer_error=error)
                missed[off, error] += walk.is_right
    assert missed[1, 2.0] > missed[1, 0.5] > missed[3, 0.5]
    assert missed[1, 2.0] > missed[3, 2.0]


def test_seen_and_felt_may_differ_in_the_same_trial():
    apart = 0
    for seed in range(200):
        person = model_person(seed)
        position = {"stance_damping": person.wanted_window("stance_damping")[1]}
        findings = person.walk("stance_damping", position, random.Random(seed)).findings
        apart += len({f["grade"] for f in findings if f["finding"] == "yields_too_slowly"}) == 2
    assert apart > 10


# Windows, knees and people without a right position -----------------------------------


def widths(count=100, **scaled):
    people = [model_person(seed, **scaled) for seed in range(count)]
    return {
        f: [int(high - low) + 1 for low, high in (p.wanted_window(f) for p in people)] for f in FUNCTIONS
    }


def test_windows_are_a_few_smallest_steps_wide_and_follow_their_factor():
    usual, narrow, wide = widths(), widths(window_width=0.5), widths(window_width=2.0)
    for function in FUNCTIONS:
        assert 2 <= statistics.median(usual[function]) <= 5
        assert statistics.mean(narrow[function]) < statistics.mean(usual[function]) < statistics.mean(wide[function])
        assert min(narrow[function]) >= 1


def test_people_spread_as_their_factor_says():
    spreads = []
    for spread in (0.5, 1.0, 2.0):
        people = [model_person(seed, spread=spread) for seed in range(150)]
        spreads.append(statistics.stdev(float(sum(p.good_window("swing_flexion")) / 2) for p in people))
    assert spreads[0] < 0.7 * spreads[1] and spreads[1] < spreads[2]


def test_a_person_for_whom_no_position_is_right_has_something_to_be_found_at_every_one():
    drawn = Counter()
    for seed in range(120):
        person = model_person(seed, solvable=False, window_width=1.0 + seed % 2, spread=1.0 + seed % 3 / 2)
        assert not person.solvable
        function, = person.unsolvable
        drawn[function] += 1
        assert person.good_window(function) is None
        for position in person.ranges[function].positions:
            assert not exactly(person, function, {function: position}).is_right
        for other in set(FUNCTIONS) - {function, "swing_extension"}:
            if function != "stance_threshold":
                assert person.good_window(other) is not None
    assert set(drawn) == set(FUNCTIONS)


@pytest.mark.parametrize("sheet", [
    # A quarter of a turn in three turns, the other way round; half clicks; marks from 1.
    [adjuster("swing_flexion", "0", "3", "0.25", "0.5", "less"), adjuster("swing_extension", "1", "9", "0.5", "1.5")],
    [adjuster("stance_threshold", "-5", "5", "0.5", "0.5"), adjuster("stance_damping", "0", "360", "15", "15")],
    [adjuster("swing_flexion", "0", "1", "0.3", "0.3")],
])
def test_any_adjuster_of_a_component_sheet_will_do(sheet):
    for seed in range(20):
        person = model_person(seed, adjusters=sheet)
        for own in sheet:
            low, high = person.wanted_window(own.function)
            assert own.lowest <= low <= high <= own.highest
            assert (low - own.lowest) % own.smallest_step == 0
            assert exactly(person, own.function, {own.function: low}).is_right


def test_taps_alternate_between_the_sides_and_keep_the_cadence():
    walk = model_person(3).walk("swing_flexion", {}, random.Random(2), observer_error=0.0)
    sides = [side for side, _ in walk.contacts]
    times = [time for _, time in walk.contacts]
    assert set(sides[::2]) == {"sound"} and set(sides[1::2]) == {"prosthetic"}
    assert times == sorted(times)
    cadence = 60 * (len(times) - 1) / (times[-1] - times[0])
    assert cadence == pytest.approx(walk.figures["cadence_steps_min"], rel=0.06)
    jittered = model_person(3).walk("swing_flexion", {}, random.Random(2), observer_error=2.0)
    assert jittered.contacts != walk.contacts


def test_taps_show_a_prosthetic_step_that_is_longer_than_the_sound_one_where_the_swing_is():
    for seed in range(20):
        person, steps = model_person(seed), {"prosthetic": [], "sound": []}
        for trial in range(30):
            walk = person.walk("swing_flexion", {}, random.Random(trial), observer_error=0.0)
            for (_, before), (side, after) in zip(walk.contacts, walk.contacts[1:]):
                steps[side].append(after - before)  # a step ends with its own foot's contact
        stride = 120 / walk.figures["cadence_steps_min"]
        prosthetic = walk.figures["swing_time_s"] + 0.11 * stride
        assert statistics.mean(steps["prosthetic"]) == pytest.approx(prosthetic, rel=0.01)
        assert statistics.mean(steps["sound"]) == pytest.approx(stride - prosthetic, rel=0.01)


# What cannot be asked -------------------------------------------------------------------


@pytest.mark.parametrize("ask, code", [
    (lambda p: p.walk("heel_height", {}, random.Random(1)), "model_leg_unknown_function"),
    (lambda p: p.good_window("heel_height"), "model_leg_unknown_function"),
    (lambda p: p.walk("swing_flexion", {"swing_flexion": Decimal(21)}, random.Random(1)), "model_leg_outside_range"),
    (lambda p: p.walk("swing_flexion", {"swing_flexion": Decimal("-0.5")}, random.Random(1)), "model_leg_outside_range"),
    (lambda p: p.walk("swing_flexion", {"swing_flexion": Decimal("NaN")}, random.Random(1)), "model_leg_outside_range"),
    (lambda p: p.walk("stance_damping", {}, random.Random(1), ground="ladder"), "model_leg_unknown_ground"),
    (lambda p: p.walk("stance_damping", {}, random.Random(1), observer_error=-1.0), "model_leg_below_zero"),
    (lambda p: model_person(1, spread=0), "model_leg_not_above_zero"),
    (lambda p: model_person(1, window_width=math.nan), "model_leg_not_above_zero"),
])
def test_what_the_model_person_cannot_do_is_refused_in_a_sentence(ask, code):
    with pytest.raises(Refusal) as refused:
        ask(model_person(1))
    assert refused.value.code == code
    sentence = refusal_sentence(refused.value)
    assert "not stated" not in sentence and "no words" not in sentence
