"""What a fitting shows depends on what was recorded, and on nothing else."""

from __future__ import annotations

import json
import random
from datetime import date

from hypothesis import example, given, settings
from hypothesis import strategies as st

from shared_models.checks.freshness import Freshness
from shared_models.checks.verdict import judge
from shared_models.entries.canonical import canonical_bytes
from shared_models.entries.envelope import Entry, entry_from
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from tests.fitting_desk import Desk
from tests.properties.desk_moves import EVERY_MOVE, finished_desks, moves, play

DAY = date(2026, 6, 1)


def both(played) -> list[Desk]:
    desks = finished_desks("tablet-a", "tablet-b")
    play(desks, played)
    return desks


def everything(desks: list[Desk]) -> tuple[list, list]:
    entries, signatures = {}, {}
    for desk in desks:
        entries |= desk.record.entries
        signatures |= desk.record.signatures
    return list(entries.values()), list(signatures.values())


def shown(record: Record, fitting: str) -> dict:
    """All that anybody sees of a fitting."""
    view = FittingView(record, fitting)
    return {
        "verdict": judge(view, DAY).digest,
        "entries": [e.digest for e in view.entries()],
        "history": {n: [e.digest for e in s.history()] for n, s in record.slots(view.subject).items()},
        "confirmed": view.last_confirmed(),
        "stops": [e.digest for e in view.unanswered_stops()],
        "places": {d: record.place_of(d) for d in record.entries},
    }


@settings(deadline=None, max_examples=60)
@given(played=moves(), seed=st.integers(0, 2**32), pieces=st.integers(1, 7))
@example(played=EVERY_MOVE, seed=7, pieces=5)
def test_a_fitting_is_the_same_in_whatever_order_pieces_and_repetition_it_arrives(played, seed, pieces):
    desks = both(played)
    entries, signatures = everything(desks)
    whole = Record()
    whole.add(entries, signatures)
    expected = shown(whole, desks[0].fitting.id)

    shuffled = random.Random(seed)
    arriving = [*entries, *signatures, *shuffled.sample(entries, len(entries) // 3)]
    shuffled.shuffle(arriving)
    record = Record()
    for start in range(pieces):
        piece = arriving[start::pieces]
        record.add(
            [x for x in piece if isinstance(x, Entry)], [x for x in piece if not isinstance(x, Entry)]
        )
        judge(FittingView(record, desks[0].fitting.id), DAY)

    assert shown(record, desks[0].fitting.id) == expected


@settings(deadline=None, max_examples=40)
@given(played=moves())
@example(played=EVERY_MOVE)
def test_two_tablets_see_the_same_fitting_once_they_have_exchanged(played):
    left, right = both(played)
    left.take(right)
    right.take(left)
    assert shown(left.record, left.fitting.id) == shown(right.record, right.fitting.id)


class RememberingDesk(Desk):
    """A desk beside which somebody writes down every entry that was made."""

    def keep(self, entry: Entry) -> Entry:
        self.made = {**getattr(self, "made", {}), entry.digest: entry.plaintext()}
        return super().keep(entry)


@settings(deadline=None, max_examples=40)
@given(played=moves())
@example(played=EVERY_MOVE)
def test_nothing_recorded_ever_disappears_or_changes(played):
    desks = finished_desks("tablet-a", "tablet-b", desk_class=RememberingDesk)
    made = {d: e.plaintext() for d, e in desks[0].record.entries.items()}
    play(desks, played)
    desks[0].take(desks[1])
    for desk in desks:
        made |= getattr(desk, "made", {})
    record = desks[0].record
    assert {d: e.plaintext() for d, e in record.entries.items()} == made
    seen = {e.digest for e in desks[0].view.entries()}
    assert seen == {d for d, e in record.entries.items() if e.subject == desks[0].fitting}


def with_other_clocks(entries: list[Entry], seed: int) -> dict[str, Entry]:
    """The same facts as if every clock had run wild: by old digest, the new entry."""
    wild, made = random.Random(seed), {}
    for entry in entries:
        text = canonical_bytes(dict(entry.envelope)).decode()
        for old, new in made.items():
            text = text.replace(old, new.digest)
        envelope = json.loads(text)
        for name in ("rests_on", "replaces"):
            envelope[name] = sorted(envelope[name])
        envelope["clock"] = f"{wild.randrange(2**44):012x}-{wild.randrange(2**16):04x}"
        made[entry.digest] = entry_from(envelope)
    return made


@settings(deadline=None, max_examples=30)
@given(played=moves(), seed=st.integers(0, 2**32))
@example(played=EVERY_MOVE, seed=7)
@example(played=[("walk", 224, 1), ("answer", 0, 1), ("review", 0, 0)], seed=0)
def test_no_clock_decides_what_holds_a_place_or_what_is_stale(played, seed):
    desks = both(played)
    desks[0].take(desks[1])
    record, fitting = desks[0].record, desks[0].fitting
    made = with_other_clocks(list(record.entries.values()), seed)
    other = Record()
    other.add(made.values())

    fresh, again = Freshness(FittingView(record, fitting.id)), Freshness(FittingView(other, fitting.id))
    for name, slot in record.slots(fitting).items():
        heads = {made[e.digest].digest for e in slot.heads()}
        assert heads == {e.digest for e in other.slot(fitting, renamed(name, made)).heads()}
        for head in slot.heads():
            causes = {(c.code, renamed(c.slot, made)) for c in fresh.causes(head)}
            assert causes == {(c.code, c.slot) for c in again.causes(made[head.digest])}


def renamed(slot: str, made: dict[str, Entry]) -> str:
    """The slot as it is called there: the answer to a stop is named by the stopped trial's digest."""
    sort, _, key = slot.partition("/")
    return f"{sort}/{made[key].digest}" if key in made else slot


def course(desk: Desk) -> dict[str, list[str]]:
    """The history of each slot, each fact by the entry whose place it keeps."""
    slots = desk.record.slots(desk.fitting)
    return {name: [slot.root(e).digest for e in slot.history()] for name, slot in slots.items()}


@settings(deadline=None, max_examples=40)
@given(played=moves(most=8))
@example(played=EVERY_MOVE)
def test_the_course_of_a_fitting_never_changes_its_order_as_more_is_recorded(played):
    desks = finished_desks("tablet-a", "tablet-b")
    before = course(desks[0])
    for move in played:
        play(desks, [move])
        after = course(desks[0])
        for name, facts in before.items():
            kept = list(dict.fromkeys(f for f in facts if f in after[name]))
            assert kept == list(dict.fromkeys(f for f in after[name] if f in facts))
        before = after


@settings(deadline=None, max_examples=30)
@given(played=moves(tablets=1, most=5), number=st.integers(0, 10_000))
def test_a_correction_keeps_the_place_of_what_it_corrects(played, number):
    (desk,) = finished_desks("tablet-a")
    play([desk], played)
    before = course(desk)
    play([desk], [("correct", number, 0)])
    assert course(desk) == before
