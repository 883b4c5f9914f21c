"""Each row of findings and causes is whole, readable and says where it comes from."""

from __future__ import annotations

import copy
import re
import tomllib
from dataclasses import fields

import pytest

from shared_models.catalogue.edition import BadEdition, edition_from, load_edition
from shared_models.catalogue.findings import (
    FINDING_FILES,
    PERSON,
    Cause,
    Contradiction,
    Finding,
)
from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.catalogue.soundness_of_findings import finding_troubles
from tests.house.tree import ROOT
from tests.shared_models.catalogue.test_edition import parsed

EDITION = load_edition()
ROWS = {f.key: f for f in EDITION.findings}
CAUSES = {c.key: c for c in EDITION.causes}

#: ISO 29783-1 names the sub-phases of the gait cycle in this order.
SUB_PHASES = [
    "initial contact", "loading response", "mid-stance", "terminal stance",
    "pre-swing", "initial swing", "mid swing", "terminal swing",
]

#: What published lists hold a finding to come from, in our own keys.  The
#: lists: "Transfemoral deviations" and "Proximal deviations", teaching pages
#: after Murphy (2013) and Spires, Kelly & Davis (2013); "Prosthetic Gait",
#: "Transfemoral Gait Deviations" and "Gait", teaching cards; "Common Gait
#: Deviations Post-Amputation", a therapy course page.  All of them secondary.
_AFTER_MURPHY = "after Murphy 2013; Spires, Kelly & Davis 2013"
_CARDS, _COURSE = "teaching cards", "therapy course page"
PUBLISHED = [
    ("foot_slaps", _AFTER_MURPHY, {"heel_soft", "socket_flexion_too_much", "foot_toes_up"}),
    ("foot_turns_out", _AFTER_MURPHY, {"heel_hard", "socket_loose", "foot_turned_out", "hip_rotators_weak", "does_not_load"}),
    ("foot_turns_out", _CARDS, {"heel_hard", "foot_too_far_in", "socket_loose"}),
    ("knee_gives_way", _AFTER_MURPHY, {
        "knee_too_far_forward", "socket_too_far_back", "heel_high", "foot_toes_up",
        "socket_flexion_too_little", "hip_flexion_contracture", "hip_extensors_weak"}),
    ("knee_gives_way", _CARDS, {"knee_too_far_forward", "heel_hard", "hip_extensors_weak"}),
    ("drops_over_the_toe", _AFTER_MURPHY, {
        "ankle_gives_up", "foot_toes_up", "toe_lever_short", "socket_too_far_forward", "foot_too_far_back", "hip_abductors_weak"}),
    ("push_off_weak", _AFTER_MURPHY, {"ankle_gives_up", "foot_too_far_back", "does_not_trust_stance"}),
    ("trunk_leans", _AFTER_MURPHY, {
        "leg_too_short", "socket_abducted", "socket_hurts", "hip_abductors_weak",
        "hip_abduction_contracture", "balance_poor", "pain"}),
    ("trunk_leans_forward", _AFTER_MURPHY, {
        "socket_flexion_too_little", "knee_too_far_forward", "threshold_too_high",
        "hip_flexion_contracture", "hip_extensors_weak", "balance_poor", "socket_hurts"}),
    ("back_hollows", _AFTER_MURPHY, {
        "hip_flexion_contracture", "hip_extensors_weak", "front_brim_presses", "seat_poor", "heel_high"}),
    ("walks_wide", _CARDS, {
        "medial_wall_high", "hip_abduction_contracture", "leg_too_long", "knee_knocked", "balance_poor", "socket_abducted"}),
    ("walks_narrow", _CARDS, {"foot_too_far_in"}),
    ("swings_outward", _CARDS, {
        "leg_too_long", "does_not_trust_bending", "swing_flexion_too_much", "extension_aid_strong",
        "suspension_poor", "socket_tight", "foot_toes_down"}),
    ("swings_outward", _COURSE, {"leg_too_long", "swing_flexion_too_much", "hip_flexors_weak", "habit", "does_not_trust_bending"}),
    ("rises_on_sound_toe", _CARDS, {"swing_flexion_too_little", "leg_too_long"}),
    ("rises_on_sound_toe", _COURSE, {"leg_too_long", "foot_toes_down", "swing_flexion_too_much", "habit", "hip_flexors_weak"}),
    ("heel_whips_in", _COURSE, {"socket_tight", "toe_break_askew", "knee_turned_out", "habit", "donned_turned"}),
    ("heel_whips_out", _COURSE, {"donned_turned"}),
    ("heel_rise_too_high", _CARDS, {"swing_flexion_too_little", "extension_aid_weak"}),
    ("terminal_impact", _CARDS, {"swing_extension_too_little", "extension_aid_strong"}),
    ("steps_unequal", _CARDS, {"socket_flexion_too_much", "habit", "does_not_trust_stance"}),
]


@pytest.mark.parametrize("row", EDITION.findings, ids=lambda f: f.key)
def test_a_prosthetist_can_read_the_row(row):
    """Own words, whole sentences, a phase, where and how it is noticed, and a source."""
    assert 3 <= len(row.words.split()) <= 16 and row.words[0].islower()
    assert not row.words.endswith(".") and row.try_first.endswith(".") and row.try_first[0].isupper()
    assert row.phases and row.noticed and row.seen_at and row.causes and row.disturbs
    assert row.terms or row.no_longer_offered
    assert re.search(r"common practice|from memory|secondary", row.source)
    assert {c.sort for c in row.person} <= {PERSON}
    for text in (row.words, row.try_first):
        assert "_" not in text and len(text) < 180


@pytest.mark.parametrize("cause", EDITION.causes, ids=lambda c: c.key)
def test_a_cause_says_what_to_look_at_and_only_a_person_has_no_place_in_the_search(cause):
    assert cause.words and cause.look and "_" not in cause.words + cause.look
    assert not cause.words.endswith(".") and not cause.look.endswith(".")
    assert (cause.stage is None) == (cause.sort == PERSON)
    if cause.adjuster:
        assert (cause.sort, cause.adjuster in FUNCTIONS, bool(cause.turn)) == ("adjuster", True, True)


def test_twenty_eight_deviations_are_offered_and_each_trade_term_means_one_of_them():
    """Twenty-eight of the gait; a further row says of stairs that damping did not come in."""
    offered = [f for f in EDITION.findings if not f.no_longer_offered]
    assert len({f.key for f in offered} - {"no_damping_on_descent"}) == 28
    terms = [t for f in offered for t in f.terms]
    assert len(terms) == len(set(terms))


def test_the_phases_of_gait_are_the_standards_and_each_shows_something():
    """ISO 29783-1, sub-phases of stance and swing."""
    assert list(EDITION.choices["gait_phase"].values()) == SUB_PHASES
    assert {p for f in EDITION.findings for p in f.phases} == set(EDITION.choices["gait_phase"])


@pytest.mark.parametrize(("key", "source", "causes"), PUBLISHED, ids=lambda v: v if isinstance(v, str) else "")
def test_a_row_holds_every_cause_that_a_published_list_gives_it(key, source, causes):
    row = ROWS[key]
    assert causes <= {c.key for c in (*row.causes, *row.person)}
    assert "secondary" in row.source, source


def test_a_source_that_is_not_common_practice_is_claimed_only_where_a_list_was_compared():
    claimed = {f.key for f in EDITION.findings if "secondary" in f.source}
    assert claimed == {key for key, _, _ in PUBLISHED}


def test_the_search_goes_from_the_skin_to_the_fine_setting():
    """Common practice: skin and socket, length, alignment, stance, swing, stairs, cadence."""
    assert [s.key for s in EDITION.search_order] == [
        "skin_socket_suspension", "length", "alignment", "stance_safety",
        "swing_flexion", "swing_extension", "stairs_ramp", "cadence",
    ]
    assert [s.place for s in EDITION.search_order] == list(range(8))
    sorts = {"height": "length", "foot": "alignment", "alignment": "alignment", "socket": "skin_socket_suspension", "suspension": "skin_socket_suspension"}
    for cause in EDITION.causes:
        assert cause.search == sorts.get(cause.sort, cause.search)


@pytest.mark.parametrize("function", FUNCTIONS)
def test_a_trial_page_stays_short_and_everything_else_is_one_opener_away(function):
    own = EDITION.own_findings(function)
    assert 2 <= len(own) <= 4 and {f.trial for f in own} == {function}
    others = EDITION.other_findings(function)
    assert len(others) <= 6 and max(len(rows) for rows in others.values()) <= 9
    everything = [f.key for f in own] + [f.key for rows in others.values() for f in rows]
    assert sorted(everything) == sorted(f.key for f in EDITION.findings if not f.no_longer_offered)


def test_what_two_rows_took_over_stays_readable_but_is_no_longer_offered():
    assert ROWS["leg_swings_round"].words == "leg swings round to the side, or rises on the sound toe"
    for function in ("", *FUNCTIONS):
        offered = EDITION.findings_of(function) + sum(EDITION.other_findings(function).values(), ())
        assert "leg_swings_round" not in {f.key for f in offered}


def test_what_unsettles_stance_puts_the_last_confirmed_settings_back():
    assert {f.key for f in EDITION.findings if f.restore} == {
        "no_damping_when_loaded", "knee_gives_way", "no_damping_on_descent",
    }


def spoilt(spoil) -> list[str]:
    raw = copy.deepcopy(parsed())
    spoil(raw["findings"])
    return finding_troubles(edition_from(raw["steps"], raw["kinds"], raw["findings"], raw["choices"]))


def row(tables, key: str) -> dict:
    return next(r for r in tables["findings"] if r["key"] == key)


def cause(tables, key: str) -> dict:
    return next(r for r in tables["causes"] if r["key"] == key)


SPOILT = {
    "a finding without a source": (lambda t: row(t, "foot_slaps").pop("source"), "foot_slaps lacks its source"),
    "a finding without a cause": (lambda t: row(t, "foot_slaps").update(causes=[]), "foot_slaps lacks its causes"),
    "a finding without a phase of gait": (lambda t: row(t, "foot_slaps").pop("phases"), "foot_slaps lacks its phases"),
    "a phase of gait that the standard does not have": (lambda t: row(t, "foot_slaps").update(phases=["heel_strike"]), "unknown phase heel_strike"),
    "a way of noticing that nobody has": (lambda t: row(t, "foot_slaps").update(noticed=["smelt"]), "unknown way of noticing smelt"),
    "a finding seen nowhere": (lambda t: row(t, "foot_slaps").update(seen_at="elsewhere"), "unknown place elsewhere"),
    "a step disturbed that is not there": (lambda t: row(t, "foot_slaps").update(disturbs=["polishing"]), "names the step polishing"),
    "a person's cause on the leg": (lambda t: row(t, "foot_slaps").update(causes=["habit"]), "habit on the wrong side"),
    "an adjuster turned that none of its causes turns": (lambda t: row(t, "terminal_impact").update(turn="less"), "turns swing_extension less, but no cause"),
    "a deviation of any trial that turns a valve": (lambda t: row(t, "foot_slaps").update(turn="more"), "turns no adjuster: more"),
    "a threshold that disturbs nothing": (lambda t: row(t, "damping_stays_in").update(disturbs=["ready"]), "disturbs swing_flexion"),
    "a finding that stands twice": (lambda t: t["findings"].append(row(t, "foot_slaps")), "finding foot_slaps stands twice"),
    "a cause of a sort that nobody knows": (lambda t: cause(t, "heel_soft").update(sort="luck"), "unknown sort luck"),
    "a cause that nobody can look at": (lambda t: cause(t, "heel_soft").update(look=""), "lacks its words or what to look at"),
    "a cause of the leg outside the search": (lambda t: cause(t, "heel_soft").update(search=""), "wrong place of the order of search"),
    "an adjuster without a direction": (lambda t: cause(t, "threshold_too_low").update(turn=""), "adjuster without a direction"),
    "a cause that explains nothing": (lambda t: t["causes"].append({**cause(t, "heel_soft"), "key": "heel_blue"}), "heel_blue explains nothing"),
    "a contradiction with what stands nowhere": (lambda t: t["contradictions"][0].update(second="heel_rise_odd"), "heel_rise_odd, which stands nowhere"),
    "a contradiction that explains nothing": (lambda t: t["contradictions"][0].update(explained=[]), "lacks its words, its explanation"),
    "a contradiction at a pace that nobody walks": (lambda t: t["contradictions"][0]["explained"][0].update(when="faster"), "unknown pace relation faster"),
    "a contradiction by pace of what has none": (lambda t: row(t, "heel_rise_too_low").pop("by_pace"), "goes by pace, but heel_rise_too_low does not"),
    "a stage of the search in no step": (lambda t: t["search"][0].update(steps=["spa"]), "names the step spa"),
}


@pytest.mark.parametrize("case", SPOILT)
def test_rows_are_found_out_that_have(case):
    spoil, said = SPOILT[case]
    found = spoilt(spoil)
    assert any(said in trouble for trouble in found), found


@pytest.mark.parametrize(("spoil", "said"), [
    (lambda t: row(t, "foot_slaps").update(causes=["moon"]), "finding foot_slaps names moon"),
    (lambda t: cause(t, "heel_soft").update(search="attic"), "cause heel_soft names attic"),
    (lambda t: t["contradictions"][0]["explained"][0].update(causes=["moon"]), "heel_rise_too_low names moon"),
    (lambda t: row(t, "foot_slaps").update(colour="red"), "colour"),
])
def test_a_name_that_stands_nowhere_is_refused_at_once_with_its_row(spoil, said):
    raw = copy.deepcopy(parsed())
    spoil(raw["findings"])
    with pytest.raises(BadEdition, match=said):
        edition_from(raw["steps"], raw["kinds"], raw["findings"], raw["choices"])


def test_a_row_reads_as_a_paragraph_in_its_file():
    """What a prosthetist opens is TOML whose rows begin with their key, one blank line apart."""
    from tests.shared_models.catalogue.test_edition import FOLDER

    for name in ("findings_swing_flexion.toml", "findings_deviations.toml", "causes.toml"):
        text = (FOLDER / name).read_text("utf-8")
        table = re.search(r"^\[\[(\w+)]]", text, re.M)[1]
        assert text.startswith("# ") and f"\n[[{table}]]\nkey = " in text
        assert len(re.findall(rf"\n\n\[\[{table}]]\nkey|\n\[\[{table}]]\nkey", text)) == len(tomllib.loads(text)[table])
        assert max(len(line) for line in text.splitlines()) < 260


def test_the_page_for_whoever_corrects_a_row_explains_every_field_of_it():
    page = (ROOT / "docs/calculations/findings.md").read_text("utf-8")
    for sort, worked_out in ((Finding, set()), (Cause, {"stage"}), (Contradiction, set())):
        for name in {f.name for f in fields(sort)} - worked_out:
            assert f"`{name}`" in page, (sort.__name__, name)
    for name in FINDING_FILES:
        assert f"`{name}`" in page
    example = tomllib.loads(re.sub(r"^ {4}", "", page.partition("## A finding\n")[2].partition("\n| field")[0], flags=re.M))
    shown, written = example["findings"][0], row(parsed()["findings"], "terminal_impact")
    assert {**shown, "source": ""} == {**written, "source": ""}
