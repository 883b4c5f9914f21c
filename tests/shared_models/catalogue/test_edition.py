"""The edition of steps and rules is sound, and an unsound one is found out."""

from __future__ import annotations

import copy
import tomllib
from dataclasses import replace
from importlib.resources import files

import pytest

from shared_models.catalogue.edition import (
    BadEdition,
    UnknownEdition,
    edition_from,
    load_edition,
    slot_matches,
)
from shared_models.catalogue.findings import FINDING_FILES, joined
from shared_models.catalogue.soundness import self_check
from shared_models.checks.rules import RULES
from tests.fitting_desk import Desk

FOLDER = files("shared_models.catalogue") / "edition_2026_1"
KIND_FILES = ("kinds_person.toml", "kinds_components.toml", "kinds_walking.toml", "kinds_closing.toml")


def parsed() -> dict:
    """The edition's files as written, to be spoilt by a test."""
    def read(name):
        return tomllib.loads((FOLDER / name).read_text("utf-8"))

    kinds = {}
    for name in KIND_FILES:
        kinds |= read(name)
    return {"steps": read("steps.toml"), "kinds": kinds, "findings": joined([read(name) for name in FINDING_FILES]), "choices": read("choices.toml")}


def troubles(spoil) -> list[str]:
    raw = copy.deepcopy(parsed())
    spoil(raw)
    return self_check(edition_from(raw["steps"], raw["kinds"], raw["findings"], raw["choices"]))


def step(raw: dict, key: str) -> dict:
    return next(s for s in raw["steps"]["steps"] if s["key"] == key)


def field(raw: dict, kind: str, key: str) -> dict:
    return next(f for f in raw["kinds"][kind]["fields"] if f["key"] == key)


def test_the_edition_as_written_is_sound():
    assert self_check(load_edition()) == []


SPOILT = {
    "a step that comes before its own earlier step": (
        lambda r: step(r, "bench").update(before=["static"]), "comes before its own static"),
    "two steps that wait for each other": (
        lambda r: (step(r, "ready").update(before=["static"]), step(r, "static").update(before=["ready"])), "comes before its own static"),
    "a step that waits for one that is not there": (
        lambda r: step(r, "bench").update(before=["jig"]), "comes before its own jig"),
    "a step that asks what no kind fills": (
        lambda r: step(r, "bench").update(asks=["alignment/jig"]), "alignment/jig"),
    "a restriction that no kind fills": (
        lambda r: step(r, "stance_damping").update(instead={"trial/ramp": "excuse/ramp"}), "excuse/ramp"),
    "a trial that rests on what no kind fills": (
        lambda r: r["kinds"]["trial_ramp"].update(rests_on=["setting_stance"]), "setting_stance"),
    "a proof that rests on an act that no kind fills": (
        lambda r: r["kinds"]["cap"].update(rests_on_act=["@everything"]), "@everything"),
    "a trial made after what no kind fills": (
        lambda r: r["kinds"]["trial_ramp"].update(made_after=["walk"]), "walk"),
    "a trial that lifts a restriction that no kind fills": (
        lambda r: r["kinds"]["trial_ramp"].update(lifts=["ban/ramp"]), "ban/ramp"),
    "a mass without its unit": (
        lambda r: field(r, "body", "body_mass_kg").pop("unit"), "body.body_mass_kg lacks its unit"),
    "a mass without its range": (
        lambda r: field(r, "body", "body_mass_kg").pop("highest"), "body.body_mass_kg lacks its unit or its range"),
    "a field of a type that no form has": (
        lambda r: field(r, "body", "body_mass_kg").update(type="float"), "unknown type float"),
    "choices that are not worded": (
        lambda r: field(r, "opened", "side").update(choices="sides"), "unknown choices sides"),
    "a refusal of a choice that is not offered": (
        lambda r: field(r, "skin_end", "skin_state").update(refuse_proof=["sore"]), "refuses sore"),
    "a slot named by a field that is not there": (
        lambda r: r["kinds"]["setting"].update(slot="setting/{valve}"), "slot uses valve"),
    "a step for each of what nothing lists": (
        lambda r: r["kinds"]["cap"].update(for_each="lid"), "for each lid"),
    "a step that asks for each without saying of what": (
        lambda r: r["kinds"]["cap"].pop("for_each"), "nothing says for each what"),
    "a finding of no trial": (
        lambda r: r["findings"]["findings"][0].update(trial="stance"), "belongs to no trial"),
    "a step that stands twice": (
        lambda r: r["steps"]["steps"].append(step(r, "handover")), "a step stands twice"),
    "proofs that rest on each other in a circle": (
        lambda r: r["kinds"]["bench_alignment"].update(rests_on=["trial/final_walk"]), "in a circle"),
    "a valve that rests on the cap over it": (
        lambda r: r["kinds"]["setting"].update(rests_on=["cap/*"]), "in a circle"),
}


@pytest.mark.parametrize("case", SPOILT)
def test_an_edition_is_found_out_that_has(case):
    spoil, said = SPOILT[case]
    found = troubles(spoil)
    assert any(said in trouble for trouble in found), found


@pytest.mark.parametrize("spoil", [
    lambda r: r["kinds"]["body"]["fields"][0].update(colour="red"),
    lambda r: r["kinds"]["trial_ramp"].update(common="trail"),
    lambda r: r["steps"].pop("title"),
])
def test_a_name_that_an_edition_does_not_have_is_refused_at_once(spoil):
    raw = parsed()
    spoil(raw)
    with pytest.raises(BadEdition):
        edition_from(raw["steps"], raw["kinds"], raw["findings"], raw["choices"])


def test_an_edition_that_is_not_here_is_named():
    with pytest.raises(UnknownEdition, match="2031.4"):
        load_edition("2031.4")


def test_every_rule_that_the_edition_names_exists_and_every_rule_is_named():
    named = {name for kind in load_edition().kinds.values() for name in kind.rules}
    assert named <= set(RULES)
    # Rules of kinds that no step asks for would never be looked at; these two
    # are looked at from the trial that was stopped or that they stand in for.
    edition = load_edition()
    unasked = {
        k.key for k in edition.kinds.values()
        if k.rules and all(e.step_of_slot(k.slot_pattern) is None for e in (edition, edition.visit))
    }
    assert unasked == {"stop_answered", "restriction"}
    assert set(RULES) == named


def test_every_slot_that_a_proof_rests_on_or_comes_after_is_filled_in_a_whole_fitting():
    desk = Desk.finished()
    desk.note("screw_moved", {"screw": "foot.front", "what": "moved", "why": "x"})
    for what in ("ramp", "low_steps", "stairs"):
        desk.note("restriction", {"what": what, "because": "no_place", "follow_up_on": "2999-01-01"})
    names = {"identity", "sheet", *desk.record.slots(desk.fitting)}
    for kind in load_edition().kinds.values():
        for pattern in (*kind.rests_on, *kind.rests_on_act, *kind.made_after, *kind.lifts):
            if not pattern.startswith("@"):
                wanted = pattern.replace("{screw}", "*")
                assert any(slot_matches(wanted, name) for name in names), (kind.key, pattern)


def test_every_step_of_the_rail_is_reached_by_the_first_screen_to_the_last():
    edition = load_edition()
    asked = {pattern for s in (*edition.steps, *edition.visit.steps) for pattern in s.asks}
    kinds = {edition.kind_of_slot(pattern).key for pattern in asked}
    beside = {
        "clinic", "staff", "staff_key", "key_vouched", "staff_access", "tablet", "held_decided", "component_sheet", "screw_moved", "stop_answered", "no_event", "restriction",
        "adverse_event", "event_follow_up", "walk_timing", "photo", "drawn_signature", "waiver", "not_applicable", "review_requested", "review_decision",
    }
    assert kinds | beside == set(edition.kinds)
    assert not kinds & beside


def test_only_outcome_measures_may_be_set_aside():
    assert [s.key for s in load_edition().steps if s.may_be_waived] == ["outcome"]


def test_at_a_visit_reading_as_found_may_be_set_aside_too_where_the_leg_came_broken():
    assert [s.key for s in load_edition().visit.steps if s.may_be_waived] == ["as_found", "outcome"]


def test_a_step_of_a_visit_that_names_what_no_kind_fills_is_found():
    edition = load_edition()
    spoilt = replace(edition, visit=replace(edition.visit, steps=(replace(edition.visit.steps[0], when=("jig/*",)),)))
    assert any(t.startswith("at a visit, ") and "jig/*" in t for t in self_check(spoilt))


def test_every_choice_of_the_edition_is_worded_and_used():
    edition = load_edition()
    used = {f.choices for k in edition.kinds.values() for f in k.fields if f.choices}
    assert used <= set(edition.choices)
    for words in edition.choices.values():
        assert all(text.strip() for text in words.values())
