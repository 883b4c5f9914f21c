"""What a trial's findings speak for, in the order in which a prosthetist would look.

Where no other source is named the expectation is common practice: search from
skin and socket to the fine setting, stance before swing, flexion before
extension; what asks for opposite things is explained and nothing is turned.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.findings import (
    PACES,
    contradictions_in,
    explain,
    heeding_the_rest,
    pace_relation,
)
from shared_models.calculations.tuning import Suggestion, Tried, suggest
from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.sheets import FUNCTIONS, demo_sheet, sheet_from
from shared_models.wording.findings import why

EDITION = load_edition()
ROWS = {f.key: f for f in EDITION.findings}
KNEE = sheet_from(demo_sheet("knee_alder"))


def found(*seen: str) -> list[dict[str, str]]:
    """Findings as recorded, from words like 'toe_drags marked' or 'toe_drags slight slow'."""
    items = []
    for words in seen:
        key, grade, *pace = words.split()
        items.append({"finding": key, "grade": grade, "perceived": "seen", **({"pace": pace[0]} if pace else {})})
    return items


def explained(*seen: str):
    return explain(found(*seen), EDITION.findings, EDITION.contradictions)


def keys(ranked) -> list[str]:
    return [r.cause.key for r in ranked]


def read(*seen: str, function: str = "") -> str:
    """Everything a person reads of it, as one text."""
    sections = why(found(*seen), EDITION, function)
    return "\n".join("\n".join((s.title, *s.lines, *s.small)) for s in sections)


def suggested(function: str, *seen: str) -> Suggestion:
    """What tuning suggests after one trial in the middle of the range, with the rest heeded."""
    adjuster = KNEE.adjuster(function)
    middle = adjuster.lowest + adjuster.smallest_step * int((adjuster.highest - adjuster.lowest) / adjuster.smallest_step / 2)
    alone = suggest(
        adjuster, middle, [Tried(middle, tuple(found(*seen)), damping_came_in=True)],
        EDITION.findings_of(function), middle - adjuster.smallest_step,
    )
    return heeding_the_rest(
        alone, function, middle, found(*seen), EDITION.findings, EDITION.contradictions,
    )


# Twelve trials as they are told --------------------------------------------------


def test_a_knee_that_hangs_on_with_the_toe_catching_asks_for_a_raised_threshold_and_a_look_at_the_toe_lever():
    told = explained("damping_stays_in marked", "toe_drags slight")
    assert keys(told.leg)[:2] == ["toe_lever_stiff", "threshold_too_low"]
    assert "does_not_unload" == told.person[0].cause.key
    text = read("damping_stays_in marked", "toe_drags slight")
    assert "Raise the threshold by the smallest step" in text and "Toe lever too stiff" in text


def test_a_late_shank_that_does_not_get_straight_asks_for_heel_rise_before_extension():
    told = explained("extension_incomplete marked", "heel_rise_too_high slight")
    assert [n.finding.key for n in told.noticed] == ["heel_rise_too_high", "extension_incomplete"]
    assert told.leg[0].cause.key == "swing_flexion_too_little"
    assert set(told.leg[0].explains) == {"heel_rise_too_high", "extension_incomplete"}


def test_a_knee_that_gives_way_is_stopped_and_restored_before_heel_and_load_line_are_looked_at():
    told = explained("leg_slips marked", "heel_rise_too_high marked", "knee_gives_way slight")
    assert [n.finding.key for n in told.noticed] == ["knee_gives_way", "leg_slips", "heel_rise_too_high"]
    text = read("heel_rise_too_high marked", "knee_gives_way slight")
    assert text.startswith("Try first: knee unsteady or gives way\nStop, restore. Look at heel height and load line")
    assert {"heel_high", "knee_too_far_forward"} <= set(keys(told.leg))


def test_a_drop_on_stairs_asks_whether_damping_came_in_before_there_is_more_of_it():
    told = explained("drops_on_descent marked")
    assert keys(told.leg).index("threshold_too_high") < keys(told.leg).index("stance_damping_too_little")
    assert "Ask first whether damping came in at all." in read("drops_on_descent marked")


def test_damping_missing_on_the_way_down_goes_back_to_the_threshold_and_disturbs_all_that_was_walked():
    told = explained("no_damping_on_descent slight")
    assert told.leg[0].cause.key == "threshold_too_high"
    assert told.disturbs == ("stance_threshold", "swing_flexion", "swing_extension", "stance_damping")


def test_a_leg_that_swings_round_and_a_lifting_pelvis_ask_for_suspension_and_length_before_any_valve():
    told = explained("swings_outward slight", "pelvis_lifts slight")
    assert keys(told.leg)[:2] == ["suspension_poor", "leg_too_long"]
    assert keys(told.leg).index("leg_too_long") < keys(told.leg).index("swing_flexion_too_much")


def test_vaulting_with_a_high_heel_rise_asks_for_more_resistance_to_bending():
    """Teaching cards on transfemoral deviations: too little friction makes the shank late, so the person vaults."""
    told = explained("heel_rise_too_high slight", "rises_on_sound_toe slight")
    assert told.leg[0].cause.key == "swing_flexion_too_little"


def test_a_leaning_trunk_on_a_wide_base_asks_for_the_inner_brim_first():
    """Teaching cards on transfemoral deviations: discomfort at the inner brim is the first cause of both."""
    told = explained("trunk_leans marked", "walks_wide slight")
    assert keys(told.leg)[0] in ("lateral_wall_poor", "medial_wall_high")
    assert {"medial_wall_high", "lateral_wall_poor", "leg_too_long", "socket_abducted", "foot_too_far_out"} == {
        r.cause.key for r in told.leg if len(r.explains) == 2
    }


def test_a_hollow_back_and_a_forward_trunk_ask_for_the_measured_contracture():
    """List after Murphy 2013; Spires, Kelly & Davis 2013: too little socket flexion, contracture, weak extensors."""
    told = explained("back_hollows slight", "trunk_leans_forward slight")
    assert told.leg[0].cause.key == "socket_flexion_too_little"
    assert keys(told.person)[:2] == ["hip_flexion_contracture", "hip_extensors_weak"]


def test_a_whipping_heel_is_put_on_again_before_the_knee_is_turned():
    told = explained("heel_whips_in slight")
    assert "Have the leg put on again" in read("heel_whips_in slight")
    assert "knee_turned_out" in keys(told.leg) and "knee_turned_in" not in keys(told.leg)
    assert told.person[0].cause.key == "donned_turned"


def test_a_hurried_step_with_a_slipping_leg_asks_for_the_socket_before_anything_else():
    told = explained("hurries_sound_step slight", "leg_slips marked")
    assert told.leg[0].cause.stage.key == "skin_socket_suspension"
    assert read("hurries_sound_step slight").count("Look at the socket and the skin first.") == 1


def test_a_heel_that_rises_too_high_when_slow_and_is_cut_short_when_fast_is_explained_and_not_turned():
    seen = ("heel_rise_too_high marked slow", "heel_rise_too_low slight fast")
    told = explained(*seen)
    assert told.held_back == ("swing_flexion",)
    assert {"fits_one_cadence", "air_in_fluid", "damper_worn"} <= {r.cause.key for r in told.leg if len(r.explains) == 2}
    assert not {"swing_flexion_too_little", "swing_flexion_too_much"} & set(keys(told.leg))
    text = read(*seen)
    assert "Too high when slow, cut short when fast" in text and "then set it for the usual pace" in text
    assert "More swing-flexion resistance." not in text
    assert suggested("swing_flexion", *seen).action == "contradiction"


# Contradictions --------------------------------------------------------------------

PACED = {"first_faster": ("fast", "slow"), "first_slower": ("slow", "fast"), "same": ("usual", "usual"), "any": ("", "")}


CONTRADICTED = [
    pytest.param(pair, relation, id=f"{pair.first}+{pair.second}:{relation}")
    for pair in EDITION.contradictions for relation in PACED
    if not pair.only_when or relation in pair.only_when
]


@pytest.mark.parametrize(("pair", "relation"), CONTRADICTED)
@pytest.mark.parametrize("grades", [("slight", "marked"), ("marked", "slight"), ("marked", "marked")], ids="/".join)
def test_every_contradiction_is_explained_and_never_averaged(pair, relation, grades):
    first, second = PACED[relation]
    seen = (f"{pair.first} {grades[0]} {first}", f"{pair.second} {grades[1]} {second}")
    told = explained(*seen)
    assert pair in [each.pair for each in told.contradictions]
    text = read(*seen)
    assert pair.words in text and pair.act in text
    fitting = [r for r in pair.explained if r.when in (relation, "any")] if first else pair.explained
    for reading in pair.explained:
        assert (reading.words in text) is (reading in (fitting or pair.explained))
    turned = {ROWS[key].adjuster for key in (pair.first, pair.second)} - {""}
    assert turned <= set(told.held_back)
    assert not {r.cause.adjuster for r in told.leg} & turned
    for function in sorted({ROWS[key].trial for key in (pair.first, pair.second)} & set(FUNCTIONS)):
        advice = suggested(function, *seen)
        assert advice.action in ("contradiction", "restore", "threshold", "ask"), advice


def test_two_that_contradict_at_certain_paces_only_do_not_elsewhere():
    assert not explained("heel_rise_too_high slight fast", "terminal_impact slight slow").contradictions
    assert not explained("heel_rise_too_high slight", "terminal_impact slight").contradictions
    told = explained("heel_rise_too_high slight slow", "terminal_impact slight fast")
    assert told.held_back == ("swing_flexion", "swing_extension")


def test_without_a_pace_every_explanation_is_shown_and_the_pace_is_asked_for():
    text = read("terminal_impact slight", "extension_incomplete slight")
    for reading in next(p for p in EDITION.contradictions if p.first == "terminal_impact").explained:
        assert reading.words in text
    assert "Say at which pace each was found" in text
    assert "Say at which pace" not in read("terminal_impact slight fast", "extension_incomplete slight slow")


def test_a_finding_looked_for_and_not_there_contradicts_nothing():
    assert not explained("heel_rise_too_high marked", "heel_rise_too_low none").contradictions
    assert explained("heel_rise_too_high none") == explained()


def test_an_unsafe_stance_found_while_swing_is_tuned_goes_back_to_the_threshold():
    advice = suggested("swing_flexion", "heel_rise_too_high marked", "no_damping_when_loaded slight")
    assert (advice.action, advice.finding) == ("threshold", "no_damping_when_loaded")


def test_what_belongs_to_another_valve_is_told_where_it_is_tuned():
    assert "That belongs to the trials of 'Swing extension'." in read("terminal_impact slight", function="swing_flexion")
    assert "That belongs" not in read("terminal_impact slight", function="swing_extension")


def test_nothing_is_said_to_be_certain():
    everything = " ".join(read(f"{key} marked") for key in ROWS).lower()
    for word in ("must be the", "certainly", "proves", "the cause is", "diagnos"):
        assert word not in everything


@pytest.mark.parametrize("row", EDITION.findings, ids=lambda f: f.key)
def test_every_finding_alone_says_what_to_try_what_it_may_be_and_where_that_comes_from(row):
    sections = why(found(f"{row.key} slight"), EDITION)
    by_key = {s.key for s in sections}
    assert {"leg", "disturbs", "source"} <= by_key and by_key & {"try", "restore"}
    text = read(f"{row.key} slight")
    assert row.try_first in text and row.source in text
    assert all(c.words[1:] in text for c in (*row.causes, *row.person))
    assert "none" not in text.lower().split() and "_" not in text


# Properties ------------------------------------------------------------------------

items = st.lists(
    st.fixed_dictionaries(
        {"finding": st.sampled_from([*ROWS, "unheard_of"]), "grade": st.sampled_from(["none", "slight", "marked", ""])},
        optional={"pace": st.sampled_from([*PACES, "", "trotting"]), "perceived": st.sampled_from(["seen", "felt"])},
    ),
    max_size=6, unique_by=lambda i: i["finding"],
)


@given(items)
def test_a_cause_that_explains_more_never_stands_behind_and_equals_keep_the_order_of_search(seen):
    told = explain(seen, EDITION.findings, EDITION.contradictions)
    ranks = [(-len(r.explains), r.cause.stage.place) for r in told.leg]
    assert ranks == sorted(ranks)
    shared = [-len(r.explains) for r in told.person]
    assert shared == sorted(shared)


@given(items, st.randoms())
def test_the_order_in_which_findings_were_graded_changes_neither_causes_nor_contradictions(seen, chance):
    shuffled = list(seen)
    chance.shuffle(shuffled)
    one, other = (explain(s, EDITION.findings, EDITION.contradictions) for s in (seen, shuffled))
    assert {(r.cause.key, len(r.explains)) for r in one.leg} == {(r.cause.key, len(r.explains)) for r in other.leg}
    assert one.contradictions == other.contradictions
    assert set(one.held_back) == set(other.held_back)


@given(items)
def test_no_adjuster_is_a_cause_to_turn_while_findings_want_it_both_ways(seen):
    told = explain(seen, EDITION.findings, EDITION.contradictions)
    wanted = {(n.finding.adjuster, n.finding.turn) for n in told.noticed}
    for function in FUNCTIONS:
        if {(function, "more"), (function, "less")} <= wanted:
            assert function in told.held_back
    assert not {r.cause.adjuster for r in told.leg} & set(told.held_back)


@given(st.sampled_from(PACES), st.sampled_from(PACES))
def test_one_pace_beside_another_reads_the_other_way_round_when_they_are_swapped(first, second):
    opposite = {"first_faster": "first_slower", "first_slower": "first_faster", "same": "same"}
    assert pace_relation(second, first) == opposite[pace_relation(first, second)]


@given(items)
def test_adding_a_finding_never_takes_a_contradiction_away(seen):
    before = contradictions_in(seen, EDITION.contradictions)
    taken = {i["finding"] for i in seen}
    for key in ROWS:
        if key not in taken:
            more = contradictions_in([*seen, {"finding": key, "grade": "slight"}], EDITION.contradictions)
            assert set(before) <= set(more)
