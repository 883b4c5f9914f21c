"""Reading a request: its body within limits, its form, where it came from."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from typing import Annotated, AsyncIterator
from urllib.parse import parse_qsl

from fastapi import Depends, Request

from shared_models.exchange.packing import LARGEST_PACKED_BYTES, BatchRefusal
from shared_models.quantities.refusals import Refusal
from sync_server.services.access import Gate
from sync_server.services.attachment_lane import AttachmentLane
from sync_server.services.recovering import Recovery
from sync_server.services.signing_in import Door
from sync_server.services.station import Station

LARGEST_FORM_BYTES = 256 * 1024
#: A sender from whom nothing comes for so long is let go; a slow one is not.
LONGEST_SILENCE_S = 30
#: A component sheet with a dozen screws has some 200.
_MOST_FIELDS = 600


class RequestRefusal(Refusal):
    """A request is not of the form: ``too_large``, ``too_slow``, ``wrong_request``, ``wrong_number``."""


@dataclass(frozen=True)
class Server:
    """What the routes work with; wired in ``app``."""

    station: Station
    gate: Gate
    door: Door
    secure_cookies: bool
    lane: AttachmentLane


def recovery_of(server: Server) -> Recovery:
    """Return what resets a forgotten PIN."""
    return Recovery(server.station)


def server_of(request: Request) -> Server:
    """Return the server that a request came to."""
    found: Server = request.app.state.server
    return found


def from_where(request: Request) -> str:
    """Return the address that a request came from."""
    return request.client.host if request.client else "-"


async def _limited(request: Request, largest: int) -> bytes:
    """Read a body, never more than ``largest`` bytes of it."""
    told = request.headers.get("content-length", "")
    if told.isascii() and told.isdigit() and (len(told) > 15 or int(told) > largest):
        raise RequestRefusal("too_large", largest=largest)
    found = bytearray()
    async for part in parts_of(request):
        found += part
        if len(found) > largest:
            raise RequestRefusal("too_large", largest=largest)
    return bytes(found)


async def parts_of(request: Request) -> AsyncIterator[bytes]:
    """Give a body as it comes; refused ``too_slow`` where nothing comes for long."""
    parts = request.stream().__aiter__()
    while True:
        try:
            part = await asyncio.wait_for(anext(parts), LONGEST_SILENCE_S)
        except StopAsyncIteration:
            return
        except TimeoutError as error:
            raise RequestRefusal("too_slow", seconds=LONGEST_SILENCE_S) from error
        yield part


async def packed_body(request: Request) -> bytes:
    """Read what a tablet sends; refused ``batch_too_large`` beyond the limit."""
    try:
        return await _limited(request, LARGEST_PACKED_BYTES)
    except RequestRefusal as refusal:
        if refusal.code != "too_large":
            raise
        raise BatchRefusal("batch_too_large", largest=LARGEST_PACKED_BYTES) from refusal


async def posted_form(request: Request) -> dict[str, str]:
    """Read a posted form, the last value of each name; refused ``wrong_request``."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        raise RequestRefusal("wrong_request")
    data = await _limited(request, LARGEST_FORM_BYTES)
    try:
        pairs = parse_qsl(
            data.decode("ascii"), keep_blank_values=True, encoding="utf-8",
            errors="strict", max_num_fields=_MOST_FIELDS,
        )
    except ValueError as error:
        raise RequestRefusal("wrong_request") from error
    return dict(pairs)


ServerHere = Annotated[Server, Depends(server_of)]
FromWhere = Annotated[str, Depends(from_where)]
PackedBody = Annotated[bytes, Depends(packed_body)]
PostedForm = Annotated[dict[str, str], Depends(posted_form)]


def whole_number(request: Request, name: str, usual: int, lowest: int, largest: int) -> int:
    """Return a whole number of the query; refused ``wrong_number``."""
    text = request.query_params.get(name)
    if text is None:
        return usual
    if text.isascii() and text.isdigit() and len(text) <= 16 and lowest <= int(text) <= largest:
        return int(text)
    raise RequestRefusal("wrong_number", name=name, lowest=lowest, largest=largest)
