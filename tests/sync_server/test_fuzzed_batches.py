"""Batches cut, flipped, swollen and forged on their way: refused whole, or nothing changed.

The usual run is short; ``STANCEBOOK_EXAMPLES=500`` before pytest makes it long.
"""

from __future__ import annotations

import gzip
import json
import os
import random
import tracemalloc

import pytest
from sqlalchemy import func, select

from shared_models.exchange.packing import LARGEST_PACKED_BYTES, LARGEST_PLAIN_BYTES
from shared_models.ledger.columns import SERVER
from shared_models.ledger.tables import tables_of
from tests.fitting_desk import CLINIC

EXAMPLES = int(os.environ.get("STANCEBOOK_EXAMPLES", "40"))
#: A cut at every so many bytes; every 64th in the long run.
EVERY = 64 if EXAMPLES > 40 else 1024


def state_of(house) -> tuple:
    """What the record is: its fingerprint, and how many rows each table has."""
    with house.station.store.reading() as connection:
        rows = {
            table.name: connection.scalar(select(func.count()).select_from(table))
            for table in tables_of(SERVER) if table.name != "audit"
        }
    return house.station.entries.fingerprint(CLINIC), rows


@pytest.fixture
def sends(house, tablet):
    """Sends bytes, and checks that a refusal left everything as it was."""
    before = state_of(house)

    def send(data: bytes, whole: bytes = b"") -> int:
        nonlocal before
        answer = tablet.push(data=data)
        assert answer.status_code in (200, 400, 413, 422), (answer.status_code, answer.text[:300])
        if answer.status_code == 200 and state_of(house) != before:
            assert gzip.decompress(data) == gzip.decompress(whole), "something else was stored"
            before = state_of(house)
        assert state_of(house) == before
        if answer.status_code != 200:
            assert answer.json()["sentence" if answer.status_code != 422 else "reasons"]
        return answer.status_code

    return send


def test_a_batch_cut_anywhere_is_refused_whole(house, tablet, sends):
    whole = tablet.packed()
    codes = {sends(whole[:end]) for end in range(0, len(whole), EVERY)}
    assert codes == {400}
    assert sends(whole, whole) == 200


def test_a_flipped_bit_of_the_packed_bytes_is_refused_or_changes_nothing(house, tablet, sends):
    whole, chance = tablet.packed(), random.Random(20_261_125)
    codes = set()
    for _ in range(EXAMPLES):
        data = bytearray(whole)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        codes.add(sends(bytes(data), whole))
    assert 400 in codes


def test_a_flipped_bit_under_a_right_checksum_is_refused_or_changes_nothing(house, tablet, sends):
    """Packed again after the flip: only digests and signatures can find it."""
    plain, chance = gzip.decompress(tablet.packed()), random.Random(20_261_126)
    codes = set()
    for _ in range(EXAMPLES):
        data = bytearray(plain)
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(7)
        codes.add(sends(gzip.compress(bytes(data), mtime=0), gzip.compress(plain, mtime=0)))
    assert codes <= {200, 400, 422} and codes & {400, 422}


def test_pieces_of_a_batch_left_out_doubled_or_swapped_are_refused_or_the_same(house, tablet, sends):
    batch, chance = json.loads(gzip.decompress(tablet.packed())), random.Random(20_261_127)
    whole = tablet.packed()
    known = {e["digest"] for e in batch["entries"]}
    for _ in range(EXAMPLES // 2):
        changed = json.loads(json.dumps(batch))
        entries, other = changed["entries"], chance.randrange(len(batch["entries"]))
        act = chance.choice(("drop", "double", "swap", "envelope", "signature", "field"))
        if act == "drop":
            del entries[other]
        elif act == "double":
            entries.append(entries[other])
        elif act == "swap":
            entries[other]["digest"], entries[0]["digest"] = entries[0]["digest"], entries[other]["digest"]
        elif act == "envelope":
            entries[other]["envelope"]["recorded_by"] = "demo-lead"
        elif act == "signature":
            changed["signatures"][0]["signs"] = entries[other]["digest"]
        else:
            entries[other]["envelope"]["body"]["reviewed"] = True
        answer = tablet.push(data=gzip.compress(json.dumps(changed).encode(), mtime=0))
        assert answer.status_code in (200, 400, 422), (act, answer.text[:300])
        kept = {e.digest for e in house.station.entries.entries(CLINIC) if e.tablet == tablet.name}
        assert kept in (set(), known), act
    assert tablet.push(data=whole).status_code == 200


@pytest.mark.parametrize("bomb", [
    "zeros", "deep", "many entries", "many signatures", "long text", "long number", "many names", "two streams",
    "after the stream", "too many packed bytes", "nothing", "an empty stream",
])
def test_a_bomb_is_refused_without_being_unpacked(house, tablet, sends, bomb):
    head = b'{"format":1,"clinic":"demo-clinic","signatures":[],"entries":'
    tail = b"}"
    packed = {
        "zeros": lambda: gzip.compress(bytes(100 * 1024 * 1024), 9, mtime=0),
        "deep": lambda: gzip.compress(head + b"[" * 500_000 + b"]" * 500_000 + tail, mtime=0),
        "many entries": lambda: gzip.compress(head + b"[" + b",".join([b"{}"] * 1_000_000) + b"]" + tail, mtime=0),
        "many signatures": lambda: gzip.compress(head + b"[]," + b'"signatures":[' + b",".join([b"{}"] * 3000) + b"]" + tail, mtime=0),
        "long text": lambda: gzip.compress(head + b'"' + b"x" * (LARGEST_PLAIN_BYTES - 200) + b'"' + tail, mtime=0),
        "long number": lambda: gzip.compress(head + b"[" + b"9" * 1_000_000 + b"]" + tail, mtime=0),
        "many names": lambda: gzip.compress(head + b"[{" + b",".join(b'"%d":1' % n for n in range(200_000)) + b"}]" + tail, mtime=0),
        "two streams": lambda: tablet.packed() + gzip.compress(b"{}", mtime=0),
        "after the stream": lambda: tablet.packed() + b"more",
        "too many packed bytes": lambda: os.urandom(LARGEST_PACKED_BYTES + 1),
        "nothing": lambda: b"",
        "an empty stream": lambda: gzip.compress(b"", mtime=0),
    }[bomb]()
    assert sends(packed) in (400, 413, 422)


def test_a_hundred_megabytes_in_a_small_stream_take_no_room(house, tablet):
    data = gzip.compress(bytes(100 * 1024 * 1024), 9, mtime=0)
    assert len(data) < LARGEST_PACKED_BYTES
    tracemalloc.start()
    try:
        answer = tablet.push(data=data)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert answer.status_code == 413 and peak < 64 * 1024 * 1024
