"""At the screen: somebody's telephone, typed or left out as a fitting is opened, and put right later."""

from __future__ import annotations

import pytest

from shared_models.entries.envelope import Subject
from mobile.flows.people import DRAFT
from mobile.rehearsal import person
from tests.journeys.at_work import alone, own
from tests.journeys.test_at_the_screen import fill_new, hands_of, people_of

NUMBER, LATER = "01632 960123", "+44 (0)1632 960-124 ext. 4"


@pytest.fixture
def clinic(tmp_path):
    tablet, session = alone(tmp_path)
    yield tablet, session
    tablet.close()


def identity(session, known: str):
    return session.record.head(Subject("person", known), "identity")


def test_a_fitting_is_opened_without_a_telephone_as_quickly_as_before(clinic, on_screen, finger):
    tablet, session = clinic
    stage = on_screen(tablet, session)
    stage.go_new()
    finger.settle()
    fields = stage.page.form.fields
    assert fields[-1].key == "telephone" and all(f.required for f in fields[:-1]), "it stands behind what has to be typed"
    fill_new(stage, finger)
    known, = people_of(session)
    assert "telephone" not in identity(session, known).body and len(session.fittings()) == 1


def test_a_number_that_cannot_be_called_is_said_beside_the_field_and_stays_as_typed(clinic, on_screen, finger):
    tablet, session = clinic
    stage, before = on_screen(tablet, session), own(session)
    fill_new(stage, finger, telephone="ask at the mill")
    field = finger.find("field:telephone")
    assert field.message_kind == "refusal" and field.message.startswith("'ask at the mill' can't be called")
    assert field.text == session.draft(DRAFT)["telephone"] == "ask at the mill"
    assert own(session) == before, "and nothing was recorded"
    hands_of(finger).enter("telephone", NUMBER)
    assert finger.find("field:telephone").message == ""
    finger.tap("save")
    known, = people_of(session)
    assert identity(session, known).body["telephone"] == NUMBER


def test_a_number_is_put_right_later_and_the_wrong_one_stays_readable(clinic, on_screen, finger):
    tablet, session = clinic
    stage = on_screen(tablet, session)
    fill_new(stage, finger, telephone=NUMBER)
    known, = people_of(session)
    fitting = session.fittings()[0]
    stage.go_fitting(fitting, "person", "identity")
    finger.settle()
    assert finger.sees(NUMBER)
    finger.tap("correct")
    hands_of(finger).enter("telephone", LATER)
    finger.tap("save")
    assert identity(session, known).body == {**{k: person.NEW_FITTING[k] for k in ("family_name", "given_name", "born_on", "file_number")}, "telephone": LATER}
    slot = session.fitting(fitting).slot("identity")
    assert sorted(e.body["telephone"] for e in slot.entries.values()) == sorted((NUMBER, LATER))


def test_a_number_given_when_somebody_known_comes_again_is_kept_and_none_given_leaves_theirs(clinic, on_screen, finger):
    tablet, session = clinic
    stage = on_screen(tablet, session)
    fill_new(stage, finger)
    known, = people_of(session)
    for given, kept, versions in ((NUMBER, NUMBER, 2), ("", NUMBER, 2), (NUMBER, NUMBER, 2), (LATER, LATER, 3)):
        fill_new(stage, finger, given_name="June", telephone=given)
        finger.tap(f"same_as:{known}")
        found = session.record.slot(Subject("person", known), "identity")
        assert identity(session, known).body["telephone"] == kept and len(found.entries) == versions
        assert identity(session, known).body["given_name"] == person.NEW_FITTING["given_name"], "nothing else of it changes"
    assert len(session.fittings()) == 5
