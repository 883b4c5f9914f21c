"""What somebody recorded counts by the roles they have, or had when it was known to the server."""

from __future__ import annotations

import itertools

import pytest

from shared_models.entries.envelope import Subject
from shared_models.entries.record import Record
from shared_models.entries.roles import KNOWN_TO, had_role, roles_in
from tests.fitting_desk import TECHNICIAN, Desk

WHO = Subject("staff", TECHNICIAN)


def listed(server: Desk, roles: list[str], **more):
    return server.note("staff", {"name": "T", "roles": roles, **more}, subject=WHO)


def said(desk: Desk):
    """Something that the technician records."""
    return desk.note("body", {"body_mass_kg": "80"}, by=TECHNICIAN)


def counts(record: Record, entry) -> bool:
    return had_role(record, TECHNICIAN, "technician", entry)


def test_what_was_known_when_the_role_went_counts_and_the_next_thing_does_not():
    record = Record()
    server, desk = Desk("server-1", record), Desk("tablet-a", record)
    listed(server, ["technician"])
    early, late = said(desk), said(desk)
    listed(server, ["prosthetist"], **{KNOWN_TO: {"tablet-a": str(early.number)}})
    elsewhere = said(Desk("tablet-b", record))
    assert [counts(record, e) for e in (early, late, elsewhere)] == [True, False, False]
    listed(server, ["technician"], **{KNOWN_TO: {}})
    assert all(counts(record, e) for e in (early, late, elsewhere)), "with the role again all of it counts"


def test_which_roles_count_is_the_same_in_whatever_order_the_entries_arrive():
    record = Record()
    server, desk = Desk("server-1", record), Desk("tablet-a", record)
    listed(server, ["technician"])
    early = said(desk)
    listed(server, ["prosthetist"], **{KNOWN_TO: {"tablet-a": str(early.number)}})
    late = said(desk)
    listed(server, ["lead_clinician"], **{KNOWN_TO: {"tablet-a": str(late.number)}})
    orders = list(itertools.permutations(record.entries.values()))
    assert len(orders) == 120
    for order in orders:
        other = Record()
        for entry in order:
            other.add([entry])
        assert (counts(other, early), counts(other, late)) == (True, False)


@pytest.mark.parametrize("known", [
    None, "", "9", 9, [], ["tablet-a"], {}, {"tablet-a": None}, {"tablet-a": ""}, {"tablet-a": "-9"}, {"tablet-a": True},
    {"tablet-a": "9" * 5000}, {"tablet-a": "٩"}, {"tablet-a": {"x": "9"}}, {"tablet-a": ["9"]}, {"tablet-b": "9"},
])
def test_where_a_change_does_not_say_what_was_known_the_roles_of_now_decide(known):
    record = Record()
    server, desk = Desk("server-1", record), Desk("tablet-a", record)
    listed(server, ["technician"])
    early = said(desk)
    listed(server, ["prosthetist"], **({} if known is None else {KNOWN_TO: known}))
    assert not counts(record, early)


@pytest.mark.parametrize("roles", [None, "technician", 3, {"technician": True}])
def test_roles_that_cannot_be_read_are_no_roles(roles):
    assert roles_in({"roles": roles}) == () == roles_in({})
