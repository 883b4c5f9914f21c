"""Enrolling, sending and fetching over the protocol of docs/exchange.md."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shared_models.entries.envelope import Subject, entry_from
from shared_models.entries.signatures import new_key, public_text
from shared_models.exchange import answers
from shared_models.exchange import batch as batches
from shared_models.exchange.packing import pack
from shared_models.quantities.moments import now_here
from tests.fitting_desk import CLINIC, LEAD, TECHNICIAN, Desk
from tests.sync_server.conftest import JoinedDesk

pytestmark = pytest.mark.both_stores


def reasons(answer) -> list[str]:
    assert answer.status_code == 422, answer.text
    return [reason["code"] for reason in answer.json()["reasons"]]


# Enrolment -------------------------------------------------------------------

def test_a_code_lets_one_tablet_in_and_is_used_up(house):
    code = house.code()
    first, second = (house.tablet(Desk(f"tablet-{n}"), enrolled=False) for n in "xy")
    assert first.enrol(code).status_code == 200
    assert second.enrol(code).json()["code"] == "code_used"


def test_a_code_is_taken_as_people_type_it(house):
    code = house.code().lower().replace("-", " ")
    assert house.tablet(Desk("tablet-x"), enrolled=False).enrol(code).status_code == 200


def test_the_store_holds_no_code_and_no_token_in_plain(house):
    code = house.code()
    tablet = house.tablet(Desk("tablet-x"), enrolled=False)
    tablet.enrol(code)
    kept = house.kept_bytes()
    for secret in (code, code.replace("-", ""), tablet.token):
        assert secret.encode() not in kept


def test_the_enrolment_is_an_entry_on_the_servers_own_chain(house, tablet):
    tablet.take_all()
    record = tablet.desk.record
    entry = record.head(Subject("tablet", tablet.name), "tablet")
    assert entry.tablet == tablet.enrolment["server"] == house.station.chain
    assert entry.body["public_key"] == public_text(tablet.key)
    heads = [s for s in record.signatures.values() if s.signer == house.station.chain]
    assert all(s.is_valid() and s.key == tablet.enrolment["server_key"] for s in heads)


def test_a_tablets_identity_is_not_given_to_another_key(house, tablet):
    thief = house.tablet(Desk(tablet.name), enrolled=False)
    assert thief.enrol(house.code()).json()["code"] == "tablet_id_taken"


def test_a_tablet_can_not_call_itself_a_server(house):
    tablet = house.tablet(Desk("server-x"), enrolled=False)
    assert tablet.enrol(house.code()).json()["code"] == "enrolment_wrong_form"


def test_guessing_codes_is_slowed_down(house):
    tablet = house.tablet(Desk("tablet-x"), enrolled=False)
    codes = {tablet.enrol("AAAA-BBBB-CCCC-DDDD").json()["code"] for _ in range(12)}
    assert codes == {"code_not_known", "enrolment_waits"}
    assert tablet.enrol(house.code()).status_code == 429


# Sending ------------------------------------------------------------------------

def test_a_whole_fitting_sent_three_times_is_there_once(house, tablet):
    first = answers.decode_receipt(tablet.push().content)
    before = house.station.entries.fingerprint(CLINIC)
    again = [answers.decode_receipt(tablet.push().content) for _ in range(2)]
    assert first.stored > len(tablet.own()) and first.repeated == 0
    assert [(r.stored, r.repeated) for r in again] == [(0, len(tablet.own()))] * 2
    assert house.station.entries.fingerprint(CLINIC) == before


def test_a_fitting_sent_in_pieces_is_the_fitting_sent_whole(house, tablet):
    own = tablet.own()
    for start in range(0, len(own), 7):
        assert tablet.push(own[start:start + 7]).status_code == 200
    day = now_here().date()
    assert server_verdict(house, day).digest == tablet.desk.verdict(day).digest


def test_server_and_tablet_reach_the_same_verdict(house, tablet):
    desk, day = tablet.desk, now_here().date()
    for change in (lambda: None, lambda: desk.turn("swing_flexion", "9"),
                   lambda: desk.correct(desk.head("limb"), skin_state="red_fading"),
                   lambda: desk.withdraw(desk.head("handover"))):
        change()
        assert tablet.push().status_code == 200
        answer = tablet.client.get(f"/exchange/{CLINIC}/verdicts/fitting-1",
                                   headers=tablet.headers, params={"day": day.isoformat()})
        assert answer.json()["digest"] == desk.verdict(day).digest
        assert server_verdict(house, day).as_record() == desk.verdict(day).as_record()


def server_verdict(house, day):
    from shared_models.checks.verdict import judge

    with house.station.reading(CLINIC) as reading:
        return judge(reading.view("fitting-1"), day)


def test_one_bad_entry_refuses_the_batch_and_each_reason_has_a_sentence(house, tablet):
    own = tablet.own()
    before = house.station.entries.count()
    batch = batches.batch_of(CLINIC, own, [tablet.head_signature(own[-1])])
    changed = dict(batch.entries[4][1], body={"forged": True})
    entries = list(batch.entries)
    entries[4] = (entries[4][0], changed)
    answer = tablet.push(data=batches.encode(batches.Batch(CLINIC, tuple(entries), batch.signatures)))
    assert "digest_differs" in reasons(answer)
    assert all(r["sentence"] and r["place"] for r in answer.json()["reasons"])
    assert house.station.entries.count() == before


def test_a_missing_entry_is_named_as_a_gap(house, tablet):
    assert "chain_gap" in reasons(tablet.push(tablet.own()[3:]))


def test_a_tablet_that_signs_with_another_key_is_refused(house, tablet):
    tablet.key = new_key()
    assert "key_not_enrolled" in reasons(tablet.push())


def test_a_reading_that_is_no_figure_is_refused_by_its_field(house, tablet):
    body = {"body_mass_kg": "NaN", "carried_load_kg": "6"}
    tablet.desk.note("body", body)
    answer = tablet.push()
    assert reasons(answer) == ["body_wrong_form"]
    assert answer.json()["reasons"][0]["figures"] == {"field": "body_mass_kg"}


@pytest.mark.parametrize("kind, subject, body", [
    ("staff", Subject("staff", "demo-technician"), {"name": "T", "roles": ["lead_clinician"]}),
    ("clinic", Subject("clinic", CLINIC), {"name": "Renamed"}),
    ("review_decision", Subject("fitting", "fitting-1"), {"decision": "accepted", "remarks": []}),
])
def test_a_tablet_can_not_give_roles_or_decide(house, tablet, kind, subject, body):
    tablet.desk.note(kind, body, by=LEAD, subject=subject)
    assert "recorded_on_server_only" in reasons(tablet.push())


def test_an_entry_of_an_unknown_kind_is_kept_and_passed_on_unharmed(house, tablet):
    last = tablet.own()[-1]
    envelope = {**last.envelope, "id": last.id[:-4] + "abcd", "kind": "gait_film", "kind_version": 3,
                "number": last.number + 1, "previous": last.digest, "replaces": [], "because": {},
                "body": {"later": ["things"]}, "edition": "2031.4", "a_newer_field": {"kept": True}}
    strange = entry_from(envelope)
    assert tablet.push([*tablet.own(), strange]).status_code == 200
    found = {e.digest: e for e in tablet.take_all().entries}
    assert found[strange.digest].envelope == envelope
    page = house.lead().open()
    assert page.status_code == 200 and "needs a newer version" in page.text


def test_a_persons_record_belongs_to_one_clinic(house, tablet):
    assert tablet.push().status_code == 200
    from sync_server.services.staffing import found_clinic

    other = found_clinic(house.station, "Another clinic")
    stranger = house.tablet(Desk("tablet-z"), enrolled=False)
    stranger.enrol(house.code(other))
    desk = stranger.desk
    desk.author.end.clinic = other
    desk.note("opened", {"person": "person-1", "prosthetist": "x", "side": "left"})
    batch = batches.batch_of(other, stranger.own(), [stranger.head_signature(stranger.own()[-1])])
    answer = stranger.push(data=batches.encode(batch), clinic=other)
    assert reasons(answer) == ["subject_of_other_clinic"]


# Fetching -----------------------------------------------------------------------------

def test_pages_of_a_pull_join_to_everything(house, tablet):
    tablet.push()
    from shared_models.exchange import pull as pulls

    after, found, more = 0, [], True
    while more:
        page = pulls.decode(tablet.pull(after, limit=9).content)
        found += [item.item.digest for item in page.items]
        after, more = page.next, page.more
    assert len(found) == len(set(found)) == house.station.entries.last_sequence(CLINIC)


def test_the_standing_says_how_far_each_chain_is(house, tablet):
    tablet.push()
    answer = tablet.client.get(f"/exchange/{CLINIC}/standing", headers=tablet.headers)
    standing = answers.decode_standing(answer.content)
    assert standing.chains[tablet.name] == (tablet.own()[-1].number, tablet.own()[-1].digest)


def test_the_standing_says_the_same_as_each_chain_does_after_every_push(house, tablet):
    """It is read anew only when something was added; what it says must not lag behind."""
    store, last = house.station.entries, 0
    for part in (tablet.own()[:5], tablet.own()[5:9], tablet.own()[9:]):
        assert tablet.push(part).status_code == 200
        for _ in range(2):
            answer = tablet.client.get(f"/exchange/{CLINIC}/standing", headers=tablet.headers)
            standing = answers.decode_standing(answer.content)
            assert standing.chains == {t: store.chain_end(CLINIC, t) for t in store.chain_tablets(CLINIC)}
            assert standing.branches == () and standing.last == store.last_sequence(CLINIC) > last
        last = standing.last


def test_the_standing_of_one_chain_names_no_other(house, tablet):
    tablet.push()

    def standing(chain):
        return answers.decode_standing(tablet.client.get(
            f"/exchange/{CLINIC}/standing", params={"chain": chain}, headers=tablet.headers
        ).content)

    assert set(standing("").chains) == {tablet.name, house.station.chain}
    assert set(standing(tablet.name).chains) == {tablet.name}
    assert standing(tablet.name).chains[tablet.name][0] == tablet.own()[-1].number
    assert standing("tablet-nobody-knows").chains == {}
    assert standing(tablet.name).last == standing("").last == house.station.entries.last_sequence(CLINIC)


def test_two_tablets_that_changed_a_fitting_apart_are_shown_as_disputed(house, tablet):
    tablet.push()
    second = house.tablet(JoinedDesk("tablet-b"))
    second.take_all()
    tablet.desk.turn("swing_flexion", "9")
    second.desk.turn("swing_flexion", "7")
    assert tablet.push().status_code == second.push().status_code == 200
    page = house.lead().open().text
    assert "changed apart on two tablets" in page and "9 marks" in page and "7 marks" in page
    first_verdict, second_verdict = tablet, second
    first_verdict.take_all(), second_verdict.take_all()
    assert tablet.desk.verdict().digest == second.desk.verdict().digest


@pytest.mark.parametrize("query", ["after=-1", "after=x", "limit=0", "limit=2001", "after=9" * 3 + "9" * 30])
def test_a_pull_that_makes_no_sense_is_refused_with_a_sentence(house, tablet, query):
    answer = tablet.client.get(f"/exchange/{CLINIC}/entries?{query}", headers=tablet.headers)
    assert answer.status_code == 400 and answer.json()["sentence"]


# Malformed ---------------------------------------------------------------------------

_JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-2**60, 2**60) | st.text(max_size=20)
    | st.sampled_from(["2026.1", "NaN", "1e9", "fitting", CLINIC, "a" * 64]),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.sampled_from(
        ["format", "clinic", "entries", "signatures", "digest", "envelope", "body", "subject",
         "type", "id", "kind", "replaces", "because", "x"]) | st.text(max_size=6), inner, max_size=6),
    max_leaves=25,
)


@pytest.fixture
def sender(house, tablet):
    return tablet


@given(data=st.binary(max_size=400) | _JSON.map(lambda v: json.dumps(v).encode()))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_bytes_make_the_server_stumble(sender, data):
    assert 400 <= sender.push(data=data).status_code < 500
    assert 400 <= sender.client.post("/exchange/enrol", content=data).status_code < 500


@given(entries=st.lists(_JSON, max_size=3), signatures=st.lists(_JSON, max_size=3))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_packed_batch_makes_the_server_stumble(sender, entries, signatures):
    from shared_models.entries.canonical import NotStrictJson

    try:
        data = pack({"format": 1, "clinic": CLINIC, "entries": entries, "signatures": signatures})
    except NotStrictJson:
        return
    assert sender.push(data=data).status_code < 500


@pytest.mark.both_stores(False)  # the same on PostgreSQL: 40 s; what differs there is tested below
@given(body=st.dictionaries(st.sampled_from(
    ["function", "position", "screw", "reading_nm", "findings", "outcome", "roles", "steps",
     "time_s", "remarks", "person", "sheet_digest", "place", "cap", "what", "pain_0_10"]), _JSON, max_size=8),
    kind=st.sampled_from(["setting", "torque_final", "trial_stairs", "opened", "component", "cap",
                          "sign_off", "static_alignment", "staff_key", "component_sheet", "waiver",
                          "review_requested", "adverse_event", "stop_answered", "identity"]))
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_body_makes_fold_or_page_stumble(sender, house, body, kind):
    desk = sender.desk
    subject = {"staff_key": Subject("staff", TECHNICIAN), "identity": desk.person,
               "component_sheet": Subject("component_sheet", "demo-knee-alder")}.get(kind, desk.fitting)
    sender.push()
    try:
        entry = desk.author.record_fact(kind, subject, body, TECHNICIAN)
    except Exception:  # not even an entry: nothing to send
        return
    answer = sender.push([entry])
    assert answer.status_code in (200, 422)
    if answer.status_code == 200:
        desk.keep(entry)
    assert house.lead().open().status_code == 200


@pytest.mark.parametrize("serial", ["K\x00-77", "K" * 9_000, "K\u2028\U0001f9bf-77", "  "])
def test_a_serial_as_odd_as_a_tablet_can_keep_is_taken_and_found(house, tablet, serial):
    """PostgreSQL holds no zero byte in text and no long text in an index; the entry is whole all the same."""
    desk = tablet.desk
    desk.correct(desk.head("component/knee"), serial=serial)
    assert tablet.push().status_code == 200
    kept = house.station.entries.by_digest(desk.head("component/knee").digest)
    assert kept.body["serial"] == serial
    assert house.lead().open().status_code == 200 and house.station.rebuild(CLINIC) == 1


@pytest.mark.parametrize("clinic", ["demo%00clinic", "x" * 3_000, "%F0%9F%A6%BF"])
def test_a_clinic_of_an_odd_name_is_refused_and_the_refusal_written_down(house, tablet, clinic):
    before = len(house.audit())
    answer = tablet.client.get(f"/exchange/{clinic}/standing", headers=tablet.headers)
    assert answer.status_code == 403 and answer.json()["code"] == "clinic_not_yours"
    assert len(house.audit()) == before + 1
