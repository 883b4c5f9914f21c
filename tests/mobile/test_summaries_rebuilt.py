"""What the list shows of each fitting is worked out again, whatever cut the working out off."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import insert

from shared_models.checks.summarising import summary_of
from shared_models.checks.verdict import judge
from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import new_key
from shared_models.ledger.opening import open_store
from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.rows import entry_row
from shared_models.ledger.schema import KNOWN_REVISIONS, Schema
from shared_models.ledger.store import EntryStore
from shared_models.ledger.sync_states import SyncState
from shared_models.ledger.tables import entry as entry_table
from shared_models.quantities.moments import moment_text, now_here
from mobile.flows.people import possible_duplicates
from mobile.keeping import summaries
from mobile.keeping.places import STORE_NAME
from mobile.keeping.summaries import AT_ONCE
from mobile.keeping.tablet import Tablet
from tests.bench.big_clinic import PIN, make
from tests.fitting_desk import CLINIC, PROSTHETIST, Desk
from tests.shared_models.making import CHEAP

FITTINGS = 14
AT_WORK = """
import sys
from pathlib import Path
from mobile.keeping.tablet import Tablet
from tests.bench.big_clinic import PIN
from tests.fitting_desk import PROSTHETIST
session = Tablet(Path(sys.argv[1])).unlock(PROSTHETIST, PIN)
session.entries.drop_summaries()
session.summaries()
print("begun", flush=True)
while session.work_out_summaries(1):
    print("one more", flush=True)
"""


def in_the_file(folder: Path, what: str) -> list[tuple]:
    with closing(sqlite3.connect(folder / STORE_NAME)) as connection:
        return connection.execute(what).fetchall()


def killed_at_work(folder: Path, lines: int) -> None:
    """Have every summary dropped and worked out in a process of its own; kill it some lines later."""
    child = subprocess.Popen([sys.executable, "-c", AT_WORK, str(folder)], stdout=subprocess.PIPE, text=True)
    try:
        for _ in range(lines):
            assert child.stdout.readline(), "it ended before it was killed"
    finally:
        child.send_signal(signal.SIGKILL)
        child.communicate()
    assert child.returncode == -signal.SIGKILL


@pytest.fixture(scope="module")
def clinic(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("clinic")
    make(folder, FITTINGS)
    return folder


def test_a_tablet_killed_while_it_works_out_its_list_loses_nothing_and_goes_on_at_the_next_start(clinic):
    before = in_the_file(clinic, "SELECT digest, content FROM entry ORDER BY digest")
    for lines in (1, 4):
        killed_at_work(clinic, lines)
        assert in_the_file(clinic, "PRAGMA integrity_check") == [("ok",)]
        assert in_the_file(clinic, "SELECT digest, content FROM entry ORDER BY digest") == before
        done = in_the_file(clinic, "SELECT count(*) FROM fitting_summary WHERE content IS NOT NULL AND NOT stale")
        assert AT_ONCE <= done[0][0] < FITTINGS, "cut off between the first and the last"
    tablet = Tablet(clinic)
    session = tablet.unlock(PROSTHETIST, PIN)
    session.summaries()
    assert 0 < session.summaries_waiting() < FITTINGS - AT_ONCE, "what was worked out before the kill stays"
    while session.work_out_summaries(5):
        pass
    shown = session.summaries()
    assert len(shown) == FITTINGS and session.summaries_waiting() == 0
    assert shown == [session.summary_of(summary.fitting) for summary in shown]
    tablet.close()


def test_what_was_marked_shows_what_it_said_last_until_it_is_worked_out(clinic):
    tablet = Tablet(clinic)
    session = tablet.unlock(PROSTHETIST, PIN)
    session.summaries()
    while session.work_out_summaries(5):
        pass
    before = session.summaries()
    # A name of somebody at work stands behind every verdict, so all of them are marked.
    session.save("staff", Subject("staff", "somebody-new"), {"name": "Noa Example (invented)", "roles": ["technician"]})
    after = session.summaries()
    assert session.summaries_waiting() == FITTINGS - AT_ONCE
    assert [s.fitting for s in after] == [s.fitting for s in before]
    assert after[AT_ONCE:] == before[AT_ONCE:]
    tablet.close()


def test_who_is_known_is_looked_for_after_a_new_staff_list_without_judging_every_fitting(clinic, monkeypatch):
    tablet = Tablet(clinic)
    session = tablet.unlock(PROSTHETIST, PIN)
    session.summaries()
    while session.work_out_summaries(5):
        pass
    last, same = session.summaries()[-1], session.summaries()[-2]
    session.save("staff", Subject("staff", "somebody-newer"), {"name": "Ona Example (invented)", "roles": ["technician"]})
    person = Subject("person", last.person)
    head = session.record.head(person, "identity")
    session.correct(head, {**head.body, "file_number": "CORRECTED-1"}, "mistyped")
    judged = []
    monkeypatch.setattr(summaries, "judge", lambda view, day: judged.append(view.id) or judge(view, day))
    identity = {"born_on": "1901-01-01", "given_name": "Nobody", "family_name": "Like"}
    assert [k.person for k in possible_duplicates(session, {**identity, "file_number": "corrected-1"})] == [last.person]
    assert [k.person for k in possible_duplicates(session, {**identity, "file_number": same.file_number})] == [same.person]
    assert possible_duplicates(session, {**identity, "file_number": last.file_number}) == []
    assert len(judged) <= 3 * AT_ONCE < FITTINGS and session.summaries_waiting() > 0
    tablet.close()


def written_before_summaries(folder: Path, desk: Desk) -> None:
    """Write a whole fitting into a store as programs wrote it that knew no summaries."""
    old = KNOWN_REVISIONS[: KNOWN_REVISIONS.index("0003")]
    store = open_store(folder / STORE_NAME, "tablet", schema=Schema(known=old))
    codec = KeySlots(store, CHEAP).begin(PROSTHETIST, PIN).codec
    entries = EntryStore(store, codec)
    entries.keep_device("tablet-old", new_key())
    entries.keep_sync_state(SyncState(CLINIC))
    received = moment_text(now_here())
    with store.writing() as connection:
        connection.execute(insert(entry_table), [
            entry_row(e, codec, received) for e in desk.record.entries.values()
        ])
    store.close()


def test_a_store_from_before_the_summaries_is_copied_migrated_and_its_list_worked_out(tmp_path):
    desk = Desk.finished()
    written_before_summaries(tmp_path, desk)
    digests = sorted(in_the_file(tmp_path, "SELECT digest FROM entry"))
    assert not in_the_file(tmp_path, "SELECT name FROM sqlite_master WHERE name = 'fitting_summary'")
    tablet = Tablet(tmp_path)
    assert in_the_file(tmp_path, "SELECT fitting, stale, content FROM fitting_summary") == [(desk.fitting.id, 1, None)]
    session = tablet.unlock(PROSTHETIST, PIN)
    (shown,) = session.summaries()
    view = session.record.view_alone(desk.fitting.id)
    assert shown == summary_of(view, judge(view, now_here().date()), session.tablet)
    assert shown.family_name == desk.head("identity").body["family_name"]
    assert set(digests) <= set(in_the_file(tmp_path, "SELECT digest FROM entry"))
    tablet.close()
    (copy,) = tmp_path.glob(f"{STORE_NAME}.before-*")
    with closing(sqlite3.connect(copy)) as connection:
        assert sorted(connection.execute("SELECT digest FROM entry")) == digests
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == ("0002",)
