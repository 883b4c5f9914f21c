"""Bad days: each is said in a clear sentence, and nothing is lost."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import httpx
import pytest
from sqlalchemy import event

from shared_models.ledger.opening import open_store
from shared_models.quantities.refusals import Refusal
from mobile.keeping import outbox
from mobile.keeping.courier import Courier
from mobile.keeping.tablet import STORE_NAME, Newcomer, Tablet
from tests.journeys import bad_links
from tests.journeys.at_work import (
    PINS,
    PROSTHETIST,
    address_of,
    alone,
    joined,
    must_be_sound,
    on_the_server,
    open_fitting,
    own,
    record,
    send_by,
    server_digest,
    sync,
    to_the_bench,
)
from tests.journeys.conftest import ROOT
from tests.shared_models.making import CHEAP

_numbers = iter(range(1, 100))


# A file that can't be opened ------------------------------------------------


def not_a_store(path: Path) -> None:
    path.write_bytes(b"%PDF-1.7 the shopping list of somebody else\n" * 40)


def other_database(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
        connection.commit()


def servers_store(path: Path) -> None:
    open_store(path, "server").close()


def newer_store(path: Path) -> None:
    open_store(path, "tablet").close()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.execute("UPDATE about SET program = '99.0'")
        connection.commit()
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")


@pytest.mark.parametrize("make, words", [
    (not_a_store, "is no Stancebook store"),
    (other_database, "is no Stancebook store"),
    (servers_store, "This is the store of a server, and a tablet's store is needed."),
    (newer_store, "was written by Stancebook 99.0"),
])
def test_a_file_that_is_no_tablets_store_is_refused_in_a_sentence_and_left_as_it_was(
    tmp_path, make, words
):
    path = tmp_path / STORE_NAME
    make(path)
    before = path.read_bytes()
    told = subprocess.run(
        [sys.executable, "-c", "import sys; from shared_models.command import main; sys.exit(main())",
         "tablet", "--folder", str(tmp_path)],
        cwd=ROOT, capture_output=True, text=True, timeout=60,
        env={**os.environ, "KIVY_NO_CONSOLELOG": "1"},
    )
    assert told.returncode == 1
    assert words in told.stderr, told.stderr
    assert "Traceback" not in told.stdout + told.stderr
    assert path.read_bytes() == before


# A full disk ------------------------------------------------------------------


class FullDisk:
    """Makes a store's disk full: not one page more than it has, and none of them free."""

    def __init__(self, tablet: Tablet) -> None:
        self.store, self.most = tablet.store, 0
        event.listen(self.store.engine, "begin", self._limit)

    def _limit(self, connection) -> None:
        most = self.most or 2**30
        connection.exec_driver_sql(f"PRAGMA max_page_count = {most}")

    def fill(self) -> None:
        path = str(self.store.path)
        with closing(sqlite3.connect(path, isolation_level=None)) as connection:
            connection.execute("VACUUM")
            self.most = connection.execute("PRAGMA page_count").fetchone()[0]

    def make_room(self) -> None:
        self.most = 0


def test_a_full_disk_while_saving_is_said_what_was_typed_stays_and_saving_works_again(
    tmp_path, on_screen, finger
):
    tablet, session = alone(tmp_path)
    fitting = open_fitting(session, "D-4001")
    stage = on_screen(tablet, session)
    stage.go_fitting(fitting, "person", "activity")
    disk, before = FullDisk(tablet), own(session)
    finger.tap("field:functional_level=3")
    finger.tap("field:walks_at_two_paces=yes")
    finger.tap("field:goals")
    finger.type("hill paths")
    disk.fill()

    # Three bytes a letter: more than a page of the store, within what the field takes.
    long_goal = ", " + "山" * 1500
    stage_window = finger.window
    stage_window.dispatch("on_textinput", long_goal)
    finger.settle()
    finger.tap("save")
    assert finger.sees("Not saved: the disk is full.")
    assert finger.find("field:goals").text == "hill paths" + long_goal
    assert own(session) == before
    assert session.fitting(fitting).head("activity") is None
    must_be_sound(session)

    disk.make_room()
    finger.tap("save")
    saved = session.fitting(fitting).head("activity")
    assert saved.body["goals"] == "hill paths" + long_goal
    assert not finger.sees("The disk can't keep")
    tablet.close()
    again = Tablet(tmp_path, CHEAP)
    assert own(again.unlock(PROSTHETIST, PINS[PROSTHETIST])) == [*before, saved.digest]
    again.close()


def test_typing_on_a_full_disk_is_kept_again_as_soon_as_there_is_room(tmp_path, on_screen, finger):
    tablet, session = alone(tmp_path)
    fitting = open_fitting(session, "D-4002")
    stage = on_screen(tablet, session)
    stage.go_fitting(fitting, "person", "activity")
    disk = FullDisk(tablet)
    disk.fill()
    finger.tap("field:goals")
    finger.window.dispatch("on_textinput", "a" * 6000)
    finger.settle()
    assert stage.page.header.saved == "typing is not kept"
    disk.make_room()
    finger.type("b")
    assert stage.page.header.saved != "typing is not kept"
    assert not finger.sees("The disk can't keep")
    tablet.close()
    again = Tablet(tmp_path, CHEAP)
    place = f"fitting/{fitting}/activity"
    assert again.unlock(PROSTHETIST, PINS[PROSTHETIST]).draft(place)["goals"] == "a" * 6000 + "b"
    again.close()


# A bad link -------------------------------------------------------------------


@pytest.fixture
def tablet(server, new_code, tmp_path):
    """A tablet that joined the clinic and holds unsent entries of one fitting."""
    number = next(_numbers)
    tablet, session = joined(tmp_path, server.address, new_code(), f"tablet-link-{number}")
    tablet.fitting = open_fitting(session, f"D-50{number:02}")
    to_the_bench(session, tablet.fitting)
    yield tablet, session
    tablet.close()


def sync_on_screen(on_screen, finger, tablet, session, courier=None) -> str:
    """Press 'send and fetch' and return what the page says in the end."""
    stage = on_screen(tablet, session, courier)
    stage.go_sync()
    finger.settle()
    finger.tap("main")
    finger.wait_for(lambda: finger.is_there("sync:outcome"), what="the end of the sync")
    outcome = finger.find("sync:outcome")
    return f"{outcome.lead} {outcome.text}"


def nothing_lost_and_nothing_sent(session, before) -> None:
    assert own(session) == before
    assert session.unsent()[0] == len(before)
    must_be_sound(session)


def test_a_server_that_is_not_reached_is_said_and_everything_stays_unsent(
    tablet, on_screen, finger
):
    tablet, session = tablet
    before, real = own(session), address_of(session)
    send_by(session, bad_links.closed_address())
    said = sync_on_screen(on_screen, finger, tablet, session)
    assert said.startswith("Not sent. The server can't be reached."), said
    nothing_lost_and_nothing_sent(session, before)
    send_by(session, real)
    assert sync_on_screen(on_screen, finger, tablet, session).startswith("Done.")
    assert on_the_server(session) == before and session.unsent() == (0, "")


@pytest.mark.parametrize("body, status, words", [
    (b"<html>Welcome to this hotel. Please accept our terms.</html>", 200, "not in the strict form"),
    (b'{"format":2,"clinic":"x"}', 200, "another version"),
    (b'{"format":1}', 200, "lacks something"),
    (b"[1, 2, 3]", 200, "another version"),
    (b"", 200, "not in the strict form"),
    (b"<html>Bad gateway</html>", 502, "it answered 502"),
    (b'{"format":1,"code":"token_not_known","sentence":"This tablet is not known here."}', 401,
     "The server says: This tablet is not known here."),
])
def test_nonsense_and_other_versions_are_said_and_everything_stays_unsent(
    tablet, on_screen, finger, body, status, words
):
    tablet, session = tablet
    before = own(session)
    with bad_links.answering(body, status) as address:
        send_by(session, address)
        said = sync_on_screen(on_screen, finger, tablet, session)
    assert said.startswith("Not sent.") and words in said, said
    assert "Nothing on this tablet is lost." in said
    nothing_lost_and_nothing_sent(session, before)


def test_an_entry_changed_on_its_way_is_refused_whole_and_everything_stays_unsent(
    tablet, on_screen, finger
):
    tablet, session = tablet
    before = own(session)
    courier = Courier(lambda: httpx.Client(transport=bad_links.Tampering(), timeout=20))
    said = sync_on_screen(on_screen, finger, tablet, session, courier)
    assert said.startswith("The server refused the batch."), said
    assert "does not match its digest" in said and "Everything is kept on this tablet." in said
    nothing_lost_and_nothing_sent(session, before)
    assert on_the_server(session) == []
    assert sync_on_screen(on_screen, finger, tablet, session).startswith("Done.")
    assert on_the_server(session) == before


def test_a_line_cut_in_the_middle_of_a_push_repeats_without_doubles(tablet, on_screen, finger):
    tablet, session = tablet
    before, real = own(session), address_of(session)
    proxy = bad_links.CuttingProxy(real)
    send_by(session, proxy.address)
    for up, down in ((120, None), (700, None), (2000, None), (None, 150)):
        proxy.cut_up, proxy.cut_down = up, down
        said = sync_on_screen(on_screen, finger, tablet, session)
        assert said.startswith("Not sent. The server can't be reached."), (up, down, said)
        assert own(session) == before
        # Up: nothing arrived.  Down: the server has it all, and the tablet does not know.
        assert on_direct(session, real) == ([] if down is None else before)
        assert session.unsent()[0] == len(before)
    assert proxy.cuts == 4
    proxy.cut_up = proxy.cut_down = None
    assert sync_on_screen(on_screen, finger, tablet, session).startswith("Done.")
    assert on_the_server(session) == before
    assert session.unsent() == (0, "")
    assert server_digest(session, tablet.fitting) == session.verdict(tablet.fitting).digest
    proxy.close()


def on_direct(session, real: str) -> list[str]:
    """Ask the server past the proxy what it has of this tablet."""
    through = address_of(session)
    send_by(session, real)
    try:
        return on_the_server(session)
    finally:
        send_by(session, through)


def test_a_cancelled_sync_keeps_what_went_through_and_goes_on_from_there(
    tablet, on_screen, finger, monkeypatch
):
    tablet, session = tablet
    before = own(session)
    monkeypatch.setattr(outbox, "ENTRIES_A_BATCH", 5)
    slow = bad_links.Slow()
    stage = on_screen(tablet, session, Courier(lambda: httpx.Client(transport=slow, timeout=30)))
    stage.go_sync()
    finger.settle()
    finger.tap("main")
    finger.wait_for(lambda: slow.pushes == 2, what="the second batch on its way")
    finger.tap("sync:progress:cancel")
    slow.go_on.set()
    finger.wait_for(lambda: finger.is_there("sync:outcome"), what="the end of the sync")
    assert finger.find("sync:outcome").lead == "Cancelled."
    assert session.unsent()[0] == len(before) - 10
    assert on_the_server(session) == before[:10]
    assert sync_on_screen(on_screen, finger, tablet, session).startswith("Done.")
    assert on_the_server(session) == before and session.unsent() == (0, "")


def test_leaving_the_page_and_coming_back_finds_the_same_sync_under_way(
    tablet, on_screen, finger, monkeypatch
):
    tablet, session = tablet
    monkeypatch.setattr(outbox, "ENTRIES_A_BATCH", 5)
    slow = bad_links.Slow()
    stage = on_screen(tablet, session, Courier(lambda: httpx.Client(transport=slow, timeout=30)))
    stage.go_sync()
    finger.settle()
    finger.tap("main")
    finger.wait_for(lambda: slow.pushes == 2, what="the second batch on its way")
    finger.tap("header:leave")
    run = stage.sync_run
    stage.go_sync()
    finger.settle()
    assert stage.page.run is run and finger.find("main").disabled
    slow.go_on.set()
    finger.wait_for(lambda: finger.is_there("sync:outcome"), what="the end of the sync")
    assert session.unsent() == (0, "")


def test_a_tablet_that_locks_itself_while_it_sends_sends_to_the_end(tablet, on_screen, finger, monkeypatch):
    tablet, session = tablet
    monkeypatch.setattr(outbox, "ENTRIES_A_BATCH", 5)
    slow = bad_links.Slow()
    stage = on_screen(tablet, session, Courier(lambda: httpx.Client(transport=slow, timeout=30)))
    stage.go_sync()
    finger.settle()
    finger.tap("main")
    finger.wait_for(lambda: slow.pushes == 2, what="the second batch on its way")
    run = stage.sync_run
    stage.go_lock()
    assert stage.session is None
    slow.go_on.set()
    finger.wait_for(lambda: run.done, what="the end of the sync")
    finger.settle()
    assert type(stage.page).__name__ == "LockPage" and run.refusal is None
    assert run.result.sent > 10


# Somebody the server does not know ----------------------------------------------


def test_a_colleague_unknown_to_the_server_is_not_added_here_so_the_record_can_still_be_sent(
    tablet, on_screen, finger
):
    tablet, session = tablet
    stage, before = on_screen(tablet, session), own(session)
    stage.go_home()
    finger.settle()
    finger.tap("colleague")
    assert not finger.is_there("field:name")
    for _ in range(2):
        for digit in "604815":
            finger.tap(f"pin:{digit}")
        finger.tap("pin:enter")
    assert finger.sees("Choose yourself first, then the PIN.")
    stranger = Newcomer("p-st-1", "Sol Stranger (invented)", ("technician",), "604815")
    with pytest.raises(Refusal) as refused:
        tablet.add_person(session, stranger)
    assert refused.value.code == "staff_made_on_server"
    assert own(session) == before and stranger.staff not in tablet.people()
    sync(session)
    assert on_the_server(session) == before


# A wrong clock ------------------------------------------------------------------


class WrongClock:
    """A wall clock that somebody sets; everything on the tablet reads it."""

    def __init__(self, monkeypatch) -> None:
        from datetime import timedelta

        from shared_models.entries import composing
        from shared_models.quantities import moments
        from mobile.keeping import session as session_module
        from mobile.keeping import tablet as tablet_module

        self.days, real, real_ms = 0, moments.now_here, tablet_module._wall_ms
        for module in (composing, session_module):
            monkeypatch.setattr(module, "now_here", lambda: real() + timedelta(days=self.days))
        monkeypatch.setattr(
            tablet_module, "_wall_ms", lambda: real_ms() + self.days * 86_400_000
        )


def test_a_clock_set_400_days_forth_and_back_loses_nothing_and_leaves_order_and_verdict(
    tablet, tmp_path, monkeypatch
):
    tablet, session = tablet
    fitting, clock = tablet.fitting, WrongClock(monkeypatch)
    saved = []
    for days, position in ((0, "9"), (400, "10"), (0, "9"), (-400, "8"), (400, "7"), (-400, "6"), (0, "5")):
        clock.days = days
        saved.append(record(session, fitting, "setting/swing_flexion", position=position, reason="trial"))
        # Switched off and on again with the clock as it is.
        tablet.close()
        tablet.__init__(tmp_path, CHEAP)
        session = tablet.unlock(PROSTHETIST, PINS[PROSTHETIST])
    clock.days = 0
    shown = [e.digest for e in session.fitting(fitting).entries()]
    places = [shown.index(e.digest) for e in saved]
    assert places == sorted(places), "shown in another order than they were recorded"
    assert session.fitting(fitting).settings()["swing_flexion"] == "5"
    assert [e.digest for e in saved] == own(session)[-len(saved):]
    must_be_sound(session)
    sync(session)
    assert on_the_server(session) == own(session)
    assert server_digest(session, fitting) == session.verdict(fitting).digest
    steps = {s.key: s.state for s in session.verdict(fitting).steps}
    assert steps["person"] == "met" and "disputed" not in steps.values()
