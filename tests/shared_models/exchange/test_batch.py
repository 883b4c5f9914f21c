"""The wire form of a batch: read strictly, cut where heads are signed."""

import gzip
import json
import resource
import zlib

import pytest

from shared_models.exchange.batch import batch_of, cut, decode, encode
from shared_models.exchange.packing import (
    LARGEST_PACKED_BYTES,
    LARGEST_PLAIN_BYTES,
    BatchRefusal,
)
from tests.shared_models.making import CLINIC, Chain


def refused(data: bytes) -> BatchRefusal:
    with pytest.raises(BatchRefusal) as caught:
        decode(data)
    return caught.value


def zipped(value) -> bytes:
    return gzip.compress(json.dumps(value).encode())


def test_a_batch_travels_unchanged_and_always_as_the_same_bytes():
    batch = Chain().grown(3).batch()
    assert decode(encode(batch)) == batch
    assert encode(batch) == encode(batch)


def test_a_zip_bomb_is_refused_without_being_unpacked():
    packer = zlib.compressobj(9, zlib.DEFLATED, 31)
    block = b"0" * (1024 * 1024)
    bomb = b"".join(packer.compress(block) for _ in range(1024)) + packer.flush()
    assert len(bomb) < LARGEST_PACKED_BYTES
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    refusal = refused(bomb)
    grown_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert refusal.code == "batch_too_large"
    assert refusal.figures["largest"] == LARGEST_PLAIN_BYTES
    assert grown_kib * 1024 < 4 * LARGEST_PLAIN_BYTES


def test_a_batch_larger_than_the_limit_is_refused_before_it_is_read():
    refusal = refused(b"\x1f" * (LARGEST_PACKED_BYTES + 1))
    assert refusal.code == "batch_too_large"
    assert refusal.figures["bytes"] == LARGEST_PACKED_BYTES + 1


def test_a_batch_cut_off_at_any_byte_is_refused():
    data = encode(Chain().grown(2).batch())
    assert {refused(data[:end]).code for end in range(len(data))} == {"batch_not_gzip"}
    assert refused(data + b"\0").code == "batch_not_gzip"


@pytest.mark.parametrize("plain, code", [
    (b"{", "batch_not_strict_json"),
    (b'{"format":1,"format":1}', "batch_not_strict_json"),
    (b'{"format":1.0}', "batch_not_strict_json"),
    (b"\xff", "batch_not_strict_json"),
    (b"[" * 100_000, "batch_not_strict_json"),
    (b'{"format":1,"clinic":' + b"[" * 40 + b"]" * 40 + b"}", "batch_not_strict_json"),
    (b"[]", "batch_wrong_form"),
    (b"{}", "batch_unknown_format"),
    (b'{"format":true}', "batch_unknown_format"),
    (b'{"format":2,"clinic":"c","entries":[],"signatures":[]}', "batch_unknown_format"),
    (b'{"format":1,"clinic":"c","entries":[]}', "batch_wrong_form"),
    (b'{"format":1,"clinic":7,"entries":[],"signatures":[]}', "batch_wrong_form"),
    (b'{"format":1,"clinic":"c","entries":{},"signatures":[]}', "batch_wrong_form"),
    (b'{"format":1,"clinic":"c","entries":[7],"signatures":[]}', "batch_wrong_form"),
    (b'{"format":1,"clinic":"c","entries":[],"signatures":["s"]}', "batch_wrong_form"),
])
def test_what_is_not_the_strict_form_is_refused_with_its_code(plain, code):
    assert refused(gzip.compress(plain)).code == code


def test_too_many_items_are_refused_with_the_limit():
    value = {"format": 1, "clinic": "c", "signatures": [],
             "entries": [{"digest": "", "envelope": {}}] * 2001}
    refusal = refused(zipped(value))
    assert refusal.code == "batch_too_many"
    assert refusal.figures == {"items": 2001, "largest": 2000}


def test_a_chain_is_cut_only_where_its_head_is_signed():
    chain = Chain().grown(10)
    heads = [chain.head(chain.entries[number - 1]) for number in (3, 4, 8)]
    batches = cut(CLINIC, chain.entries, heads, most_entries=4)
    numbers = [
        [envelope["number"] for _, envelope in batch.entries] for batch in batches
    ]
    assert numbers == [[1, 2, 3, 4], [5, 6, 7, 8]]  # 9 and 10 wait for a head
    assert [len(batch.signatures) for batch in batches] == [2, 1]


def test_signatures_over_entries_sent_before_travel_by_themselves():
    chain = Chain().grown(2)
    late = chain.signed_off(chain.entries[0])
    assert cut(CLINIC, [], [late]) == [batch_of(CLINIC, [], [late])]
