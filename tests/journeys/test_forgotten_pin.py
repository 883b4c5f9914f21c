"""A forgotten PIN in the field and at the clinic, and somebody who no longer works here."""

from __future__ import annotations

import pytest
from shared_models.catalogue.sheets import demo_people
from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import public_text
from shared_models.ledger.opening import open_store
from shared_models.ledger.pins import PinRefusal
from shared_models.quantities.refusals import Refusal
from mobile.demo import demo_newcomers
from mobile.keeping.courier import Courier, SyncRefusal
from mobile.keeping.forgotten import reset_forgotten_pin
from mobile.keeping.tablet import Tablet
from mobile.keeping.vouching import may_vouch, waiting_keys
from sync_server.services.holding import end_person
from sync_server.services.recovering import Recovery
from sync_server.services.staffing import demo_lead
from sync_server.services.station import Station, signing_key_in
from tests.journeys.at_work import PINS, PROSTHETIST, TECHNICIAN, alone, joined, sync
from tests.shared_models.making import CHEAP

NEW_PIN, WRONG = "739164", "260815"


def hands_of(finger):
    """Return hands that type by this finger; imported late, after the window is there."""
    from mobile.rehearsal.hands import Hands

    return Hands(finger)


@pytest.fixture
def station(server):
    """The store of the running server, as another of its processes has it."""
    store = open_store(server.store, "server")
    yield Station(store, signing_key_in(server.store.with_name(server.store.name + ".signing-key")))
    store.close()


@pytest.fixture
def tablet(server, new_code, tmp_path, request):
    name = f"tablet-{abs(hash(request.node.name)) % 10**8}"
    found, session = joined(tmp_path / "one", server.address, new_code(), name)
    sync(session)
    yield found, session
    found.close()


def test_in_the_field_a_sealed_code_made_beforehand_gives_a_new_pin_without_any_network(tmp_path):
    tablet, session = alone(tmp_path / "alone")
    code = tablet.new_recovery_code(session, PROSTHETIST)
    tablet.close()
    again = Tablet(tmp_path / "alone", CHEAP)
    with pytest.raises(PinRefusal):
        reset_forgotten_pin(again, Courier(), PROSTHETIST, code[:-1] + ("A" if code[-1] != "A" else "B"), NEW_PIN)
    reset_forgotten_pin(again, Courier(), PROSTHETIST, code, NEW_PIN)
    session = again.unlock(PROSTHETIST, NEW_PIN)
    assert session.name and session.record.vouched.of(PROSTHETIST)
    again.close()


def test_a_recovery_code_is_made_for_oneself_or_by_the_lead_clinician(tmp_path):
    tablet, session = alone(tmp_path)
    with pytest.raises(Refusal) as refused:
        tablet.new_recovery_code(session, TECHNICIAN)
    assert refused.value.code == "not_your_recovery_code"
    lead = demo_lead()["id"]
    assert tablet.new_recovery_code(tablet.unlock(lead, PINS[lead]), TECHNICIAN)
    tablet.close()


def test_after_a_recovery_code_the_fresh_key_waits_and_the_lead_or_another_tablet_vouches(tablet):
    found, session = tablet
    code = found.new_recovery_code(session, PROSTHETIST)
    reset_forgotten_pin(found, Courier(), PROSTHETIST, code, NEW_PIN)
    session = found.unlock(PROSTHETIST, NEW_PIN)
    own = public_text(session.unlocked.signing_key)
    assert [e.body["public_key"] for e in waiting_keys(session)] == [own], "recorded, and not counting yet"
    assert not may_vouch(session, PROSTHETIST), "not with itself"


def test_online_the_leads_one_time_code_gives_a_new_pin_and_a_key_that_counts(tablet, station):
    found, session = tablet
    lead = demo_lead()
    code = Recovery(station).new_code(session.clinic, session.tablet, PROSTHETIST, lead["login"], "here")
    with pytest.raises(SyncRefusal):
        reset_forgotten_pin(found, Courier(), PROSTHETIST, "AAAA-BBBB-CCCC-DDDD", NEW_PIN)
    reset_forgotten_pin(found, Courier(), PROSTHETIST, code, NEW_PIN)
    session = found.unlock(PROSTHETIST, NEW_PIN)
    sync(session)
    assert public_text(session.unlocked.signing_key) in session.record.vouched.of(PROSTHETIST)
    with pytest.raises(SyncRefusal):
        reset_forgotten_pin(found, Courier(), PROSTHETIST, code, WRONG)


def test_under_a_fresh_data_key_the_next_sync_leaves_what_opens_it_after_a_forgotten_pin(tablet, station):
    found, session = tablet
    lead = demo_lead()["id"]
    found.add_person(session, {n.staff: n for n in demo_newcomers()}[lead])
    sync(session)
    found.renew_data_key(found.unlock(lead, PINS[lead]), PINS[lead])
    again = found.unlock(lead, PINS[lead])
    sync(again)
    code = Recovery(station).new_code(again.clinic, again.tablet, PROSTHETIST, "lead", "here")
    reset_forgotten_pin(found, Courier(), PROSTHETIST, code, NEW_PIN)
    assert found.unlock(PROSTHETIST, NEW_PIN).record.name_of(PROSTHETIST)


def test_a_code_made_for_one_person_gives_nobody_else_a_pin(tablet, station):
    found, session = tablet
    code = Recovery(station).new_code(session.clinic, session.tablet, PROSTHETIST, "lead", "here")
    with pytest.raises(Refusal) as refused:
        reset_forgotten_pin(found, Courier(), TECHNICIAN, code, NEW_PIN)
    assert refused.value.code == "code_for_other_person"
    assert found.unlock(TECHNICIAN, PINS[TECHNICIAN])


def test_a_tablet_no_longer_opens_for_somebody_who_left_and_still_opens_for_a_colleague(tablet, station):
    found, session = tablet
    end_person(station, session.clinic, TECHNICIAN, True, "moved away", demo_lead()["id"])
    sync(session)
    assert session.record.head(Subject("staff", TECHNICIAN), "access").body["ended"] is True
    for unlock in (lambda: found.unlock(TECHNICIAN, PINS[TECHNICIAN]),
                   lambda: found.unlock_beside(session, TECHNICIAN, PINS[TECHNICIAN])):
        with pytest.raises(PinRefusal) as refused:
            unlock()
        assert refused.value.code == "person_ended"
    assert found.unlock(PROSTHETIST, PINS[PROSTHETIST])
    end_person(station, session.clinic, TECHNICIAN, False, "came back", demo_lead()["id"])
    sync(session)
    assert found.unlock(TECHNICIAN, PINS[TECHNICIAN])
    assert len(demo_people()["staff"]) == 3


# At the screen -------------------------------------------------------------------


def test_at_the_screen_a_recovery_code_is_made_read_and_typed_and_the_new_pin_opens(on_screen, finger, tmp_path):
    tablet, session = alone(tmp_path / "screen")
    stage = on_screen(tablet, session)
    from mobile.screens.keys import KeysPage

    stage.show(KeysPage(stage))
    finger.settle()
    finger.tap("recovery:make")
    code = finger.find("recovery:code").lead
    assert len(code.replace("-", "")) == 20
    stage.go_lock()
    finger.settle()
    finger.tap(f"person:{PROSTHETIST}")
    finger.tap("forgotten")
    hands = hands_of(finger)
    hands.enter("code", code.lower())
    for _ in range(2):
        hands.pin(NEW_PIN)
    finger.wait_for(lambda: type(stage.page).__name__ == "LockPage", what="the locked page")
    finger.settle()
    finger.tap(f"person:{PROSTHETIST}")
    hands.pin(NEW_PIN)
    assert stage.session is not None and stage.session.staff == PROSTHETIST
    tablet.close()


def test_at_the_screen_a_wrong_code_is_said_beside_and_what_was_typed_is_kept(on_screen, finger, tmp_path):
    tablet, _session = alone(tmp_path / "screen")
    stage = on_screen(tablet)
    finger.tap("forgotten")
    hands = hands_of(finger)
    hands.enter("code", "aaaa-bbbb-cccc-dddd-eeee")
    for _ in range(2):
        hands.pin(NEW_PIN)
    finger.wait_for(lambda: finger.is_there("forgotten:trouble"), what="the answer")
    assert "no recovery code" in finger.find("forgotten:trouble").lead
    assert finger.find("field:code").text == "aaaa-bbbb-cccc-dddd-eeee" and stage.session is None
    tablet.close()
