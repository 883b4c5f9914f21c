"""A tablet whose store was copied, and one whose access was taken away: nothing is lost."""

from __future__ import annotations

import shutil
import subprocess
import sys

import pytest

from mobile.keeping.courier import SyncRefusal
from mobile.keeping.places import STORE_NAME
from mobile.keeping.tablet import Tablet
from tests.journeys.at_work import (
    PINS,
    PROSTHETIST,
    TECHNICIAN,
    ask_server,
    correct,
    joined,
    must_be_sound,
    on_the_server,
    open_fitting,
    own,
    record,
    sync,
)
from tests.house.tree import ROOT
from tests.shared_models.making import CHEAP


@pytest.fixture
def tablet(server, new_code, tmp_path, request):
    """A joined tablet with a fitting that is on the server."""
    name = f"tablet-{abs(hash(request.node.name)) % 10**8}"
    found, session = joined(tmp_path / "one", server.address, new_code(), name)
    fitting = open_fitting(session, "D-4100")
    record(session, fitting, "body")
    sync(session)
    yield found, session, fitting
    found.close()


def copy_of(tablet: Tablet, folder) -> Tablet:
    """Copy a tablet's store as it lies, as whoever copies its files would."""
    folder.mkdir()
    for file in tablet.path.parent.glob(f"{STORE_NAME}*"):
        if not file.name.endswith("-shm"):
            shutil.copy2(file, folder / file.name)
    return Tablet(folder, CHEAP)


def standing(session) -> dict:
    return ask_server(session, "standing").json()


def test_of_a_copied_tablet_both_records_are_kept_and_the_second_goes_on_under_another_name(tablet, tmp_path):
    first, a, fitting = tablet
    second = copy_of(first, tmp_path / "two")
    b = second.unlock(PROSTHETIST, PINS[PROSTHETIST])
    old = b.tablet
    one = correct(a, fitting, "body", body_mass_kg="81")
    other = correct(b, fitting, "body", body_mass_kg="79")
    assert one.number == other.number and one.digest != other.digest
    sync(a)
    result = sync(b)
    assert result.forked and result.renamed and b.tablet != old
    assert old in standing(b)["branches"]
    assert {one.digest, other.digest} <= set(on_the_server(a)), "both branches are kept"
    sync(a)
    assert {one.digest, other.digest} <= {e.digest for e in a.fitting(fitting).slot("body").entries.values()}
    later = correct(b, fitting, "footwear") if b.fitting(fitting).head("footwear") else record(b, fitting, "limb")
    assert (later.tablet, later.number, later.previous) == (b.tablet, 1, "")
    assert sync(b).sent == 1
    assert own(b) == on_the_server(b) == [later.digest]
    second.close()
    again = Tablet(tmp_path / "two", CHEAP)
    session = again.unlock(PROSTHETIST, PINS[PROSTHETIST])
    assert session.tablet == later.tablet and session.author.end.number == 1, "also after a restart"
    assert any(e.body.get("copied") for e in session.entries.entries() if e.kind == "tablet"), "and the alarm is here"
    again.close()


def test_a_tablet_put_back_from_an_older_copy_goes_on_under_another_name_before_it_writes_the_same_number_twice(tablet, tmp_path):
    first, a, fitting = tablet
    older = copy_of(first, tmp_path / "older")
    newer = record(a, fitting, "limb")
    sync(a)
    b = older.unlock(PROSTHETIST, PINS[PROSTHETIST])
    old = b.tablet
    result = sync(b)
    assert result.renamed and b.tablet != old
    assert newer.digest in {e.digest for e in b.fitting(fitting).entries()}, "what it had lost came back"
    entry = record(b, fitting, "footwear")
    assert entry.number == 1 and not sync(b).forked
    assert old not in standing(b)["branches"], "no number was written twice"
    must_be_sound(b)
    older.close()


def test_a_tablet_that_was_not_copied_keeps_its_name(tablet):
    _, session, fitting = tablet
    name = session.tablet
    record(session, fitting, "limb")
    result = sync(session)
    assert not result.forked and not result.renamed and session.tablet == name


def test_what_a_tablet_had_not_sent_when_its_access_was_taken_is_handed_over_and_stays(tablet, server):
    _, session, fitting = tablet
    unsent = [record(session, fitting, slot) for slot in ("limb", "footwear", "consent")]
    subprocess.run(
        [sys.executable, "-m", "sync_server.main", "--store", str(server.store), "--revoke", session.tablet],
        cwd=ROOT, check=True, capture_output=True, timeout=60,
    )
    before = own(session)
    for _ in range(2):
        with pytest.raises(SyncRefusal) as refused:
            sync(session)
        assert refused.value.code == "access_revoked_here" and refused.value.figures["held"] >= 3
    assert own(session) == before and session.unsent()[0] == len(unsent)
    from shared_models.ledger.opening import open_store
    from shared_models.ledger.holding import Holding

    store = open_store(server.store, "server")
    with store.reading() as connection:
        held = Holding(connection, session.clinic).items(session.tablet)
    store.close()
    assert [i.item for i in held if i.number] == unsent


def test_the_second_person_of_a_copied_tablet_still_signs_with_a_key_that_counts(tablet, tmp_path):
    first, a, fitting = tablet
    second = copy_of(first, tmp_path / "two")
    b = second.unlock(PROSTHETIST, PINS[PROSTHETIST])
    correct(a, fitting, "body", body_mass_kg="81")
    correct(b, fitting, "body", body_mass_kg="79")
    sync(a), sync(b)
    keys = second.unlock_beside(b, TECHNICIAN, PINS[TECHNICIAN])
    from shared_models.entries.signatures import public_text

    assert public_text(keys.signing_key) in b.record.vouched.of(TECHNICIAN)
    second.close()
