"""A wire without sockets: the server's real application, asked in this process.

A `Link` is what a tablet's courier takes for its HTTP client.  What becomes of
each request (lost, answered but the answer lost, doubled, late, cut, a bit
turned over, an old page given once more) is drawn from the schedule's seed.
"""

from __future__ import annotations

import asyncio
import random
from collections import Counter
from dataclasses import dataclass, field
from typing import Any, Callable, Mapping
from urllib.parse import urlsplit

import anyio.to_thread
import httpx

ADDRESS = "http://127.0.0.1"
#: Fates that a request with a body may meet, and those of any request.
FATES = (
    "drop_request", "drop_response", "duplicate", "late", "cut_request", "flip_request",
    "cut_response", "flip_response", "old_page", "broken_off",
)


@dataclass
class Answer:
    """What the application answered."""

    status_code: int = 0
    content: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Asked:
    """A request as it left the tablet."""

    method: str
    url: str
    headers: Mapping[str, str]
    content: bytes


class LineCut(Exception):
    """The line broke while the application was reading."""


def ask(app: Any, asked: Asked, ends_early: bool = False) -> Answer:
    """Carry a request to an ASGI application; ``ends_early``: the line is cut in its body."""
    parts = urlsplit(asked.url)
    answer = Answer()
    messages = [
        {"type": "http.request", "body": asked.content, "more_body": ends_early},
        {"type": "http.disconnect"},
    ]

    async def receive() -> dict[str, Any]:
        return messages.pop(0) if messages else {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            answer.status_code = message["status"]
            answer.headers = {k.decode(): v.decode() for k, v in message["headers"]}
        else:
            answer.content += message.get("body", b"")

    headers = {"host": parts.netloc, **asked.headers}
    if asked.content or asked.method == "POST":
        headers["content-length"] = str(len(asked.content))
    running = app({
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1",
        "method": asked.method, "scheme": parts.scheme, "path": parts.path,
        "raw_path": parts.path.encode(), "query_string": parts.query.encode(), "root_path": "",
        "headers": [(k.lower().encode(), v.encode()) for k, v in headers.items()],
        "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 80),
    }, receive, send)
    threads, anyio.to_thread.run_sync = anyio.to_thread.run_sync, _at_once
    patience, asyncio.wait_for = asyncio.wait_for, _without_patience
    try:
        while True:  # without a loop: threads run at once, and nobody is waited for
            running.send(None)
    except StopIteration:
        return answer
    except Exception as error:
        if ends_early:
            raise LineCut from error
        answer.status_code = answer.status_code or 500  # as a server answers a fault
        return answer
    finally:
        anyio.to_thread.run_sync, asyncio.wait_for = threads, patience


async def _without_patience(awaitable, *_timeout, **_more):  # type: ignore[no-untyped-def]
    return await awaitable


async def _at_once(function, *arguments, **_more):  # type: ignore[no-untyped-def]
    return function(*arguments)


class Link:
    """One tablet's line to the server; with no weights nothing goes wrong."""

    def __init__(
        self, carry: Callable[[Asked, bool], Answer], chance: random.Random, faults: Counter,
    ) -> None:
        self._carry, self._chance, self.faults = carry, chance, faults
        self.weights: dict[str, float] = {}
        self.late: list[Asked] = []
        self.pushed: list[Asked] = []
        self._pages: list[Answer] = []
        self.codes: Counter = Counter()
        self.bad: list[str] = []

    def __call__(self) -> "Link":
        return self

    def __enter__(self) -> "Link":
        return self

    def __exit__(self, *_: object) -> None:
        return None

    def request(
        self, method: str, url: str, headers: Mapping[str, str] | None = None,
        content: bytes = b"", **_more: Any,
    ) -> Answer:
        """Carry a request as the courier's client does; raises httpx errors."""
        asked = Asked(method, url, dict(headers or {}), content)
        self._deliver_some_late()
        fate = self._fate(asked)
        if fate:
            self.faults[fate] += 1
            return getattr(self, "_" + fate)(asked)
        return self._pass(asked)

    def _fate(self, asked: Asked) -> str:
        drawn = self._chance.random()
        for fate, weight in self.weights.items():
            drawn -= weight
            if drawn < 0:
                fits = asked.content if fate.endswith("_request") and fate[0] != "d" else True
                return fate if fits else ""
        return ""

    def _pass(self, asked: Asked) -> Answer:
        answer = self._carry(asked, False)
        self.codes[answer.status_code] += 1
        if answer.status_code >= 500 and answer.status_code != 503:
            self.bad.append(f"{asked.method} {urlsplit(asked.url).path}: {answer.status_code}")
        if asked.method == "POST":
            self.pushed.append(asked)
        elif "/entries?" in asked.url and answer.status_code == 200:
            self._pages.append(answer)
        return answer

    def deliver_late(self) -> None:
        """Let everything that is still on its way arrive; nobody waits for the answers."""
        while self.late:
            self._pass(self.late.pop(self._chance.randrange(len(self.late))))

    def _deliver_some_late(self) -> None:
        while self.late and self._chance.random() < 0.5:
            self._pass(self.late.pop(self._chance.randrange(len(self.late))))

    def replay(self, asked: Asked) -> Answer:
        """Send the bytes of an earlier request again."""
        self.faults["replay"] += 1
        return self._pass(asked)

    # fates ---------------------------------------------------------------------

    def _drop_request(self, asked: Asked) -> Answer:
        raise httpx.ConnectError("the request was lost")

    def _drop_response(self, asked: Asked) -> Answer:
        self._pass(asked)
        raise httpx.ReadTimeout("the answer was lost")

    def _duplicate(self, asked: Asked) -> Answer:
        answers = [self._pass(asked), self._pass(asked)]
        return self._chance.choice(answers)

    def _late(self, asked: Asked) -> Answer:
        self.late.append(asked)
        raise httpx.ReadTimeout("the request is late")

    def _cut_request(self, asked: Asked) -> Answer:
        return self._pass(self._with(asked, asked.content[:self._chance.randrange(len(asked.content))]))

    def _broken_off(self, asked: Asked) -> Answer:
        part = asked.content[:self._chance.randrange(len(asked.content) + 1)]
        try:
            self._carry(self._with(asked, part), True)
        except LineCut:
            pass
        raise httpx.WriteError("the line was cut")

    def _flip_request(self, asked: Asked) -> Answer:
        return self._pass(self._with(asked, self._flipped(asked.content)))

    def _cut_response(self, asked: Asked) -> Answer:
        answer = self._pass(asked)
        return Answer(answer.status_code, answer.content[:self._chance.randrange(len(answer.content) + 1)])

    def _flip_response(self, asked: Asked) -> Answer:
        answer = self._pass(asked)
        return Answer(answer.status_code, self._flipped(answer.content))

    def _old_page(self, asked: Asked) -> Answer:
        fresh = self._pass(asked)
        if "/entries?" in asked.url and len(self._pages) > 1:
            return self._chance.choice(self._pages[-5:-1])
        return fresh

    def _flipped(self, data: bytes) -> bytes:
        if not data:
            return data
        found = bytearray(data)
        bit = self._chance.randrange(len(found) * 8)
        found[bit // 8] ^= 1 << bit % 8
        return bytes(found)

    @staticmethod
    def _with(asked: Asked, content: bytes) -> Asked:
        return Asked(asked.method, asked.url, asked.headers, content)
