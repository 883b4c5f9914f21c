"""A lead clinician seals the tablet's record under a fresh key."""

from __future__ import annotations

import pytest

from shared_models.entries.envelope import Subject
from shared_models.ledger.pins import PinRefusal
from shared_models.ledger.sealing import SealingRefusal
from shared_models.quantities.refusals import Refusal
from sync_server.services.staffing import demo_lead
from tests.journeys.at_work import PINS, PROSTHETIST, TECHNICIAN, alone, open_fitting

LEAD = demo_lead()["id"]


def hands_of(finger):
    """Return hands that type by this finger; imported late, after the window is there."""
    from mobile.rehearsal.hands import Hands

    return Hands(finger)


def test_the_record_is_the_same_under_a_fresh_key_and_only_the_lead_comes_in(tmp_path):
    tablet, session = alone(tmp_path)
    fitting = open_fitting(session, "HH-0417")
    lead = tablet.unlock(LEAD, PINS[LEAD])
    digests = [entry.digest for entry in lead.entries.entries(clinic=lead.clinic)]
    assert tablet.renew_data_key(lead, PINS[LEAD])
    again = tablet.unlock(LEAD, PINS[LEAD])
    assert [entry.digest for entry in again.entries.entries(clinic=again.clinic)] == digests
    assert again.fitting(fitting).head("identity")
    with pytest.raises(PinRefusal, match="pin_locked"):
        tablet.unlock(TECHNICIAN, PINS[TECHNICIAN])
    tablet.give_new_pin(again, TECHNICIAN, "640917")
    assert tablet.unlock(TECHNICIAN, "640917").fitting(fitting).head("identity")
    tablet.close()


def test_what_still_ran_for_the_old_session_seals_nothing_more_under_the_old_key(tmp_path):
    tablet, _ = alone(tmp_path)
    lead = tablet.unlock(LEAD, PINS[LEAD])
    tablet.renew_data_key(lead, PINS[LEAD])
    with pytest.raises(SealingRefusal, match="store_locked"):
        lead.save("clinic", Subject("clinic", lead.clinic), {"name": "too late"})
    again = tablet.unlock(LEAD, PINS[LEAD])
    assert again.save("clinic", Subject("clinic", again.clinic), {"name": "in time"})
    tablet.close()


def test_nobody_but_the_lead_locks_the_others_out(tmp_path):
    tablet, session = alone(tmp_path)
    with pytest.raises(Refusal, match="lead_renews_data_key"):
        tablet.renew_data_key(session, PINS[PROSTHETIST])
    assert tablet.unlock(TECHNICIAN, PINS[TECHNICIAN])
    tablet.close()


def test_at_the_screen_a_wrong_pin_changes_nothing_and_the_right_one_locks_and_says_so(on_screen, finger, tmp_path):
    tablet, _ = alone(tmp_path)
    stage = on_screen(tablet, tablet.unlock(LEAD, PINS[LEAD]))
    from mobile.screens.keys import KeysPage

    stage.show(KeysPage(stage))
    finger.settle()
    finger.tap("fresh_key")
    hands = hands_of(finger)
    hands.pin("260815")
    finger.wait_for(lambda: not stage.page.is_busy, what="the refusal")
    assert "not the PIN" in stage.page.pad.message and stage.session is not None
    finger.settle()
    hands.pin(PINS[LEAD])
    finger.wait_for(lambda: type(stage.page).__name__ == "LockPage", what="the locked page")
    assert "fresh key" in stage.page.pad.message and stage.session is None
    finger.settle()
    finger.tap(f"person:{LEAD}")
    hands.pin(PINS[LEAD])
    finger.wait_for(lambda: stage.session is not None, what="the opened tablet")
    tablet.close()
