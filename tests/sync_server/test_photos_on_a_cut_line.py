"""A photo on a line that is cut again and again: never a wrong hash, never much sent twice.

``STANCEBOOK_CUTS`` says how many cuts (the fault gate asks for 500), and
``STANCEBOOK_CUTS_SEED`` the seed; without them a short set of seconds.
"""

from __future__ import annotations

import os
import random

import httpx
import pytest

from shared_models.exchange import lane
from tests.fitting_desk import CLINIC
from tests.sync_server.cut_lines import CutLine, listening
from tests.sync_server.photos import photo_of, png, sha256

CUTS = int(os.environ.get("STANCEBOOK_CUTS", "24"))
SEED = int(os.environ.get("STANCEBOOK_CUTS_SEED", "20261126"))
#: What a photo weighs here, in bytes.
LEAST, MOST = 2_000_000, 20_000_000 if CUTS > 100 else 5_000_000
_MOST_HEAD = 2_000

#: The gate's many cuts are for a file; what they meet in a database is seen in the short set.
pytestmark = pytest.mark.both_stores(CUTS <= 100)


class _Asking:
    """The sender's way to ask; counts the bytes of photos that were handed to the line."""

    def __init__(self, line: CutLine, headers: dict[str, str]) -> None:
        self._line, self._headers = line, headers
        self.sent = 0

    def __call__(self, method, name, headers, content):
        with httpx.Client(base_url=self._line.address, timeout=20, verify=False) as client:
            answer = client.request(
                method, f"/exchange/{CLINIC}/attachments/{name}",
                headers={**self._headers, **headers}, content=content,
            )
        self.sent += len(content)
        return lane.Answer(answer.status_code, dict(answer.headers), answer.content)


def test_a_photo_cut_off_again_and_again_arrives_whole_and_little_of_it_twice(house, tablet):
    chance = random.Random(SEED)
    photos = {}
    while len(photos) < 2 or len(photos) * 24 < CUTS:
        data = png(LEAST if not photos else chance.randint(LEAST, MOST), seed=chance.randrange(10**9))
        photos[sha256(data)] = data
    for place, name in enumerate(photos):
        tablet.desk.note("photo", photo_of(name, f"p-{place}"))
    assert tablet.push().status_code == 200
    with listening(house.app) as port:
        line = CutLine(port)
        for place, (name, data) in enumerate(photos.items()):
            share = CUTS // len(photos) + (place < CUTS % len(photos))
            _send_over(line, tablet, name, data, chance, share)
        line.close()
    for name, data in photos.items():
        assert house.server.lane.files.path(CLINIC, name).read_bytes() == data
    held = tablet.client.get(f"/exchange/{CLINIC}/verdicts/fitting-1", headers=tablet.headers).json()
    assert held["attachments_lacking"] == []
    assert line.cuts == CUTS


def _send_over(line: CutLine, tablet, name: str, data: bytes, chance: random.Random, cuts: int) -> None:
    """Send one photo over a line that is cut ``cuts`` times at a random byte."""
    ask = _Asking(line, tablet.headers)
    before, cuts_before = line.bytes_up, line.cuts
    # Each cut falls a random way into the photo, so that all of it is met.
    marks = sorted(chance.randrange(len(data)) for _ in range(cuts))

    def piece_at(at: int, most: int) -> bytes:
        if marks and marks[0] < at + most:
            marks.pop(0)
            # Within what is left of the photo: a cut behind its end would be none.
            line.cut_after = chance.randint(1, min(most, len(data) - at))
        return data[at:at + most]

    for _ in range(3 * cuts + 3):
        try:
            lane.send(ask, name, len(data), piece_at)
            break
        except httpx.HTTPError:
            continue
    else:
        raise AssertionError("it never arrived")
    cut = line.cuts - cuts_before
    requests = len(data) // lane.PIECE + 1 + 4 * (cut + 1)
    again = line.bytes_up - before - len(data) - requests * _MOST_HEAD
    assert again <= cut * lane.PIECE
