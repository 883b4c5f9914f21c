"""Sending and fetching one photo, whatever carries the requests.

The client's half of the attachment lane in docs/exchange.md; a tablet and a
hub give it their own way to ask.  Nothing here holds more than a piece.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from typing import Any, Callable, Mapping

from shared_models.checks.picture_form import looked_at, refuse_size
from shared_models.entries.canonical import NotStrictJson, strict_json
from shared_models.quantities.refusals import Refusal

OFFSET, COMPLETE, LENGTH, LIMIT = "Upload-Offset", "Upload-Complete", "Upload-Length", "Upload-Limit"
YES, NO = "?1", "?0"
PARTIAL = "application/partial-upload"
#: What a sender offers at once, and what a receiver takes at once.
PIECE = 256 * 1024
MOST_AT_ONCE = 4 * 1024 * 1024
#: How often a sender may be set right on one photo before it leaves it for the next time.
_MOST_TURNS = 3
_SET_RIGHT = (400, 409)
#: What no second try changes.
_FOR_GOOD = frozenset((
    "attachment_not_a_picture", "attachment_cut_short", "attachment_more_after_picture",
    "attachment_too_many_pixels", "attachment_too_large", "attachment_says_where",
))


@dataclass(frozen=True)
class Answer:
    """An answer: ``headers`` by small names."""

    status: int
    headers: Mapping[str, str] = field(default_factory=dict)
    content: bytes = b""


#: Ask (method, path below ``attachments/``, headers, content); raises when nobody answers.
Ask = Callable[[str, str, Mapping[str, str], bytes], Answer]


class LaneRefusal(Refusal):
    """A photo did not go through, and a later time may be better: ``lane_answered``
    (figure ``status``), ``lane_not_settling``, ``lane_said`` (figures ``code``, ``sentence``)."""


class PhotoRefused(Refusal):
    """The other side does not take this photo, however often it is sent (figure ``sentence``)."""


def send(
    ask: Ask, sha256: str, size: int, piece_at: Callable[[int, int], bytes],
    on_bytes: Callable[[int, int], None] = lambda _sent, _offset: None,
) -> None:
    """Send bytes until the other side has named the hash as whole.

    ``piece_at`` gives bytes at an offset, ``on_bytes`` hears how many went and
    where they end; what it raises breaks off, and the next call goes on.
    Raises LaneRefusal, PhotoRefused, and whatever ``ask`` raises.
    """
    turns = 0
    offset, whole = _stand(ask("HEAD", sha256, {}, b""))
    while not whole:
        # More is there than there is to send: somebody else's bytes.  Ended so, they are dropped.
        data = piece_at(offset, PIECE) if offset < size else b""
        last = offset + len(data) >= size
        told = {"Content-Type": PARTIAL, OFFSET: str(offset), COMPLETE: YES if last else NO}
        if offset <= size:
            told[LENGTH] = str(size)
        answer = ask("PATCH", sha256, told, data)
        if answer.status == 204:
            offset, whole = _stand(answer)
            on_bytes(len(data), offset)
            if whole or not last:
                continue
        elif answer.status not in _SET_RIGHT and _code(answer) != "attachment_not_its_hash":
            _refuse(answer)
        turns += 1
        if turns > _MOST_TURNS:
            _refuse(answer)
        offset, whole = _stand(ask("HEAD", sha256, {}, b""))


def fetch(ask: Ask, sha256: str, on_bytes: Callable[[int, int], None] = lambda _got, _offset: None) -> bytes:
    """Return bytes that are what their hash says and are a photo, fetched in ranges.

    Raises LaneRefusal, PictureForm, and ``attachment_not_its_hash``.
    """
    found, total = bytearray(), 1
    while len(found) < total:
        last = len(found) + PIECE - 1
        answer = ask("GET", sha256, {"Range": f"bytes={len(found)}-{last}"}, b"")
        if answer.status == 200:
            found, total = bytearray(answer.content), len(answer.content)
        elif answer.status == 206 and answer.content:
            start, total = _range(answer)
            if start != len(found):
                raise LaneRefusal("lane_not_settling")
            found += answer.content
        else:
            _refuse(answer)
        refuse_size(max(total, len(found)))
        on_bytes(len(answer.content), len(found))
    if hashlib.sha256(found).hexdigest() != sha256:
        raise LaneRefusal("attachment_not_its_hash")
    looked_at(bytes(found))
    return bytes(found)


def _stand(answer: Answer) -> tuple[int, bool]:
    if answer.status not in (200, 204):
        _refuse(answer)
    offset = answer.headers.get(OFFSET.lower(), "")
    if not (offset.isascii() and offset.isdigit()):
        raise LaneRefusal("lane_answered", status=answer.status)
    return int(offset), answer.headers.get(COMPLETE.lower()) == YES


def _range(answer: Answer) -> tuple[int, int]:
    told = answer.headers.get("content-range", "")
    try:
        place, _, total = told.removeprefix("bytes ").partition("/")
        return int(place.partition("-")[0]), int(total)
    except ValueError as error:
        raise LaneRefusal("lane_answered", status=answer.status) from error


def _refuse(answer: Answer) -> None:
    """Raise what an answer that is no success says."""
    said = _said(answer)
    if said.get("code") in _FOR_GOOD:
        raise PhotoRefused("photo_refused_there", sentence=str(said.get("sentence", "")), told=str(said["code"]))
    if said.get("sentence"):
        raise LaneRefusal("lane_said", told=str(said.get("code", "")), sentence=str(said["sentence"]))
    raise LaneRefusal("lane_answered", status=answer.status)


def _code(answer: Answer) -> str:
    return str(_said(answer).get("code", ""))


def _said(answer: Answer) -> Mapping[str, Any]:
    try:
        value = strict_json(answer.content)
    except NotStrictJson:
        return {}
    return value if isinstance(value, dict) else {}
