"""The form that every entry has for ever: what is refused, and what a digest covers."""

from __future__ import annotations

import copy

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shared_models.entries.envelope import BadEnvelope, entry_from
from tests.fitting_desk import Desk

DIGEST = "a" * 64


def envelope() -> dict:
    """A sound envelope: the second entry of a tablet, which replaces another."""
    desk = Desk().staff().before_the_bench()
    return copy.deepcopy(dict(desk.correct(desk.head("body"), body_mass_kg="83.0").envelope))


SOUND = envelope()

#: field, what stands there instead, the code of the refusal, the field it names
MALFORMED = [
    ("format", 2, "unknown_format", "format"),
    ("format", True, "unknown_format", "format"),
    ("format", "1", "unknown_format", "format"),
    ("id", "8d9e", "not_a_uuid7", "id"),
    ("id", "c232ab00-9414-41ec-b3c8-9f6bdeced846", "not_a_uuid7", "id"),
    ("id", SOUND["id"].upper(), "not_a_uuid7", "id"),
    ("id", None, "not_a_uuid7", "id"),
    ("subject", "fitting-1", "not_an_object", "subject"),
    ("subject", {"type": "Fitting", "id": "f"}, "wrong_form", "type"),
    ("subject", {"type": "fitting", "id": ""}, "wrong_form", "id"),
    ("subject", {"type": "fitting"}, "wrong_form", "id"),
    ("clinic", "two words", "wrong_form", "clinic"),
    ("clinic", "c" * 101, "wrong_form", "clinic"),
    ("kind", "Body", "wrong_form", "kind"),
    ("kind", "body\n", "wrong_form", "kind"),
    ("kind_version", 0, "not_a_count", "kind_version"),
    ("kind_version", True, "not_a_count", "kind_version"),
    ("kind_version", "1", "not_a_count", "kind_version"),
    ("body", ["82.5"], "not_an_object", "body"),
    ("body", {"body_mass_kg": 82.5}, "not_strict_json", "entry"),
    ("body", {"body_mass_kg": 2**53}, "not_strict_json", "entry"),
    ("recorded_by", "", "wrong_form", "recorded_by"),
    ("happened_at", "2026-03-04T10:42:07", "not_a_moment", "happened_at"),
    ("happened_at", "yesterday", "not_a_moment", "happened_at"),
    ("recorded_at", 5, "not_a_moment", "recorded_at"),
    ("clock", "019cb5b1e5f8", "not_a_clock_reading", "clock"),
    ("clock", SOUND["clock"] + "\n", "not_a_clock_reading", "clock"),
    ("clock", SOUND["clock"].upper() + "A", "not_a_clock_reading", "clock"),
    ("tablet", "tablet a", "wrong_form", "tablet"),
    ("number", 0, "not_a_count", "number"),
    ("number", 1, "chain_start", "previous"),
    ("previous", "", "chain_start", "previous"),
    ("previous", "zz", "not_a_digest", "previous"),
    ("rests_on", DIGEST, "not_digests", "rests_on"),
    ("rests_on", ["A" * 64], "not_digests", "rests_on"),
    ("rests_on", ["b" * 64, DIGEST], "not_sorted", "rests_on"),
    ("replaces", [DIGEST, DIGEST], "not_sorted", "replaces"),
    ("replaces", [], "reason_and_replaces_go_together", "because"),
    ("because", {}, "reason_and_replaces_go_together", "because"),
    ("because", "mistyped", "not_an_object", "because"),
    ("because", {"code": 1}, "wrong_form", "because"),
    ("edition", "", "wrong_form", "edition"),
]


@pytest.mark.parametrize(("field", "value", "code", "place"), MALFORMED, ids=[f"{row[0]}-{row[2]}-{n}" for n, row in enumerate(MALFORMED)])
def test_a_malformed_field_is_refused_with_its_code_and_its_name(field, value, code, place):
    with pytest.raises(BadEnvelope) as refused:
        entry_from({**SOUND, field: value})
    assert (refused.value.code, refused.value.place) == (code, place)


@pytest.mark.parametrize("field", sorted(SOUND))
def test_no_field_of_an_entry_may_be_left_out(field):
    with pytest.raises(BadEnvelope):
        entry_from({name: value for name, value in SOUND.items() if name != field})


def test_every_field_has_a_malformed_example_above():
    assert {field for field, *_ in MALFORMED} == set(SOUND)


def test_a_name_that_this_program_does_not_know_is_kept_and_covered_by_the_digest():
    entry = entry_from({**SOUND, "weather": "rain"})
    assert entry.envelope["weather"] == "rain"
    assert entry.digest != entry_from(SOUND).digest


def test_what_was_recorded_does_not_change_with_the_list_it_was_made_from():
    findings = [{"finding": "trunk_leans", "grade": "slight"}]
    entry = entry_from({**SOUND, "body": {"findings": findings}})
    findings.append({"finding": "trunk_leans", "grade": "marked"})
    assert len(entry.body["findings"]) == 1
    assert entry_from(entry.envelope).digest == entry.digest


def test_figures_stay_as_they_were_typed():
    assert entry_from(SOUND).body["body_mass_kg"] == "83.0"
    assert entry_from({**SOUND, "body": {"body_mass_kg": "83"}}).digest != entry_from(
        {**SOUND, "body": {"body_mass_kg": "83.0"}}
    ).digest


VALUES = st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(max_size=12)
BODIES = st.dictionaries(st.text(max_size=8), VALUES | st.lists(VALUES, max_size=3), max_size=4)


@given(one=BODIES, other=BODIES)
def test_two_entries_have_one_digest_only_if_they_say_the_same(one, other):
    def exact(value):
        return repr(value) if not isinstance(value, dict) else sorted((k, repr(v)) for k, v in value.items())

    digests = {entry_from({**SOUND, "body": body}).digest for body in (one, other)}
    assert (len(digests) == 1) == (exact(one) == exact(other))


CHANGES = {
    "id": "018f3b3c-0000-7000-8000-000000000000", "subject": {"type": "fitting", "id": "another"},
    "clinic": "another", "kind": "footwear", "kind_version": 2, "recorded_by": "another",
    "happened_at": "2020-01-01T00:00:00.000+00:00", "recorded_at": "2020-01-01T00:00:00.000+00:00",
    "clock": "000000000001-0000", "tablet": "another", "number": 999, "previous": DIGEST,
    "rests_on": [DIGEST], "replaces": [DIGEST], "because": {"code": "other", "note": "x"},
    "edition": "2030.1", "body": {},
}


@pytest.mark.parametrize("field", sorted(CHANGES))
def test_a_change_of_any_field_changes_the_digest(field):
    assert entry_from({**SOUND, field: CHANGES[field]}).digest != entry_from(SOUND).digest


@given(st.permutations(sorted(SOUND)))
def test_the_order_in_which_fields_arrive_does_not_change_the_digest(order):
    assume(order != sorted(SOUND))
    assert entry_from({name: SOUND[name] for name in order}).digest == entry_from(SOUND).digest
