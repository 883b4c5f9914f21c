"""A tablet makes the next part ready while one is sent, and asks for a page while one is stored: nothing is lost by it."""

from __future__ import annotations

import threading
from types import SimpleNamespace

import httpx
import pytest

from shared_models.entries.signatures import new_key, public_text
from shared_models.exchange import pull as pulls
from mobile.demo import demo_newcomers
from mobile.keeping import outbox
from mobile.keeping.ahead import Ahead
from mobile.keeping.courier import Courier
from mobile.keeping.line import SyncRefusal
from mobile.keeping.tablet import Tablet
from tests.fitting_desk import CLINIC
from tests.journeys.at_work import PROSTHETIST, open_fitting, record
from tests.shared_models.making import CHEAP


class Cutting(httpx.BaseTransport):
    """Carries requests; the one with the number ``cut`` breaks off, before or after the server took it."""

    def __init__(self, carry: httpx.BaseTransport) -> None:
        self._carry = carry
        self.asked: list[httpx.Request] = []
        self.cut, self.reaches_server = 0, False

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        self.asked.append(request)
        is_cut = len(self.asked) == self.cut
        if is_cut and not self.reaches_server:
            raise httpx.ReadError("cut")
        answer = self._carry.handle_request(request)
        if is_cut:
            raise httpx.ReadError("cut")
        return answer


@pytest.fixture
def two(house, tmp_path, monkeypatch):
    """Two tablets whose parts and pages are small, so that a few entries make many of them."""
    monkeypatch.setattr(outbox, "ENTRIES_A_BATCH", 3)
    monkeypatch.setattr(outbox, "_SMALLEST_SHARE", 3)
    monkeypatch.setattr(pulls, "USUAL_ITEMS", 4)
    found = []
    for name in ("sends", "fetches"):
        wire = Cutting(house.client()._transport)
        courier = Courier(lambda wire=wire: httpx.Client(transport=wire), works_ahead=True)
        key = new_key()
        enrolment = courier.enrol("http://127.0.0.1", house.code(), name, public_text(key))
        tablet = Tablet(tmp_path / name, CHEAP)
        person = next(n for n in demo_newcomers() if n.staff == PROSTHETIST)
        session = tablet.join(enrolment, courier.fetch_all(enrolment), key, person)
        found.append(SimpleNamespace(tablet=tablet, session=session, courier=courier, wire=wire))
    sends, fetches = found
    fitting = open_fitting(sends.session, "A-1")
    for _ in range(3):
        for step in ("body", "activity"):
            record(sends.session, fitting, step)
    yield SimpleNamespace(sends=sends, fetches=fetches, house=house)
    for one in found:
        one.tablet.close()


def sync(one, is_cancelled=lambda: False):
    return one.courier.sync(one.session, lambda *_: None, one.session.absorb, is_cancelled)


def all_agree(two) -> bool:
    for one in (two.sends, two.fetches, two.sends):
        sync(one)
    return len({
        entries.fingerprint(CLINIC) for entries in
        (two.sends.session.entries, two.fetches.session.entries, two.house.station.entries)
    }) == 1


def test_both_tablets_and_the_server_hold_the_same_after_many_parts_and_pages(two):
    sync(two.sends)
    assert sum(r.method == "POST" for r in two.sends.wire.asked) > 3
    sync(two.fetches)
    assert sum("after=" in str(r.url) for r in two.fetches.wire.asked) > 3
    assert two.sends.session.unsent()[0] == 0
    assert all_agree(two)


@pytest.mark.parametrize("reaches_server", (False, True))
@pytest.mark.parametrize("after", (1, 2, 3, 4, 5))
def test_a_line_cut_at_any_request_loses_nothing_and_doubles_nothing(two, after, reaches_server):
    for one in (two.sends, two.fetches):
        one.wire.reaches_server = reaches_server
        one.wire.cut = len(one.wire.asked) + after
        with pytest.raises(SyncRefusal, match="server_not_reached"):
            sync(one)
    assert all_agree(two)
    chain = two.house.station.entries.chain(CLINIC, two.sends.session.tablet)
    assert [e.number for e in chain] == list(range(1, two.sends.session.author.end.number + 1))


def test_after_a_part_was_cut_off_smaller_ones_go_up_until_the_line_holds(two):
    load = two.sends.courier._load
    two.sends.wire.cut = len(two.sends.wire.asked) + 2
    with pytest.raises(SyncRefusal):
        sync(two.sends)
    assert load.entries == 1
    sync(two.sends)
    assert load.entries == 3 and two.sends.session.unsent()[0] == 0


def test_breaking_off_between_two_pages_keeps_what_came_and_goes_on_there(two):
    sync(two.sends)
    stored = []
    whole = two.fetches.session.entries.add_and_note
    two.fetches.session.entries.add_and_note = lambda *a, **k: stored.append(a[0].pulled_to) or whole(*a, **k)
    sync(two.fetches, is_cancelled=lambda: len(stored) == 2)
    assert len(stored) == 2
    assert two.fetches.session.entries.sync_state(CLINIC).pulled_to == stored[-1]
    sync(two.fetches)
    assert len(stored) > 3 and stored == sorted(set(stored))
    assert all_agree(two)


def test_work_ahead_is_over_when_its_block_is_left_and_tells_its_error_to_who_asks():
    begun, may_end, ended = threading.Event(), threading.Event(), []

    def work():
        begun.set()
        may_end.wait()
        ended.append(True)
        raise SyncRefusal("server_not_reached")

    with pytest.raises(KeyError), Ahead(work, now=True):
        begun.wait()
        may_end.set()
        raise KeyError("the disk was full")
    assert ended == [True]
    with Ahead(work, now=True) as following, pytest.raises(SyncRefusal):
        following.result()


def test_a_simulator_sees_one_thing_after_the_other():
    done = []
    with Ahead(lambda: done.append("next"), now=False) as following:
        done.append("this")
        following.result()
    with Ahead(lambda: done.append("never asked for"), now=False):
        pass
    assert done == ["this", "next"]
