"""A key under somebody's name counts only when somebody who may stands behind it."""

from __future__ import annotations

import itertools

import pytest

from shared_models.entries.envelope import Subject
from shared_models.entries.record import Record
from shared_models.entries.signatures import new_key, public_text, sign
from shared_models.entries.vouching import VOUCHES, key_mark
from tests.fitting_desk import CLINIC, LEAD, PROSTHETIST, TECHNICIAN, Desk

ROLES = {PROSTHETIST: ["prosthetist"], TECHNICIAN: ["technician"], LEAD: ["lead_clinician"]}


class Clinic:
    """A server's chain with staff, and tablets beside it, in one record."""

    def __init__(self, asks: bool = True) -> None:
        self.record = Record()
        self.server = Desk("server-1", self.record)
        about = {"name": "Example", **({"keys_vouched": True} if asks else {})}
        self.server.note("clinic", about, subject=Subject("clinic", CLINIC))
        for person, roles in ROLES.items():
            body = {"name": person, "roles": roles}
            self.server.note("staff", body, subject=Subject("staff", person))
        self.tablets: dict[str, Desk] = {}

    def tablet(self, name: str, code_for: tuple[str, ...] = ()) -> Desk:
        body = {"name": name, "public_key": "-", **({"code_for": list(code_for)} if code_for else {})}
        self.server.note("tablet", body, subject=Subject("tablet", name))
        self.tablets[name] = Desk(name, self.record)
        return self.tablets[name]

    def key(self, desk: Desk, person: str):
        """Record a fresh key of a person on a tablet; return the private half."""
        key = new_key()
        body = {"tablet": desk.author.end.tablet, "public_key": public_text(key)}
        desk.note("staff_key", body, by=person, subject=Subject("staff", person))
        return key

    def vouch(self, desk: Desk, by: str, with_key, whom: str, key, meaning: str = VOUCHES, on: str = "") -> None:
        body = {"tablet": on or desk.author.end.tablet, "public_key": public_text(key)}
        entry = desk.note("key_vouched", body, by=by, subject=Subject("staff", whom), settles=True)
        self.record.add(signatures=[sign(
            with_key, clinic=CLINIC, signs=entry.digest, signer_type="staff", signer=by,
            printed_name=by, meaning=meaning, signed_at=entry.recorded_at,
        )])

    def counts(self, person: str, key) -> bool:
        return public_text(key) in self.record.vouched.of(person)


def test_a_key_that_some_tablet_claims_for_the_technician_does_not_count():
    clinic = Clinic()
    key = clinic.key(clinic.tablet("tablet-a"), TECHNICIAN)
    assert not clinic.counts(TECHNICIAN, key)
    assert public_text(key) in clinic.record.staff_keys(TECHNICIAN), "it is kept"
    assert [e.subject.id for e in clinic.record.vouched.without] == [TECHNICIAN], "and shown"


def test_the_first_key_counts_on_the_tablet_whose_code_was_issued_for_this_person_and_no_later_one():
    clinic = Clinic()
    tablet = clinic.tablet("tablet-a", code_for=(PROSTHETIST,))
    first, other = clinic.key(tablet, PROSTHETIST), clinic.key(tablet, TECHNICIAN)
    later = clinic.key(tablet, PROSTHETIST)
    assert clinic.counts(PROSTHETIST, first)
    assert not clinic.counts(PROSTHETIST, later) and not clinic.counts(TECHNICIAN, other)


def test_a_tablet_does_not_issue_codes_to_itself():
    clinic = Clinic()
    tablet = clinic.tablet("tablet-a")
    body = {"name": "tablet-a", "public_key": "-", "code_for": [TECHNICIAN]}
    tablet.note("tablet", body, subject=Subject("tablet", "tablet-a"))
    assert not clinic.counts(TECHNICIAN, clinic.key(tablet, TECHNICIAN))


def test_a_second_tablets_key_counts_once_the_same_person_vouches_from_the_first():
    clinic = Clinic()
    first = clinic.tablet("tablet-a", code_for=(PROSTHETIST,))
    known = clinic.key(first, PROSTHETIST)
    fresh = clinic.key(clinic.tablet("tablet-b"), PROSTHETIST)
    assert not clinic.counts(PROSTHETIST, fresh)
    clinic.vouch(first, PROSTHETIST, known, PROSTHETIST, fresh, on="tablet-b")
    assert clinic.counts(PROSTHETIST, fresh)


def test_a_lead_clinician_vouches_for_anybody_and_others_for_themselves_only():
    clinic = Clinic()
    office = clinic.key(clinic.server, LEAD)
    tablet = clinic.tablet("tablet-a", code_for=(PROSTHETIST,))
    known = clinic.key(tablet, PROSTHETIST)
    fresh = clinic.key(tablet, TECHNICIAN)
    clinic.vouch(tablet, PROSTHETIST, known, TECHNICIAN, fresh)
    assert not clinic.counts(TECHNICIAN, fresh), "a colleague is not enough"
    clinic.vouch(clinic.server, LEAD, office, TECHNICIAN, fresh)
    assert clinic.counts(TECHNICIAN, fresh)


def test_a_key_that_does_not_count_vouches_for_nobody_and_not_for_itself():
    clinic = Clinic()
    tablet = clinic.tablet("tablet-a")
    forged = clinic.key(tablet, LEAD)
    clinic.vouch(tablet, LEAD, forged, LEAD, forged)
    fresh = clinic.key(tablet, TECHNICIAN)
    clinic.vouch(tablet, LEAD, forged, TECHNICIAN, fresh)
    assert not clinic.counts(LEAD, forged) and not clinic.counts(TECHNICIAN, fresh)


def test_a_signature_for_another_purpose_is_no_voucher():
    clinic = Clinic()
    office = clinic.key(clinic.server, LEAD)
    tablet = clinic.tablet("tablet-a")
    fresh = clinic.key(tablet, TECHNICIAN)
    clinic.vouch(clinic.server, LEAD, office, TECHNICIAN, fresh, meaning="decides")
    assert not clinic.counts(TECHNICIAN, fresh)


def test_of_a_copied_tablet_neither_first_key_counts_by_the_code():
    clinic = Clinic()
    tablet = clinic.tablet("tablet-a", code_for=(PROSTHETIST,))
    twin = Desk("tablet-a", Record())
    keys = [new_key(), new_key()]
    for desk, key in zip((tablet, twin), keys):
        body = {"tablet": "tablet-a", "public_key": public_text(key)}
        desk.note("staff_key", body, by=PROSTHETIST, subject=Subject("staff", PROSTHETIST))
    clinic.record.add(twin.record.entries.values())
    assert not any(clinic.counts(PROSTHETIST, key) for key in keys)


def test_in_an_older_record_and_on_a_tablet_without_a_server_every_recorded_key_counts_as_before():
    clinic = Clinic(asks=False)
    assert clinic.counts(TECHNICIAN, clinic.key(clinic.tablet("tablet-a"), TECHNICIAN))
    alone = Desk().staff()
    assert alone.record.vouched.of(TECHNICIAN) and not alone.record.vouched.without


def test_whose_keys_count_is_the_same_in_whatever_order_entries_and_signatures_arrive():
    clinic = Clinic()
    office = clinic.key(clinic.server, LEAD)
    tablet = clinic.tablet("tablet-a", code_for=(PROSTHETIST,))
    known = clinic.key(tablet, PROSTHETIST)
    fresh = clinic.key(clinic.tablet("tablet-b"), PROSTHETIST)
    clinic.vouch(tablet, PROSTHETIST, known, PROSTHETIST, fresh, on="tablet-b")
    technicians = clinic.key(tablet, TECHNICIAN)
    clinic.vouch(clinic.server, LEAD, office, TECHNICIAN, technicians)
    wanted = clinic.record.vouched
    items = [*clinic.record.entries.values(), *clinic.record.signatures.values()]
    for turned in itertools.islice(itertools.permutations(range(len(items))), 0, 40320, 997):
        other = Record()
        for place in turned:
            item = items[place]
            other.add(*((), [item]) if hasattr(item, "signs") else ([item],))
            _ = other.vouched  # read in between, as screens do
        assert other.vouched == wanted


@pytest.mark.parametrize("text", ["AAAA", "BBBB"])
def test_two_people_can_compare_a_key_by_its_mark(text):
    mark = key_mark(text)
    assert len(mark) == 9 and mark[4] == " " and mark != key_mark(text + "A")
