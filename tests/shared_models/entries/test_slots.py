"""What holds a place, after withdrawals in any order, hostile ones among them."""

from __future__ import annotations

import itertools

import pytest

from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from tests.fitting_desk import LEAD, TECHNICIAN, Desk
from tests.properties.desk_moves import finished_desks, strange

SLOT = "setting/swing_flexion"


def desk() -> Desk:
    return finished_desks("tablet-a")[0]


def in_every_order(late: list, desk: Desk) -> set[tuple]:
    """What each order of arrival of these entries leaves in the slot."""
    rest = [e for e in desk.record.entries.values() if e not in late]
    seen = set()
    for order in itertools.permutations(late):
        record = Record()
        record.add(rest)
        record.add(order)
        slot = FittingView(record, desk.fitting.id).slot(SLOT)
        seen.add((tuple(e.digest for e in slot.heads()), tuple(e.digest for e in slot.history())))
    return seen


def test_a_withdrawal_that_arrives_before_what_it_takes_back_waits_for_it():
    d = desk()
    before = d.head(SLOT)
    turn = d.turn("swing_flexion", "9")
    gone = d.withdraw(turn)
    record = Record()
    record.add([e for e in d.record.entries.values() if e is not turn])
    assert FittingView(record, d.fitting.id).head(SLOT) == before
    record.add([turn])
    assert FittingView(record, d.fitting.id).head(SLOT) == before
    assert gone in FittingView(record, d.fitting.id).entries()


def test_a_chain_of_turns_and_withdrawals_ends_the_same_in_whatever_order_it_arrives():
    d = desk()
    one = d.turn("swing_flexion", "9")
    first = d.withdraw(one)
    two = d.turn("swing_flexion", "10")
    second = d.withdraw(two)
    before = next(e for e in d.view.slot(SLOT).entries.values() if e.digest in one.replaces)
    assert in_every_order([one, first, two, second], d) == {((before.digest,), (before.digest,))}


def test_withdrawing_a_correction_brings_back_what_it_corrected_also_in_the_course():
    d = desk()
    trial = d.walk("swing_flexion", "stopped", stop_reason="pain")
    mistaken = d.correct(trial, outcome="confirmed")
    assert not d.view.unanswered_stops()
    d.withdraw(mistaken, "mistyped")
    assert d.head("trial/swing_flexion") == trial
    assert trial in d.view.trials("trial/swing_flexion")
    assert d.view.unanswered_stops() == [trial]


def test_a_withdrawal_that_is_itself_withdrawn_takes_nothing_back():
    d = desk()
    turn = d.turn("swing_flexion", "9")
    gone = d.withdraw(turn)
    back = strange(d, "withdrawn", {}, (gone.digest,))
    assert d.head(SLOT) == turn
    assert d.view.slot(SLOT).withdrawn() == {gone.digest}
    assert in_every_order([turn, gone, back], d) == {
        ((turn.digest,), tuple(e.digest for e in d.view.slot(SLOT).history()))
    }


def test_one_withdrawal_of_two_places_takes_both_back_in_whatever_order_it_arrives():
    d = desk()
    flexion, extension = d.turn("swing_flexion", "9"), d.turn("swing_extension", "9")
    both = strange(d, "withdrawn", {}, (flexion.digest, extension.digest))
    rest = [e for e in d.record.entries.values() if e not in (flexion, extension, both)]
    positions = set()
    for order in itertools.permutations([flexion, extension, both]):
        record = Record()
        record.add([*rest, *order])
        positions.add(tuple(sorted(FittingView(record, d.fitting.id).settings().items())))
    assert len(positions) == 1
    assert dict(positions.pop())["swing_extension"] == "8"


def test_a_correction_withdrawn_on_one_tablet_and_corrected_on_the_other_hides_neither():
    left, right = finished_desks("tablet-a", "tablet-b")
    first = left.correct(left.head(SLOT), position="9")
    right.take(left)
    second = right.correct(first, position="10")
    gone = left.withdraw(first, "mistyped")
    left.take(right)
    assert {e.digest for e in left.view.heads(SLOT)} == {second.digest, gone.digest}
    assert [e.digest for e in left.view.slot(SLOT).history()] == [second.digest]


def test_a_trial_corrected_later_keeps_its_place_beside_one_walked_apart():
    left, right = finished_desks("tablet-a", "tablet-b")
    first, second = left.walk("swing_flexion", "change"), right.walk("swing_flexion", "change")
    left.take(right)
    before = [e.digest for e in left.view.trials("trial/swing_flexion")]
    earlier = min((first, second), key=lambda e: e.order)
    corrected = left.correct(earlier, note="even")
    after = [e.digest for e in left.view.trials("trial/swing_flexion")]
    assert corrected.order > max(first, second, key=lambda e: e.order).order
    assert after == [corrected.digest if d == earlier.digest else d for d in before]


def test_a_trial_walked_after_another_stands_after_it_whatever_the_clocks_say():
    left, right = finished_desks("tablet-a", "tablet-b")
    left.author.clock.see("0fffffffffff-0000")
    ahead = left.walk("swing_flexion", "change")
    right.take(left)
    behind = right.walk("swing_flexion", "change")
    assert behind.order < ahead.order
    assert [e for e in right.view.trials("trial/swing_flexion")][-2:] == [ahead, behind]


def test_an_entry_that_claims_to_replace_a_fact_of_another_fitting_changes_nothing_there():
    d = desk()
    mine = d.head(SLOT)
    d.fitting, own = type(d.fitting)("fitting", "fitting-2"), d.fitting
    strange(d, "setting", {"function": "swing_flexion", "position": "0"}, (mine.digest,))
    strange(d, "withdrawn", {}, (mine.digest,))
    d.fitting = own
    assert d.head(SLOT) == mine
    assert d.verdict().state == "complete"


def test_a_replacement_that_moves_to_another_place_leaves_the_first_as_it_was_and_disputes_the_other():
    d = desk()
    mine = d.head(SLOT)
    stray = strange(d, "setting", {"function": "swing_extension", "position": "3"}, (mine.digest,))
    assert d.head(SLOT) == mine
    assert stray in d.view.heads("setting/swing_extension")
    assert d.states()["swing_extension"] == "disputed"


def test_a_proof_that_rests_on_itself_or_on_nothing_known_is_judged_and_not_believed():
    d = desk()
    trial = d.head("trial/swing_flexion")
    strange(d, trial.kind, dict(trial.body), (trial.digest,), rests_on=["f" * 64])
    step = d.verdict().step("swing_flexion")
    assert step.state == "open"
    assert "stale_not_here" in {r.code for r in step.remarks}


@pytest.mark.parametrize("made", ["withdrawals of withdrawals", "turns each withdrawn"])
def test_a_chain_of_thousands_does_not_break_the_fold(made):
    d = desk()
    last = d.turn("swing_flexion", "9")
    for _ in range(1500):
        if made == "turns each withdrawn":
            gone = d.withdraw(last)
            last = strange(d, "setting", {"function": "swing_flexion", "position": "9"}, (gone.digest,))
        else:
            last = strange(d, "withdrawn", {}, (last.digest,))
    if made == "turns each withdrawn":
        d.withdraw(last)
    backwards = Record()
    backwards.add(reversed(list(d.record.entries.values())), d.record.signatures.values())
    assert FittingView(backwards, d.fitting.id).heads(SLOT) == d.view.heads(SLOT)
    assert d.verdict().digest


def test_an_unknown_fact_about_somebody_of_the_staff_gives_nobody_a_key_or_a_role():
    d = desk()
    subject = type(d.fitting)("staff", TECHNICIAN)
    key = d.record.head(subject, "key/tablet-a") or next(
        e for s in d.record.slots(subject).values() for e in s.entries.values() if e.kind == "staff_key"
    )
    strange(d, "new_key_form", {"public_key": "AAAA"}, (key.digest,), subject={"type": "staff", "id": TECHNICIAN})
    assert "AAAA" not in d.record.staff_keys(TECHNICIAN)
    assert d.states()["sign_off"] == "met"


def test_a_key_that_was_recorded_for_the_wrong_person_signs_nothing_for_them():
    d = desk()
    subject = type(d.fitting)("staff", TECHNICIAN)
    for slot in list(d.record.slots(subject).values()):
        for entry in list(slot.entries.values()):
            if entry.kind == "staff_key":
                d.keep(d.author.withdraw(entry, LEAD, "wrong_person"))
    assert {r.code for r in d.verdict().step("sign_off").remarks} == {"signature_missing"}
