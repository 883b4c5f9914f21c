"""Photos that wait: in which order they go, and that finding it out reads no more than it must."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import event

from shared_models.checks.attached import named_bytes
from shared_models.ledger import photos_waiting
from tests.shared_models.making import Chain, opened, tablet_store

KINDS = ("photo", "photo", "sign_off", "setting", "note")


def name_of(photo: int) -> str:
    return hashlib.sha256(bytes([photo])).hexdigest()


def add(chain: Chain, kind: str, fitting: int, photo: int) -> None:
    body = {"photo": f"p-{photo}", "sha256": name_of(photo)} if kind == "photo" else {"text": "as before"}
    chain.add(kind, subject={"type": "fitting", "id": f"fitting-{fitting}"}, body=body)


def by_reading_everything(chains: list[Chain], tablet: str, waiting: set[str]) -> list[str]:
    """Work the order out from all entries, as the words in docs/exchange.md say it."""
    everything = [e for chain in chains for e in chain.entries if e.subject.type == "fitting"]

    def newest(fitting: str, *kinds: str) -> str:
        return max((e.clock for e in everything if e.subject.id == fitting and (not kinds or e.kind in kinds)), default="")

    last = {name: e for e in everything if e.tablet == tablet for name in named_bytes(e) if name in waiting}
    return sorted(
        sorted(last, key=lambda name: last[name].clock),
        key=lambda name: (newest(last[name].subject.id, "sign_off"), newest(last[name].subject.id)), reverse=True,
    )


@settings(max_examples=60)
@given(
    moves=st.lists(st.tuples(st.integers(0, 1), st.sampled_from(KINDS), st.integers(0, 3), st.integers(0, 9)), max_size=40),
    wanted=st.sets(st.integers(0, 9)), at_once=st.sampled_from((1, 3, 500)),
)
def test_the_order_is_that_of_the_whole_record_however_little_of_it_was_read(tmp_path_factory, moves, wanted, at_once):
    chains = [Chain("tablet-a"), Chain("tablet-b", start_ms=1_790_000_000_300)]
    for whose, kind, fitting, photo in moves:
        add(chains[whose], kind, fitting, photo)
    store = tablet_store(tmp_path_factory.mktemp("store"))
    store.add_all([e for chain in chains for e in chain.entries])
    waiting = {name_of(photo) for photo in wanted}
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(photos_waiting, "_AT_ONCE", at_once)
        found = store.photos_in_order("clinic-north", "tablet-a", waiting)
    opened(store).close()
    assert found == by_reading_everything(chains, "tablet-a", waiting)


def test_finding_the_order_goes_through_no_table_from_end_to_end(tmp_path):
    chain = Chain()
    for number in range(700):
        add(chain, "setting", number % 7, 0)
    add(chain, "photo", 3, 1)
    store = tablet_store(tmp_path)
    store.add_all(chain.entries)
    asked: list[tuple[str, object]] = []

    def listen(_connection, _cursor, statement, parameters, *_more) -> None:
        asked.append((statement, parameters))

    event.listen(opened(store).engine, "before_cursor_execute", listen)
    assert store.photos_in_order("clinic-north", chain.tablet, [name_of(1)]) == [name_of(1)]
    event.remove(opened(store).engine, "before_cursor_execute", listen)
    selects = [(statement, parameters) for statement, parameters in asked if statement.startswith("SELECT")]
    assert len(selects) == 4, "the end of the chain, one stretch of it, and its fittings' newest entries"
    with opened(store).reading() as connection:
        for statement, parameters in selects:
            plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters).all()
            assert not [row for row in plan if row[-1].startswith("SCAN")], (statement, plan)
