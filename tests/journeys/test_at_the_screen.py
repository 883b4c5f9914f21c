"""At the screen: what is refused, asked about, locked and signed, by touches."""

from __future__ import annotations

import pytest

from shared_models.entries.envelope import Subject
from shared_models.ledger.key_slots import MOST_WRONG_TRIES
from mobile.keeping.tablet import Newcomer, Tablet
from mobile.rehearsal import person
from tests.journeys.at_work import (
    PINS,
    PROSTHETIST,
    TECHNICIAN,
    alone,
    open_fitting,
    own,
    record,
    to_the_bench,
)
from tests.shared_models.making import CHEAP, patience

WRONG = "739154"


def hands_of(finger):
    """Return hands that type by this finger; imported late, after the window is there."""
    from mobile.rehearsal.hands import Hands

    return Hands(finger)


@pytest.fixture
def clinic(tmp_path):
    """A tablet with the demo clinic, its prosthetist at work."""
    tablet, session = alone(tmp_path)
    yield tablet, session
    tablet.close()


def test_a_refused_value_says_what_would_be_right_beside_the_field_and_stays_as_typed(
    clinic, on_screen, finger
):
    tablet, session = clinic
    fitting = open_fitting(session, "D-6001")
    stage, hands = on_screen(tablet, session), hands_of(finger)
    stage.go_fitting(fitting, "person", "body")
    before = own(session)
    for typed, said in (("825", "825 is above what is possible. Type 20 to 250 kg."),
                        ("2", "2 is below what is possible. Type 20 to 250 kg.")):
        hands.enter("body_mass_kg", typed)
        finger.tap("save")
        field = finger.find("field:body_mass_kg")
        assert (field.message_kind, field.message) == ("refusal", said)
        assert field.text == typed
        assert session.draft(f"fitting/{fitting}/body")["body_mass_kg"] == typed
    # An empty field is asked for too, and nothing was recorded.
    assert finger.find("field:carried_load_kg").message_kind == "refusal"
    assert own(session) == before
    hands.fill({"body_mass_kg": "82.5", "carried_load_kg": "6"})
    finger.tap("save")
    assert session.fitting(fitting).head("body").body["body_mass_kg"] == "82.5"


def test_an_unlikely_value_is_kept_with_a_doubt_beside_it(clinic, on_screen, finger):
    tablet, session = clinic
    fitting = open_fitting(session, "D-6002")
    stage, hands = on_screen(tablet, session), hands_of(finger)
    stage.go_fitting(fitting, "person", "body")
    hands.enter("body_mass_kg", "190")
    field = finger.find("field:body_mass_kg")
    assert field.message_kind == "doubt" and "Kept as typed" in field.message
    hands.enter("carried_load_kg", "6")
    finger.tap("save")
    assert session.fitting(fitting).head("body").body["body_mass_kg"] == "190"


# A possible duplicate ----------------------------------------------------------


def fill_new(stage, finger, **changed):
    stage.go_new()
    finger.settle()
    hands_of(finger).fill({**person.NEW_FITTING, **changed})
    finger.tap("save")


def people_of(session):
    return session.record.subjects("person")


def test_somebody_who_looks_alike_can_be_the_same_person(clinic, on_screen, finger):
    tablet, session = clinic
    stage = on_screen(tablet, session)
    fill_new(stage, finger, file_number="D-7001")
    known, = people_of(session)
    fill_new(stage, finger, file_number="d 7001", given_name="June", side="right")
    assert finger.is_there("same") and finger.sees("Is it one of these?")
    assert finger.sees("Juniper Example-Marsh")
    assert len(session.fittings()) == 1
    finger.tap(f"same_as:{known}")
    assert people_of(session) == [known]
    assert len(session.fittings()) == 2
    newest = session.fitting(session.fittings()[0])
    assert newest.opened.body["person"] == known
    assert newest.opened.body["side"] == "right"


def test_somebody_who_looks_alike_can_be_somebody_else_and_that_is_recorded(
    clinic, on_screen, finger
):
    tablet, session = clinic
    stage = on_screen(tablet, session)
    fill_new(stage, finger, file_number="D-7001")
    known, = people_of(session)
    fill_new(stage, finger, file_number="D-7002")
    finger.tap("same:confirm")
    other, = set(people_of(session)) - {known}
    identity = session.record.head(Subject("person", other), "identity")
    assert list(identity.body["different_from"]) == [known]
    assert session.fitting(session.fittings()[0]).opened.body["person"] == other


def test_going_back_from_the_question_keeps_the_form_and_records_nothing(
    clinic, on_screen, finger
):
    tablet, session = clinic
    stage = on_screen(tablet, session)
    fill_new(stage, finger, file_number="D-7001")
    before = own(session)
    fill_new(stage, finger, file_number="D-7001")
    finger.tap("same:withdraw")
    assert own(session) == before
    assert finger.find("field:family_name").text == person.NEW_FITTING["family_name"]


# PINs ----------------------------------------------------------------------------


def try_pin(finger, staff, pin):
    finger.tap(f"person:{staff}")
    hands_of(finger).pin(pin)
    return finger.find("pin_pad").message if finger.is_there("pin_pad") else ""


def test_ten_wrong_pins_lock_a_person_out_and_a_restart_or_the_right_pin_does_not_help(
    clinic, on_screen, finger, tmp_path
):
    tablet, _session = clinic
    tablet.slots.seconds = patience()
    stage = on_screen(tablet)
    for left in range(MOST_WRONG_TRIES - 1, 0, -1):
        assert try_pin(finger, PROSTHETIST, WRONG) == f"That is not the PIN. Tries left: {left}."
    locked = "Locked after 10 wrong tries, until a lead clinician at this tablet gives a new PIN."
    assert try_pin(finger, PROSTHETIST, WRONG) == locked
    assert try_pin(finger, PROSTHETIST, PINS[PROSTHETIST]) == locked
    assert stage.session is None
    again = Tablet(tmp_path, CHEAP)
    stage = on_screen(again)
    assert try_pin(finger, PROSTHETIST, PINS[PROSTHETIST]) == locked
    assert stage.session is None
    assert try_pin(finger, TECHNICIAN, PINS[TECHNICIAN]) == ""
    assert stage.session.staff == TECHNICIAN
    again.close()


def test_only_a_lead_clinician_gives_a_locked_out_person_a_new_pin_and_old_signatures_still_hold(
    clinic, on_screen, finger
):
    tablet, session = clinic
    lead = "demo-lead"
    before = session.record.staff_keys(PROSTHETIST)
    stage = on_screen(tablet, session)
    finger.tap("colleague")
    assert not finger.is_there(f"person:{TECHNICIAN}")
    stage.go_lock()
    finger.settle()
    tablet.slots.seconds = patience()
    for _ in range(MOST_WRONG_TRIES):
        try_pin(finger, PROSTHETIST, WRONG)
    assert try_pin(finger, lead, PINS[lead]) == ""
    finger.wait_for(lambda: stage.session, what="the session")
    finger.settle()
    finger.tap("colleague")
    finger.tap(f"person:{PROSTHETIST}")
    for _ in range(2):
        hands_of(finger).pin("739164")
    assert before < stage.session.record.staff_keys(PROSTHETIST)
    stage.go_lock()
    finger.settle()
    assert try_pin(finger, PROSTHETIST, "739164") == ""
    assert stage.session.staff == PROSTHETIST


def test_a_right_pin_before_the_tenth_try_gives_all_ten_again(clinic, on_screen, finger):
    tablet, _session = clinic
    stage = on_screen(tablet)
    for _ in range(3):
        try_pin(finger, PROSTHETIST, WRONG)
    assert try_pin(finger, PROSTHETIST, PINS[PROSTHETIST]) == ""
    finger.wait_for(lambda: stage.session, what="the session")
    stage.go_lock()
    finger.settle()
    assert try_pin(finger, PROSTHETIST, WRONG) == "That is not the PIN. Tries left: 9."


# The technician's sign-off ---------------------------------------------------------


def to_the_sign_off(session, fitting):
    to_the_bench(session, fitting)
    for screw in session.fitting(fitting).screws():
        record(session, fitting, f"torque_final/{screw.key}")


def test_the_prosthetists_own_pin_never_signs_off_the_torques(clinic, on_screen, finger):
    tablet, session = clinic
    fitting = open_fitting(session, "D-8001")
    to_the_sign_off(session, fitting)
    stage, hands = on_screen(tablet, session), hands_of(finger)
    stage.go_fitting(fitting, "sign_off")
    finger.settle()
    offered = {w.test_name for w in finger.find_all("field:technician=")}
    assert offered == {f"field:technician={TECHNICIAN}"}
    finger.tap("give")
    hands.fill({"way": "witnessed"})
    hands.pin(PINS[PROSTHETIST])
    assert finger.find("pin_pad").message == "That is not the PIN. Tries left: 9."
    assert session.fitting(fitting).heads("sign_off") == ()
    hands.pin(PINS[TECHNICIAN])
    signed = session.fitting(fitting).head("sign_off")
    assert signed.recorded_by == TECHNICIAN
    assert session.record.has_signed(signed, "signs_off").signer == TECHNICIAN


def test_a_prosthetist_who_is_a_technician_too_cannot_sign_off_their_own_fitting(
    tmp_path, on_screen, finger
):
    tablet = Tablet(tmp_path, CHEAP)
    both = Newcomer("p-bo-1", "Bo Both (invented)", ("prosthetist", "technician"), "604815")
    session = tablet.found("clinic-one", "A clinic (invented)", [both])
    from shared_models.catalogue.sheets import DEMO_SHEETS, demo_sheet

    for name in DEMO_SHEETS:
        body = demo_sheet(name)
        session.save("component_sheet", Subject("component_sheet", body["sheet"]), body)
    fitting = open_fitting(session, "D-8002")
    to_the_sign_off(session, fitting)
    stage, hands = on_screen(tablet, session), hands_of(finger)
    stage.go_fitting(fitting, "sign_off")
    finger.settle()
    assert finger.find_all("field:technician=") == []
    assert "technician's role" in finger.find("no_technician").text
    assert not finger.is_there("give") and not finger.is_there("pin_pad")
    assert session.fitting(fitting).heads("sign_off") == ()
    # Recorded past the screen, it still proves nothing.
    session.save("sign_off", Subject("fitting", fitting), {"technician": both.staff, "way": "witnessed"})
    assert session.verdict(fitting).step("sign_off").state != "met"
    tablet.close()


# The rehearsal beside real fittings --------------------------------------------------


def test_a_rehearsal_opens_a_fitting_of_its_own_and_never_types_into_another(
    clinic, on_screen, finger
):
    from mobile.rehearsal.course import Course

    tablet, session = clinic
    other = open_fitting(session, "D-9001")
    record(session, other, "body")
    before = [e.digest for e in session.fitting(other).entries()]
    stage = on_screen(tablet, session)
    said = []
    course = Course(stage, finger, said.append)
    course.run_until(lambda: course.own_fitting() and session.fitting(course.own_fitting()).head("body"))
    assert course.own_fitting() != other and len(session.fittings()) == 2
    assert [e.digest for e in session.fitting(other).entries()] == before
    assert any("825 is above what is possible" in line for line in said)
