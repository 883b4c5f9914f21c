"""A telephone: kept as people write it, called as it would be dialled, and no ground of any proof."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from shared_models.catalogue.edition import load_edition
from shared_models.checks.entering import read_form
from shared_models.checks.telephones import LONGEST_TELEPHONE, can_be_called, telephone_link
from shared_models.checks.verdict import judge
from shared_models.entries import fitting as fitting_room
from shared_models.entries import record as record_room
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.quantities.moments import now_here
from shared_models.wording.entering import refusal_words
from shared_models.wording.sentences import said
from tests.fitting_desk import Desk

# Numbers of the range that the United Kingdom's regulator keeps for drama, which rings nowhere.
WRITTEN = {
    "+44 1632 960123": "tel:+441632960123", "0044 1632 960123": "tel:00441632960123",
    "(01632) 960-123": "tel:01632960123", "01632/960123": "tel:01632960123", "01632 / 960123": "tel:01632960123",
    "+44 (0)1632 960123": "tel:+441632960123", "(+44) 1632.960.123": "tel:+441632960123",
    "01632 960123 ext. 4": "tel:01632960123;ext=4", "01632 960123 x4": "tel:01632960123;ext=4",
    "tel. 01632 960123": "tel:01632960123", "01632 960123 (daughter)": "tel:01632960123",
    "01632 960123, daughter": "tel:01632960123", "112": "tel:112", "٠١٦٣٢ ٩٦٠١٢٣": "tel:01632960123",
}
#: Kept and shown, but it is not sure which digits are to be dialled.
NOT_ONE_NUMBER = (
    "01632 960123, 01632 960124", "0163 960 / 0163 961", "01632 960123 / +44 1632 960124", "0800 SAMPLE",
    "after 5 o'clock 01632 960123", "01632 960123 01632 960124", "01632 960123; in the evening 960124",
)


def identity_of(typed: str):
    body = {"family_name": "Example", "given_name": "Ash", "born_on": "1988-04-02", "file_number": "D-1", "telephone": typed}
    edition = load_edition()
    return read_form(edition.kinds["identity"], body, edition.choices, date(2026, 11, 27))


@pytest.mark.parametrize("typed", [*WRITTEN, *NOT_ONE_NUMBER])
def test_a_number_is_kept_as_it_was_written(typed):
    reading = identity_of(f"  {typed} ")
    assert reading.refused == {} and reading.body["telephone"] == typed


@pytest.mark.parametrize("typed, called", WRITTEN.items())
def test_a_number_is_called_as_it_would_be_dialled(typed, called):
    assert telephone_link(typed) == called


@pytest.mark.parametrize("typed", NOT_ONE_NUMBER)
def test_what_is_not_surely_one_number_calls_nobody(typed):
    assert telephone_link(typed) == ""


@pytest.mark.parametrize("typed", ["12", "none", "call the neighbour", "+", "ext. 4", "0-0"])
def test_what_cannot_be_called_is_refused_with_what_would_be_right(typed):
    refused = identity_of(typed).refused["telephone"]
    assert refusal_words(refused) == (
        f"'{typed}' can't be called: it has fewer than 3 digits. Type the number as it is dialled,"
        " like 01632 960123 or +44 1632 960123 ext. 4, or leave this empty."
    )
    assert can_be_called("01632 960123") and can_be_called("+44 1632 960123 ext. 4"), "and what it says is right is taken"


def test_a_story_in_the_place_of_a_number_is_refused_by_its_length():
    refused = identity_of("01632 960123 " + "x" * LONGEST_TELEPHONE).refused["telephone"]
    assert refusal_words(refused) == f"Too long. Keep it under {LONGEST_TELEPHONE} characters."


@pytest.mark.parametrize("typed", ["", "   "])
def test_a_person_without_a_telephone_is_recorded_without_one(typed):
    reading = identity_of(typed)
    assert reading.refused == {} and "telephone" not in reading.body


# What rests on who it is ------------------------------------------------------------------


def accepted() -> Desk:
    desk = Desk.finished()
    desk.request_review()
    desk.decide()
    return desk


def what_is_told(desk: Desk) -> dict:
    """The verdict, but for which entry says who it is: a correction is another entry."""
    found = desk.verdict().as_record()
    return {**found, "steps": [{k: v for k, v in step.items() if (step["key"], k) != ("person", "proofs")} for step in found["steps"]]}


def test_a_telephone_noted_or_corrected_after_the_review_changes_no_proof_and_no_review():
    desk = accepted()
    before = what_is_told(desk)
    assert (before["state"], before["review"], before["changed_since_review"]) == ("complete", "accepted", False)
    for number in ("01632 960123", "01632 960124"):
        desk.correct(desk.head("identity"), telephone=number)
        assert desk.head("identity").body["telephone"] == number
        assert what_is_told(desk) == before
    assert desk.stale() == set()
    desk.correct(desk.head("identity"), file_number="D-9")
    assert what_is_told(desk) != before, "a second identifier is what 'ready to walk' rests on"


def test_a_record_from_before_there_were_telephones_keeps_its_digests_and_its_verdict(monkeypatch):
    desk, day = accepted(), now_here().date()
    assert "telephone" not in desk.head("identity").body
    now = judge(desk.view, day)
    edition = load_edition()
    identity = edition.kinds["identity"]
    without = replace(identity, fields=tuple(f for f in identity.fields if f.key != "telephone"))
    assert len(without.fields) == len(identity.fields) - 1
    older = replace(edition, kinds={**edition.kinds, "identity": without})
    for room in (record_room, fitting_room):
        monkeypatch.setattr(room, "load_edition", lambda *_: older)
    read_then = Record()
    read_then.add(desk.record.entries.values(), desk.record.signatures.values())
    view = FittingView(read_then, desk.fitting.id)
    assert view.edition is older and sorted(read_then.entries) == sorted(desk.record.entries)
    then = judge(view, day)
    assert (then.digest, then.as_record()) == (now.digest, now.as_record())


def test_the_same_person_has_the_number_at_a_later_visit():
    desk = Desk.finished()
    desk.correct(desk.head("identity"), telephone="01632 960123")
    desk.visit("visit-2")
    assert desk.fitting.id == "visit-2" and desk.head("identity").body["telephone"] == "01632 960123"


def test_a_card_in_few_words_says_who_it_is_without_the_number():
    desk = Desk().staff().before_the_bench()
    desk.correct(desk.head("identity"), telephone="01632 960123")
    assert "960123" not in said(desk.head("identity"), desk.view)
