"""Two tablets change one fitting apart: disputed on both, settled by somebody, nothing hidden."""

from __future__ import annotations

import pytest

from shared_models.quantities.refusals import Refusal
from tests.fitting_desk import LEAD, PROSTHETIST, TECHNICIAN, Desk
from tests.properties.desk_moves import finished_desks


def two() -> tuple[Desk, Desk]:
    left, right = finished_desks("tablet-a", "tablet-b")
    return left, right


def exchange(left: Desk, right: Desk) -> None:
    left.take(right)
    right.take(left)
    assert left.verdict().digest == right.verdict().digest


def sides(desk: Desk, step: str) -> set[str]:
    """The entries that a step names as changed apart."""
    return {r.cause for r in desk.verdict().step(step).remarks if r.code == "changed_apart"}


def settle(desk: Desk, kind: str, body: dict, by: str = PROSTHETIST):
    return desk.note(kind, body, by, settles=True)


def test_the_same_valve_turned_on_both_is_disputed_until_somebody_says_which():
    left, right = two()
    one, other = left.turn("swing_flexion", "9"), right.turn("swing_flexion", "10")
    exchange(left, right)
    for desk in (left, right):
        assert desk.states()["swing_flexion"] == "disputed"
        assert sides(desk, "swing_flexion") == {one.digest, other.digest}
        assert "swing_flexion" not in desk.view.settings()

    settled = settle(right, "setting", dict(one.body), by=LEAD)
    exchange(left, right)

    assert left.view.settings()["swing_flexion"] == "9"
    assert left.head("setting/swing_flexion").recorded_by == LEAD
    assert set(settled.replaces) == {one.digest, other.digest}
    assert {one, other, settled} <= set(left.view.entries())


def test_nobody_writes_over_a_dispute_without_saying_that_they_settle_it():
    left, right = two()
    left.turn("swing_flexion", "9"), right.turn("swing_flexion", "10")
    exchange(left, right)
    with pytest.raises(Refusal, match="settle_first"):
        left.turn("swing_flexion", "11")


def test_a_trial_walked_with_the_side_that_is_chosen_keeps_its_proof():
    left, right = two()
    mine = left.turn("swing_extension", "9")
    left.walk("swing_extension")
    right.turn("swing_extension", "10")
    exchange(left, right)
    settle(left, "setting", dict(mine.body))
    exchange(left, right)
    assert left.states()["swing_extension"] == "met"


def test_a_trial_walked_with_the_side_that_is_not_chosen_is_to_be_walked_again():
    left, right = two()
    left.turn("swing_extension", "9")
    left.walk("swing_extension")
    theirs = right.turn("swing_extension", "10")
    exchange(left, right)
    settle(left, "setting", dict(theirs.body))
    assert left.states()["swing_extension"] == "stale"


def test_two_corrections_of_one_mass_are_both_kept_and_disputed():
    left, right = two()
    wrong = left.head("body")
    one, other = left.correct(wrong, body_mass_kg="83"), right.correct(wrong, body_mass_kg="85")
    exchange(left, right)
    assert sides(left, "person") == {one.digest, other.digest}
    assert "mass_not_known" in {r.code for r in left.verdict().step("candidacy").remarks}

    settle(left, "body", dict(other.body))
    left.note("candidacy", {"suitable": "yes"})
    exchange(left, right)
    assert right.verdict().state == "complete"


def test_a_correction_of_one_side_leaves_the_dispute_and_shows_the_corrected_side():
    left, right = two()
    one, other = left.turn("swing_flexion", "9"), right.turn("swing_flexion", "10")
    exchange(left, right)
    better = left.correct(one, position="8")
    exchange(left, right)
    assert sides(right, "swing_flexion") == {better.digest, other.digest}


def test_a_trial_corrected_on_one_and_withdrawn_on_the_other_is_disputed():
    left, right = two()
    trial = left.head("trial/swing_flexion")
    edited = left.correct(trial, note="even", pain_0_10="1")
    gone = right.withdraw(trial, "mistyped")
    exchange(left, right)
    assert left.states()["swing_flexion"] == "disputed"
    assert sides(left, "swing_flexion") == {edited.digest, gone.digest}

    settle(right, "trial_swing_flexion", dict(edited.body))
    exchange(left, right)
    assert left.states()["swing_flexion"] == "met"


def test_a_sign_off_made_while_a_screw_is_tightened_on_the_other_tablet_is_void():
    left, right = two()
    left.sign_off()
    torque = right.final_torque("foot.front", "12.2")
    exchange(left, right)
    step = right.verdict().step("sign_off")
    assert (step.state, {r.cause for r in step.remarks}) == ("stale", {torque.digest})

    left.sign_off()
    exchange(left, right)
    assert right.states()["sign_off"] == "met"


def test_two_sign_offs_made_apart_are_disputed_and_a_third_settles_them():
    left, right = two()
    left.sign_off(), right.sign_off()
    exchange(left, right)
    assert left.states()["sign_off"] == "disputed"
    entry = settle(left, "sign_off", {"technician": TECHNICIAN, "way": "read_again"}, by=TECHNICIAN)
    left.sign(entry, TECHNICIAN, "signs_off")
    exchange(left, right)
    assert right.states()["sign_off"] == "met"


def test_a_third_tablet_that_comes_late_opens_a_settled_dispute_again():
    left, right, late = finished_desks("tablet-a", "tablet-b", "tablet-c")
    one, _ = left.turn("swing_flexion", "9"), right.turn("swing_flexion", "10")
    third = late.turn("swing_flexion", "12")
    exchange(left, right)
    settled = settle(left, "setting", dict(one.body))
    exchange(left, right)

    exchange(left, late)
    assert sides(left, "swing_flexion") == {settled.digest, third.digest}

    settle(late, "setting", dict(third.body))
    exchange(left, late)
    assert left.view.settings()["swing_flexion"] == "12"


def test_three_sides_are_all_shown():
    desks = finished_desks("tablet-a", "tablet-b", "tablet-c")
    turns = {desk.turn("swing_flexion", str(9 + n)).digest for n, desk in enumerate(desks)}
    for desk in desks[1:]:
        desks[0].take(desk)
    assert sides(desks[0], "swing_flexion") == turns


def test_two_settlements_made_apart_are_disputed_in_their_turn():
    left, right = two()
    one, other = left.turn("swing_flexion", "9"), right.turn("swing_flexion", "10")
    exchange(left, right)
    first, second = settle(left, "setting", dict(one.body)), settle(right, "setting", dict(other.body))
    exchange(left, right)
    assert sides(left, "swing_flexion") == {first.digest, second.digest}


def test_a_settlement_taken_back_is_a_dispute_again_and_is_settled_as_one():
    left, right = two()
    one, other = left.turn("swing_flexion", "9"), right.turn("swing_flexion", "10")
    exchange(left, right)
    left.withdraw(settle(left, "setting", dict(one.body)), "mistyped")
    assert sides(left, "swing_flexion") == {one.digest, other.digest}
    with pytest.raises(Refusal, match="settle_first"):
        left.turn("swing_flexion", "11")
    assert settle(left, "setting", dict(other.body)).because_code == "settled"


def test_a_disputed_component_says_so_and_hides_neither_part():
    left, right = two()
    foot = left.head("component/foot").body
    one = left.note("component", {**foot, "serial": "N1"})
    other = right.note("component", {**foot, "serial": "N2"})
    exchange(left, right)
    assert sides(left, "components") == {one.digest, other.digest}
    assert left.verdict().state == "incomplete"


def test_a_fitting_opened_for_two_people_apart_names_neither_until_settled():
    left, right = two()
    opened = left.head("opened")
    mistaken = left.correct(opened, "wrong_person", person="person-2")
    right.correct(opened, side="right")
    exchange(left, right)
    assert left.view.person.id == "" and left.view.opened is not None
    assert left.states()["person"] == "disputed"

    settle(left, "opened", dict(mistaken.body))
    assert left.view.person.id == "person-2"


def test_an_opening_whose_correction_is_withdrawn_is_for_the_first_person_again():
    desk, _ = two()
    wrong = desk.correct(desk.head("opened"), "wrong_person", person="person-2")
    desk.withdraw(wrong, "mistyped")
    assert desk.view.person == desk.person
    assert desk.verdict().state == "complete"


def test_a_dispute_beside_the_steps_keeps_the_fitting_from_being_complete():
    left, right = two()
    event = {"event": "e1", "what": "fall", "during": "stairs", "injury": "none", "follow_up": "rest"}
    left.note("adverse_event", event)
    right.note("adverse_event", {**event, "injury": "minor"})
    exchange(left, right)
    assert left.verdict().state == "incomplete"
    assert {r.code for r in left.verdict().remarks} == {"changed_apart"}
