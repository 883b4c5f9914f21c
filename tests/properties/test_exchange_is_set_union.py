"""Syncing is set union: repeats, pieces, order and detours change nothing."""

import gzip
import itertools
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shared_models.exchange.batch import batch_of, cut, decode, encode
from shared_models.exchange.intake import Accepted, Refused, check_batch
from shared_models.exchange.packing import BatchRefusal
from shared_models.exchange.pull import decode as decode_pull
from shared_models.exchange.pull import encode as encode_pull
from shared_models.exchange.pull import page_of
from tests.shared_models.making import (
    CLINIC,
    Chain,
    keys_of,
    opened,
    server_store,
    tablet_store,
)

LENGTH = 6
NUMBERS = itertools.count()


@pytest.fixture(scope="module")
def empty(tmp_path_factory) -> Path:
    """Fresh stores of both sides, made once and copied for each example."""
    folder = tmp_path_factory.mktemp("empty")
    for make in (tablet_store, server_store):
        opened(make(folder)).close()
    return folder


def fresh_stores(empty: Path):
    """Return two tablets' stores, a hub's and a main server's."""
    folder = empty / f"example-{next(NUMBERS)}"
    folder.mkdir()
    for name in ("one", "two"):
        shutil.copy(empty / "tablet.sqlite", folder / name)
    for name in ("hub", "main"):
        shutil.copy(empty / "server.sqlite", folder / name)
    return (
        [tablet_store(folder, "one"), tablet_store(folder, "two")],
        server_store(folder, "hub"), server_store(folder, "main"),
    )


def close(*stores) -> None:
    folders = {opened(store).path.parent for store in stores}
    for store in stores:
        opened(store).close()
    for folder in folders:
        shutil.rmtree(folder)


def push(server, data: bytes, keys):
    """Do as a server does with the bytes of a push."""
    batch = decode(data)
    found = check_batch(batch, server, keys)
    if isinstance(found, Accepted):
        server.add_all(found.new_entries, found.new_signatures)
    return found


def push_persistently(chain: Chain, server, first: int, last: int, keys) -> None:
    """Push a stretch; after a gap is refused, send again from what is known."""
    found = push(server, encode(chain.batch(first, last)), keys)
    if isinstance(found, Refused):
        assert {reason.code for reason in found.reasons} == {"chain_gap"}
        known = found.reasons[0].figures["known_number"]
        assert known < first - 1
        resent = push(server, encode(chain.batch(known + 1, last)), keys)
        assert isinstance(resent, Accepted)


def pass_on(hub, main, keys, most_entries: int) -> None:
    """A hub sends all it has to the main server, cut at signed heads."""
    tablets = hub.chain_tablets(CLINIC)
    entries = [entry for name in tablets for entry in hub.chain(CLINIC, name)]
    for batch in cut(CLINIC, entries, hub.signatures(CLINIC), most_entries):
        assert isinstance(push(main, encode(batch), keys), Accepted)


def pull_all(store, server, limit: int) -> None:
    after, more = 0, True
    while more:
        items = server.feed(CLINIC, after, limit + 1)
        page = page_of(CLINIC, server.epoch, items, after, limit)
        found = decode_pull(encode_pull(page))
        store.add_all(found.entries, found.signatures, with_sequences=found.sequences)
        after, more = found.next, found.more


stretches = st.tuples(st.integers(1, LENGTH), st.integers(1, LENGTH)).map(sorted)
pushes = st.lists(
    st.tuples(st.integers(0, 1), st.sampled_from(["hub", "main"]), stretches), max_size=8
)


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(pushes=pushes, piece=st.integers(1, LENGTH), limit=st.integers(1, 9))
def test_the_same_batch_thrice_in_pieces_out_of_order_by_a_hub_changes_nothing(
    empty, pushes, piece, limit
):
    tablets, hub, main = fresh_stores(empty)
    chains = [Chain("tablet-a").grown(LENGTH), Chain("tablet-b").grown(LENGTH)]
    keys = keys_of(*chains)
    for chain, tablet in zip(chains, tablets):
        for entry in chain.entries:
            tablet.append(entry)
    for which, where, (first, last) in pushes:
        target = hub if where == "hub" else main
        push_persistently(chains[which], target, first, last, keys)
    for chain in chains:
        push_persistently(chain, hub, 1, LENGTH, keys)
    pass_on(hub, main, keys, piece)
    fingerprint, last = main.fingerprint(CLINIC), main.last_sequence(CLINIC)
    assert main.count(CLINIC) == 2 * LENGTH

    for _ in range(3):
        for chain in chains:
            push_persistently(chain, main, 1, LENGTH, keys)
        pass_on(hub, main, keys, piece)
    assert (main.count(CLINIC), main.last_sequence(CLINIC)) == (2 * LENGTH, last)
    assert main.fingerprint(CLINIC) == fingerprint
    for tablet in tablets:
        pull_all(tablet, main, limit)
        assert tablet.fingerprint(CLINIC) == fingerprint
        assert [entry.envelope for entry in tablet.entries(CLINIC)] == [
            entry.envelope for entry in main.entries(CLINIC)
        ]
    close(*tablets, hub, main)


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(order=st.permutations([0, 1]), grown=st.tuples(st.integers(1, 4), st.integers(1, 4)))
def test_both_branches_of_a_cloned_tablet_reach_every_store_in_any_order(
    empty, order, grown
):
    tablets, hub, main = fresh_stores(empty)
    chain = Chain().grown(2)
    branches = [chain, chain.clone()]
    for branch, count in zip(branches, grown):
        branch.grown(count)
    keys = keys_of(chain)
    forks = []
    for place in order:
        forks.append(push(hub, encode(branches[place].batch()), keys).forks)
    assert (len(forks[0]), len(forks[1]) > 0) == (0, True)
    pass_on(hub, main, keys, 100)
    pull_all(tablets[0], main, 3)
    wanted = {entry.digest for branch in branches for entry in branch.entries}
    for store in (hub, main, tablets[0]):
        assert {entry.digest for entry in store.entries()} == wanted
        assert set(store.branches(CLINIC, chain.tablet)) == {
            number for number in range(3, 3 + min(grown))
        }
    close(*tablets, hub, main)


@pytest.fixture(scope="module")
def travelling():
    """A batch with a person's signature in it, and its keys."""
    chain = Chain()
    chain.add_staff_key()
    entry = chain.add(body={"text": "load line 38.0 mm", "seen": ["a \u0007 bell"]})
    signatures = [chain.signed_off(entry), chain.head()]
    return batch_of(CLINIC, chain.entries, signatures), keys_of(chain)


@pytest.fixture(scope="module")
def receiving(tmp_path_factory):
    return server_store(tmp_path_factory.mktemp("receiving"))


@pytest.mark.parametrize("layer", ["packed", "plain"])
@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_a_flipped_bit_anywhere_is_refused_whole_or_changes_nothing(
    travelling, receiving, layer, data
):
    """A few bits carry nothing (gzip's time stamp, the case of an escape)."""
    batch, keys = travelling
    sent = encode(batch)
    flipped = bytearray(sent if layer == "packed" else gzip.decompress(sent))
    bit = data.draw(st.integers(0, len(flipped) * 8 - 1))
    flipped[bit // 8] ^= 1 << (bit % 8)
    arrived = bytes(flipped) if layer == "packed" else gzip.compress(bytes(flipped))
    try:
        read = decode(arrived)
    except BatchRefusal:
        return
    if read != batch:
        found = check_batch(read, receiving, keys)
        assert isinstance(found, Refused), found
        assert found.reasons


def test_a_flipped_bit_in_each_byte_of_the_json_is_refused_whole(travelling, receiving):
    batch, keys = travelling
    plain = gzip.decompress(encode(batch))
    refused = 0
    for place in range(len(plain)):
        flipped = bytearray(plain)
        flipped[place] ^= 1 << (place % 8)
        try:
            read = decode(gzip.compress(bytes(flipped), 0))
        except BatchRefusal:
            refused += 1
            continue
        assert isinstance(check_batch(read, receiving, keys), Refused), place
        refused += 1
    assert refused == len(plain)
