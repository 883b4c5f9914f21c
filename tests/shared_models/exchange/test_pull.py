"""Pulling: pages in the server's order, damaged pages refused whole."""

import pytest

from shared_models.exchange.packing import BatchRefusal, pack, unpack
from shared_models.exchange.pull import decode, encode, page_of
from tests.shared_models.making import CLINIC, Chain, server_store, tablet_store

NAMES = frozenset(("format", "clinic", "epoch", "items", "next", "more"))


@pytest.fixture
def server(tmp_path):
    store = server_store(tmp_path)
    chain = Chain().grown(7)
    store.add_all(chain.entries, [chain.head()])
    return store


def page(server, after: int, limit: int) -> bytes:
    items = server.feed(CLINIC, after, limit + 1)
    return encode(page_of(CLINIC, server.epoch, items, after, limit))


@pytest.mark.parametrize("limit", [1, 3, 7, 8, 100])
def test_pages_of_any_size_bring_everything_once_and_then_nothing(tmp_path, server, limit):
    tablet, after, more = tablet_store(tmp_path), 0, True
    while more:
        found = decode(page(server, after, limit))
        tablet.add_all(found.entries, found.signatures, with_sequences=found.sequences)
        after, more = found.next, found.more
    assert tablet.fingerprint(CLINIC) == server.fingerprint(CLINIC)
    assert after == server.last_sequence(CLINIC) == 8
    last = decode(page(server, after, limit))
    assert (last.items, last.next, last.more) == ((), 8, False)


def test_a_page_of_large_entries_ends_before_it_grows_beyond_what_can_be_unpacked(tmp_path):
    server, chain = server_store(tmp_path), Chain()
    entries = [chain.add(body={"text": chr(97 + n) * 700_000}) for n in range(15)]
    server.add_all(entries, [chain.head()])
    after, more, got, pages = 0, True, [], 0
    while more:
        found = decode(page(server, after, 100))
        got += [entry.digest for entry in found.entries]
        after, more, pages = found.next, found.more, pages + 1
    assert got == [entry.digest for entry in entries] and pages > 2


def test_a_page_of_bytes_as_they_lie_in_the_store_is_the_page_of_what_was_read(tmp_path):
    server, chain = server_store(tmp_path), Chain()
    tricky = [{"items": []}, {"text": '"items":[]'}, {"text": "é😀"}, {"😀": "1", "\ufb33": "2"}]
    entries = [chain.add(body=body) for body in tricky]
    server.add_all(entries, [chain.head()])
    as_read = encode(page_of(CLINIC, server.epoch, server.feed(CLINIC), 0, 100))
    as_written = encode(page_of(CLINIC, server.epoch, server.feed_written(CLINIC), 0, 100))
    assert as_written == as_read
    assert [entry.body for entry in decode(as_written).entries] == tricky


def spoiled(data: bytes, **changed) -> bytes:
    return pack({**unpack(data, NAMES), **changed})


def test_a_page_with_one_damaged_item_is_refused_whole(server):
    data = page(server, 0, 100)
    items = unpack(data, NAMES)["items"]
    for place in range(len(items)):
        broken = unpack(data, NAMES)["items"]
        if "signature" in broken[place]:
            broken[place]["signature"]["printed_name"] += "!"
        else:
            broken[place]["envelope"]["body"] = {"text": "other"}
        with pytest.raises(BatchRefusal) as caught:
            decode(spoiled(data, items=broken))
        assert caught.value.code == "pull_item_damaged"
        assert caught.value.figures == {"place": f"items/{place}"}


def test_a_page_out_of_order_is_refused(server):
    data = page(server, 0, 3)
    items = unpack(data, NAMES)["items"]
    for wrong in (items[::-1], items + items[-1:], items[:2]):
        with pytest.raises(BatchRefusal) as caught:
            decode(spoiled(data, items=wrong))
        assert caught.value.code == "pull_out_of_order"
