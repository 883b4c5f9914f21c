"""A tablet that reads one fitting at a time shows what one that reads everything shows."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from shared_models.checks.summarising import summary_of
from shared_models.checks.verdict import judge
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.quantities.moments import now_here
from mobile.keeping.record_on_demand import RecordOnDemand
from mobile.keeping.summaries import Summaries
from tests.properties.desk_moves import EVERY_MOVE, moves, play
from tests.properties.test_fold_and_verdict import both, everything, shown
from tests.shared_models.making import opened, tablet_store


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("stores")


def fresh_store(folder: Path):
    return tablet_store(Path(tempfile.mkdtemp(dir=folder)))


def whole_of(store) -> Record:
    """All of a store, folded at once."""
    record = Record()
    record.add(store.entries(), store.signatures())
    return record


@settings(deadline=None, max_examples=25)
@given(played=moves(), seed=st.integers(0, 2**32), pieces=st.integers(1, 6), kept=st.integers(1, 3))
@example(played=EVERY_MOVE, seed=7, pieces=4, kept=1)
def test_a_fitting_read_on_demand_is_the_same_as_one_read_with_everything_else(
    folder, played, seed, pieces, kept
):
    desks = both(played)
    entries, signatures = everything(desks)
    fitting = desks[0].fitting.id
    store = fresh_store(folder)
    record = RecordOnDemand(store, kept)
    shuffled = random.Random(seed)
    arriving = [*entries, *signatures]
    shuffled.shuffle(arriving)
    for start in range(pieces):
        piece = arriving[start::pieces]
        new = [x for x in piece if isinstance(x, Entry)], [x for x in piece if not isinstance(x, Entry)]
        store.add_all(*new)
        record.add(*new)
        if shuffled.random() < 0.5:
            judge(FittingView(record, fitting), now_here().date())
        if shuffled.random() < 0.3:  # others are opened, and this one leaves memory
            for number in range(4):
                record.slots(Subject("fitting", f"another-{number}"))
    whole = whole_of(store)
    expected, found = shown(whole, fitting), shown(record, fitting)
    for part in ("verdict", "entries", "history", "confirmed", "stops"):
        assert found[part] == expected[part], part
    alone = record.view_alone(fitting)
    assert judge(alone, now_here().date()).digest == judge(FittingView(whole, fitting), now_here().date()).digest
    opened(store).close()


@settings(deadline=None, max_examples=20)
@given(played=moves(), seed=st.integers(0, 2**32))
@example(played=EVERY_MOVE, seed=3)
def test_the_list_says_of_a_fitting_what_its_verdict_says_however_its_entries_arrive(folder, played, seed):
    desks = both(played)
    entries, signatures = everything(desks)
    fitting = desks[0].fitting.id
    store = fresh_store(folder)
    listed = Summaries(store, RecordOnDemand(store).view_alone, "tablet-a")
    shuffled = random.Random(seed)
    arriving = [*entries, *signatures]
    shuffled.shuffle(arriving)
    for start in range(3):
        piece = arriving[start::3]
        store.add_all([x for x in piece if isinstance(x, Entry)], [x for x in piece if not isinstance(x, Entry)])
        listed = Summaries(store, RecordOnDemand(store).view_alone, "tablet-a")
        listed.all()
    view = FittingView(whole_of(store), fitting)
    expected = summary_of(view, judge(view, now_here().date()), "tablet-a")
    assert {s.fitting: s for s in listed.all()}[fitting] == expected
    store.drop_summaries()
    anew = Summaries(store, RecordOnDemand(store).view_alone, "tablet-a")
    assert {s.fitting: s for s in anew.all()}[fitting] == expected, "worked out from the entries again"
    opened(store).close()


def test_what_is_recorded_while_a_summary_is_worked_out_is_not_passed_over(folder):
    desks = both([])
    entries, signatures = everything(desks)
    store = fresh_store(folder)
    store.add_all(entries, signatures)
    row, = [r for r in store.summary_rows() if r.fitting == desks[0].fitting.id]
    # Meanwhile a valve is turned.
    play(desks, [("turn", 0, 0)])
    later, _ = everything(desks)
    store.add_all([e for e in later if e not in entries])
    assert store.keep_summary(row, "", {"old": True}) is False
    again, = [r for r in store.summary_rows() if r.fitting == row.fitting]
    assert again.stale and again.marks > row.marks and again.content == row.content
    opened(store).close()


def test_people_and_fittings_long_not_asked_for_leave_memory_and_come_back_whole(folder):
    desks = both([])
    entries, signatures = everything(desks)
    store = fresh_store(folder)
    store.add_all(entries, signatures)
    record = RecordOnDemand(store, kept=1)
    fitting = desks[0].fitting.id
    before = shown(record, fitting)["verdict"]
    assert any(e.subject.type == "fitting" for e in record.entries.values())
    for number in range(3):
        record.slots(Subject("fitting", f"another-{number}"))
        record.slots(Subject("person", f"another-{number}"))
    assert not any(e.subject.type in ("fitting", "person") for e in record.entries.values())
    assert shown(record, fitting)["verdict"] == before
    opened(store).close()


def test_a_signature_that_arrives_before_what_it_signs_counts_once_that_is_here(folder):
    desks = both([])
    entries, signatures = everything(desks)
    sign_off = desks[0].head("sign_off")
    store = fresh_store(folder)
    store.add_all([e for e in entries if e != sign_off])
    record = RecordOnDemand(store)
    record.slots(desks[0].fitting)
    for new in (([], signatures), ([sign_off], [])):
        store.add_all(*new)
        record.add(*new)
    assert record.has_signed(sign_off, "signs_off") is not None
    assert record.has_signed(sign_off, "signs_off") == desks[0].record.has_signed(sign_off, "signs_off")
    opened(store).close()
