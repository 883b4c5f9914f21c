"""What each action on a complete fitting makes stale, and what it leaves standing.

The table is to be read by a prosthetist: one row is one thing that happens to
a fitting in which every step is met, then every step that no longer stands,
then the cause that the rail names.
"""

from __future__ import annotations

from typing import Callable, NamedTuple

import pytest

from shared_models.catalogue.sheets import demo_sheet
from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import Signature
from tests.fitting_desk import LEAD, PROSTHETIST, TECHNICIAN, Desk, undrawn

WALKED = {"stance_threshold", "swing_flexion", "swing_extension", "stance_damping"}
ALIGNED = {"static", "alignment_recheck"} | WALKED
CLOSED = {"alignment_closing", "sign_off", "final_walk"}


class Row(NamedTuple):
    """One action: what it makes stale, why, and what it opens."""

    happens: str
    do: Callable[[Desk], object]
    stale: set[str]
    because: set[tuple[str, str]] = set()
    open: set[tuple[str, str]] = set()


def turned(function: str) -> Callable[[Desk], object]:
    return lambda desk: desk.turn(function, "2")


def corrected(slot: str, **figures: str) -> Callable[[Desk], object]:
    return lambda desk: desk.correct(desk.head(slot), **figures)


def again(slot: str, **figures: str) -> Callable[[Desk], object]:
    """The same is done and recorded once more, as a new fact."""
    def do(desk: Desk) -> object:
        head = desk.head(slot)
        subject = desk.person if slot == "identity" else desk.fitting
        return desk.note(head.kind, {**head.body, **figures}, subject=subject)
    return do


def slackened(screw: str) -> Callable[[Desk], object]:
    return lambda desk: desk.note("screw_moved", {"screw": screw, "what": "slackened", "why": "foot turned out"})


def tightened(screw: str) -> Callable[[Desk], object]:
    return lambda desk: desk.tighten(screw)


def foot_exchanged(screw: str) -> Callable[[Desk], object]:
    """Another foot, of a sheet whose one screw has that key."""
    def do(desk: Desk) -> object:
        body = undrawn(demo_sheet("foot_elm")) | {"sheet": "demo-foot-oak"}
        body["screws"] = [dict(body["screws"][0], key=screw)]
        subject = Subject("component_sheet", body["sheet"])
        return desk.component("foot", desk.note("component_sheet", body, by=LEAD, subject=subject), "N2")
    return do


def signed_without_signature(desk: Desk) -> object:
    return desk.note("sign_off", {"technician": TECHNICIAN, "way": "witnessed"}, by=TECHNICIAN)


def signature_moved(desk: Desk) -> None:
    """The signature of the earlier sign-off is put beside a new one."""
    earlier = desk.record.has_signed(desk.head("sign_off"), "signs_off")
    entry = signed_without_signature(desk)
    moved = Signature(**{**earlier.as_record(), "signs": entry.digest})
    desk.record.add(signatures=[moved])


def signed_by_prosthetist_for_technician(desk: Desk) -> None:
    entry = desk.note("sign_off", {"technician": TECHNICIAN, "way": "witnessed"}, by=PROSTHETIST)
    desk.sign(entry, PROSTHETIST, "signs_off")


def stopped(desk: Desk) -> object:
    return desk.walk("swing_flexion", "stopped", stop_reason="pain")


def stopped_and_walked_again(desk: Desk) -> object:
    stopped(desk)
    return desk.walk("swing_flexion")


def answered_without_restoring(desk: Desk) -> object:
    stop = stopped(desk)
    desk.walk("swing_flexion")
    return desk.note("stop_answered", {"stopped": stop.digest, "restored": False})


def not_cleared(desk: Desk, what: str = "stairs") -> object:
    return desk.note("restriction", {"what": what, "because": "not_cleared", "follow_up_on": "2999-01-01"})


TABLE = [
    # A valve turned after its last trial: that trial, what was walked relying
    # on it, the caps over it (and the cap over that cap), and the final walk.
    Row("the threshold is turned", turned("stance_threshold"),
        WALKED | {"caps", "final_walk"}, {("replaced", "setting/stance_threshold")}),
    Row("the flexion valve is turned", turned("swing_flexion"),
        {"swing_flexion", "swing_extension", "caps", "final_walk"}, {("replaced", "setting/swing_flexion")}),
    Row("the extension valve is turned", turned("swing_extension"),
        {"swing_extension", "caps", "final_walk"}, {("replaced", "setting/swing_extension")}),
    Row("the damping screw is turned", turned("stance_damping"),
        {"stance_damping", "caps", "final_walk"}, {("replaced", "setting/stance_damping")}),
    Row("a cap is refitted once more", again("cap/knee.flexion"),
        {"caps", "final_walk"}, {("replaced", "cap/knee.flexion")}),

    # Screws.  Final tightening again asks for the alignment, the signature and
    # the walk; a screw that moved asks for everything that rests on alignment.
    Row("a screw under a cap is tightened again", tightened("knee.top_front"),
        CLOSED | {"caps"}, {("replaced", "torque_final/knee.top_front")}),
    Row("a screw beside the caps is tightened again", tightened("foot.front"),
        CLOSED, {("replaced", "torque_final/foot.front")}),
    Row("an adapter screw is slackened after sign-off", slackened("upper_adapter.left"),
        ALIGNED | CLOSED | {"ready", "torque"}, {("filled", "screw_moved/upper_adapter.left")}),
    Row("a screw under a cap is slackened", slackened("knee.top_front"),
        ALIGNED | CLOSED | {"ready", "torque", "caps"}, {("filled", "screw_moved/knee.top_front")}),
    Row("a screw is set back to its interim torque", lambda d: d.interim("foot.front"),
        CLOSED | {"ready", "torque"}, {("replaced", "torque_interim/foot.front")}),

    # Alignment and shoe.
    Row("the bench alignment is made anew", again("alignment/bench"),
        ALIGNED | {"ready", "alignment_closing", "final_walk"}, {("replaced", "alignment/bench")}),
    Row("the standing alignment is made anew", again("alignment/static"),
        {"alignment_recheck"} | WALKED, {("replaced", "alignment/static")}),
    Row("another shoe is worn", again("footwear", shoe="boot"),
        ALIGNED | {"bench", "ready", "alignment_closing", "final_walk"}, {("replaced", "footwear")}),

    # Components.
    Row("the foot is exchanged for one with the same screw", foot_exchanged("front"),
        ALIGNED | CLOSED | {"candidacy", "bench", "ready", "torque", "outcome"}, {("replaced", "component/foot")}),
    Row("the foot is exchanged for one with another screw", foot_exchanged("toe"),
        ALIGNED | CLOSED | {"candidacy", "bench", "outcome"}, {("replaced", "component/foot")},
        {("ready", "not_recorded"), ("torque", "not_recorded")}),

    # Typing errors: the leg is as it was, so only what was judged by the wrong
    # figure is asked for again.
    Row("the body mass was mistyped", corrected("body", body_mass_kg="83"),
        {"candidacy"}, {("corrected", "body")}),
    Row("the serial number was mistyped", corrected("component/knee", serial="K-7"), set()),
    Row("the family name was mistyped", corrected("identity", family_name="Exampel"), set()),
    Row("the second identifier was mistyped", corrected("identity", file_number="D-2014"),
        {"ready"}, {("corrected", "identity")}),
    Row("the side was mistyped", corrected("opened", side="right"),
        {"candidacy", "ready"}, {("corrected", "opened")}),
    Row("a torque reading was mistyped", corrected("torque_final/knee.top_front", reading_nm="11.1"),
        {"sign_off"}, {("corrected", "torque_final/knee.top_front")}),
    Row("a torque reading was mistyped and is out", corrected("torque_final/knee.top_front", reading_nm="9"),
        {"sign_off"}, {("corrected", "torque_final/knee.top_front")}, {("torque", "torque_outside")}),
    Row("the wrench was mistyped", corrected("torque_final/foot.front", wrench="W2"),
        {"sign_off"}, {("corrected", "torque_final/foot.front")}),
    Row("a position was mistyped", corrected("setting/swing_flexion", position="9"),
        {"swing_flexion", "swing_extension"}, {("corrected", "setting/swing_flexion")}),
    Row("the reason of a turn was mistyped", corrected("setting/swing_flexion", reason="other"), set()),
    Row("a load line was mistyped", corrected("alignment/static", load_line_offset_mm="35"), set()),
    Row("a load line was mistyped and is off", corrected("alignment/static", load_line_offset_mm="53"),
        set(), set(), {("static", "load_line_off")}),
    Row("a trial's note was mistyped", corrected("trial/swing_flexion", note="even"), set()),
    Row("the heel height of the shoe was mistyped", corrected("footwear", shoe_heel_height_mm="11"),
        ALIGNED | {"bench", "ready", "alignment_closing", "final_walk"}, {("corrected", "footwear")}),
    Row("which shoe was mistyped", corrected("footwear", shoe="boot"), set()),

    # Read again, with nothing moved.
    Row("the load line is measured again", lambda d: d.correct(d.head("alignment/static"), code="measured_again", load_line_offset_mm="33"), set()),
    Row("a torque is measured again", lambda d: d.correct(d.head("torque_final/foot.front"), code="measured_again", reading_nm="12.1"),
        {"sign_off"}, {("corrected", "torque_final/foot.front")}),

    # Trials that came after a confirmed one.
    Row("a worse trial follows the confirmed one", lambda d: d.walk("swing_flexion", "change"),
        set(), set(), {("swing_flexion", "trial_change")}),
    Row("a trial is stopped", stopped,
        set(), set(), {("swing_flexion", "trial_stopped"), ("swing_flexion", "stop_unanswered")}),
    Row("a stop stays unanswered though the next trial is right", stopped_and_walked_again,
        set(), set(), {("swing_flexion", "stop_unanswered")}),
    Row("a stop is answered with 'not restored' and no reason", answered_without_restoring,
        set(), set(), {("swing_flexion", "reason_missing")}),
    Row("the confirmed trial is taken back", lambda d: d.withdraw(d.head("trial/swing_flexion")),
        set(), set(), {("swing_flexion", "not_recorded")}),

    # Sign-off.
    Row("the prosthetist signs off", lambda d: d.sign_off(PROSTHETIST),
        set(), set(), {("sign_off", "signed_by_prosthetist")}),
    Row("somebody without the role signs off", lambda d: d.sign_off(LEAD),
        set(), set(), {("sign_off", "not_a_technician")}),
    Row("the prosthetist signs in the technician's name", signed_by_prosthetist_for_technician,
        set(), set(), {("sign_off", "signed_for_another")}),
    Row("the sign-off has no signature", signed_without_signature,
        set(), set(), {("sign_off", "signature_missing")}),
    Row("the signature belongs to another sign-off", signature_moved,
        set(), set(), {("sign_off", "signature_missing")}),

    # Restrictions.
    Row("stairs are taken back after they were cleared", not_cleared,
        {"handover"}, {("filled", "restriction/stairs")}),
]


@pytest.mark.parametrize("row", TABLE, ids=[row.happens for row in TABLE])
def test_exactly_these_steps_stop_standing_when(row: Row) -> None:
    desk = Desk.finished()
    assert desk.verdict().state == "complete"

    row.do(desk)
    steps = desk.verdict().steps

    left = {step.key for step in steps if step.state != "met"}
    opened = {(s.key, r.code) for s in steps for r in s.remarks if r.blocks and not r.code.startswith("stale_")}
    assert opened == row.open
    assert {step.key for step in steps if step.state == "stale"} == row.stale - {key for key, _ in opened}
    assert left == row.stale | {key for key, _ in opened}
    causes = {
        (r.code.removeprefix("stale_"), r.figures["rests_on"])
        for s in steps for r in s.remarks if r.code.startswith("stale_")
    }
    assert causes == row.because


def test_each_cause_names_the_entry_that_made_it_so() -> None:
    desk = Desk.finished()
    turn = desk.turn("swing_extension", "9")

    causes = {
        r.cause for s in desk.verdict().steps for r in s.remarks if r.code.startswith("stale_")
    }

    assert causes == {turn.digest}


def test_final_tightening_of_every_screw_asks_for_caps_alignment_signature_and_walk_only() -> None:
    desk = Desk.finished()
    desk.tighten()
    assert desk.stale() == CLOSED | {"caps"}


def stairs_not_cleared() -> Desk:
    """A complete fitting in which stairs were never walked."""
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.stand()
    desk.turn("stance_threshold", "1")
    desk.walk("stance_threshold")
    desk.note("skin_first", {"minutes_walked": "12", "skin_state": "intact"})
    desk.walk("swing_flexion")
    desk.walk("swing_extension")
    desk.recheck()
    desk.walk("ramp")
    desk.walk("low_steps")
    not_cleared(desk)
    return desk.close().hand_over()


def test_a_fitting_without_stairs_is_complete_with_that_restriction() -> None:
    verdict = stairs_not_cleared().verdict()
    assert (verdict.state, verdict.restrictions) == ("complete_with_restriction", ("stairs",))


def test_a_restriction_withdrawn_opens_the_stairs_and_what_was_said_at_handover() -> None:
    desk = stairs_not_cleared()
    desk.withdraw(desk.head("restriction/stairs"), "mistyped")

    states = {key: state for key, state in desk.states().items() if state != "met"}

    assert states == {"stance_damping": "open", "handover": "stale"}
    assert [r.code for r in desk.verdict().step("handover").remarks] == ["stale_taken_away"]


def test_stairs_walked_and_confirmed_later_lift_the_restriction() -> None:
    desk = stairs_not_cleared()
    desk.walk("stairs")
    assert (desk.verdict().state, desk.verdict().restrictions) == ("complete", ())


def test_a_restriction_is_not_lifted_by_stairs_that_were_cleared_before_it() -> None:
    desk = Desk.finished()
    not_cleared(desk)
    desk.hand_over()
    assert desk.verdict().restrictions == ("stairs",)
    assert desk.verdict().state == "complete_with_restriction"


def test_a_restriction_made_apart_from_a_cleared_trial_is_not_lost() -> None:
    desk = stairs_not_cleared()
    desk.withdraw(desk.head("restriction/stairs"), "mistyped")
    other = desk.beside("tablet-b")
    not_cleared(other)
    desk.walk("stairs")

    desk.take(other)

    assert desk.verdict().restrictions == ("stairs",)


def test_a_follow_up_in_the_past_does_not_clear_the_way() -> None:
    desk = stairs_not_cleared()
    desk.correct(desk.head("restriction/stairs"), follow_up_on="2001-01-01")
    step = desk.verdict().step("stance_damping")
    assert step.state == "open"
    assert "follow_up_not_ahead" in {r.code for r in step.remarks}


def test_a_fall_on_stairs_wants_its_answer_and_its_event_though_stairs_are_then_not_cleared() -> None:
    desk = Desk.finished()
    stop = desk.walk("stairs", "stopped", stop_reason="fall")
    not_cleared(desk)
    desk.hand_over()
    assert desk.verdict().state == "incomplete"

    desk.note("stop_answered", {"stopped": stop.digest, "restored": True})
    assert desk.verdict().state == "incomplete"

    desk.event()

    assert desk.verdict().state == "complete_with_restriction"


def test_a_stopped_trial_that_is_corrected_keeps_the_answer_it_had() -> None:
    desk = Desk.finished()
    stop = stopped(desk)
    desk.note("stop_answered", {"stopped": stop.digest, "restored": True})
    desk.correct(stop, stop_reason="asked")
    desk.walk("swing_flexion")
    assert desk.verdict().state == "complete"


def test_a_proof_stands_again_once_what_replaced_its_ground_is_withdrawn() -> None:
    desk = Desk.finished()
    turn = desk.turn("swing_flexion", "9")
    assert desk.stale()

    desk.withdraw(turn, "mistyped")

    assert desk.verdict().state == "complete"


def test_a_proof_made_on_a_withdrawn_turn_names_the_withdrawal_as_its_cause() -> None:
    desk = Desk.finished()
    turn = desk.turn("swing_extension", "9")
    desk.walk("swing_extension")
    gone = desk.withdraw(turn, "mistyped")

    causes = {(r.code, r.cause) for r in desk.verdict().step("swing_extension").remarks}

    assert causes == {("stale_taken_away", gone.digest)}


@pytest.mark.parametrize("field", ["descent", "sound_side_landing"])
def test_stairs_on_which_the_body_drops_are_not_cleared_by_saying_confirmed(field: str) -> None:
    desk = Desk.finished()
    desk.walk("stairs", **{field: {"descent": "drops", "sound_side_landing": "hard"}[field]})
    assert desk.states()["stance_damping"] == "open"


def test_an_accepted_fitting_is_amended_by_any_later_change_even_of_a_serial_number() -> None:
    desk = Desk.finished()
    desk.request_review()
    desk.decide()
    assert (desk.verdict().status, desk.verdict().review) == ("completed", "accepted")

    desk.correct(desk.head("component/knee"), serial="K-7")

    assert desk.verdict().status == "amended"


def test_a_returned_fitting_with_a_stale_step_is_as_the_review_saw_it() -> None:
    desk = Desk.finished()
    desk.turn("swing_flexion", "9")
    desk.request_review()
    desk.decide("rejected", [{"step": "swing_flexion", "text": "walk again"}])
    assert not desk.verdict().changed_since_review
