"""Measuring a sync: time, processor seconds of both sides, bytes on the wire, most memory."""

from __future__ import annotations

import random
import statistics
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Iterator

import httpx


class Counting(httpx.BaseTransport):
    """Passes on over one kept connection; counts requests and bytes both ways, heads included.

    Closing a client leaves it open, as a courier opens a client for each sync.
    """

    def __init__(self) -> None:
        self._line = httpx.HTTPTransport()
        self.requests = self.up = self.down = 0

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        """Pass a request on and count it and its answer."""
        body = request.read()
        first_line = len(request.method) + len(request.url.raw_path) + len(" ") * 2 + len("HTTP/1.1\r\n")
        self.up += first_line + _head(request.headers.raw) + len(body)
        answer = self._line.handle_request(request)
        content = b"".join(answer.stream)  # type: ignore[arg-type]
        self.down += len("HTTP/1.1 200 OK\r\n") + _head(answer.headers.raw) + len(content)
        self.requests += 1
        answer.close()
        return httpx.Response(answer.status_code, headers=answer.headers, content=content)


def _head(raw: Any) -> int:
    return sum(len(name) + len(value) + len(": \r\n") for name, value in raw) + len("\r\n")


@dataclass
class Case:
    """One measured case on one side, each figure once a round; seconds, bytes and MiB."""

    name: str
    items: int
    figures: dict[str, list[float]] = field(default_factory=dict)

    def add(self, **found: float) -> None:
        """Take in a round."""
        for name, figure in found.items():
            self.figures.setdefault(name, []).append(figure)

    def middle(self, name: str) -> float:
        """Return the median of a figure over the rounds; of memory the most."""
        found = self.figures[name]
        return max(found) if name.endswith("_mib") else statistics.median(found)


class Watched:
    """Measures what happens inside a block, here (the client) and in the server's process."""

    def __init__(self, server: int, transport: Counting) -> None:
        self._server, self._wire = server, transport
        self.cases: dict[str, Case] = {}

    @contextmanager
    def round(self, name: str, items: int = 0) -> Iterator[None]:
        """Measure one round of a case; ``items`` are what it sends or fetches."""
        wire = self._wire
        case = self.cases.setdefault(name, Case(name, items))
        forget_memory("self"), forget_memory(str(self._server))
        before = wire.requests, wire.up, wire.down
        began, own, theirs = time.perf_counter(), time.process_time(), processor_seconds(self._server)
        yield
        case.add(
            seconds=time.perf_counter() - began,
            client_cpu=time.process_time() - own, server_cpu=processor_seconds(self._server) - theirs,
            requests=wire.requests - before[0], up=wire.up - before[1], down=wire.down - before[2],
            client_mib=most_memory_mib("self"), server_mib=most_memory_mib(str(self._server)),
        )


def processor_seconds(pid: int) -> float:
    """Return the processor seconds of a process, all its threads, as its clock has them (clock_getcpuclockid(3))."""
    return time.clock_gettime((~pid << 3) | 2)


def forget_memory(pid: str) -> None:
    """Let the most memory of a process count anew from here (proc(5), clear_refs)."""
    Path(f"/proc/{pid}/clear_refs").write_text("5")


def most_memory_mib(pid: str) -> float:
    """Return the most memory of a process since then, in MiB."""
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) / 1024
    return 0.0


class Typed:
    """Text that packs as typed text does: common words, and half as many that stand once."""

    _STOCK = ("knee", "lets", "go", "late", "on", "the", "ramp", "valve", "half", "a", "turn", "more",
              "heel", "stiff", "walks", "even", "sound", "side", "short", "step", "trunk", "upright")
    _LETTERS = 2_000_000

    def __init__(self, seed: int) -> None:
        self._chance = random.Random(seed)
        chance, found, size = self._chance, [], 0
        while size < self._LETTERS:
            word = (chance.choice(self._STOCK) if chance.random() < 0.7
                    else "".join(chance.choices("abcdefghilmnorstu", k=6)))
            found.append(word)
            size += len(word) + 1
        self._text = " ".join(found)

    def text(self, size: int) -> str:
        """Return so many letters from a place taken at random."""
        start = self._chance.randrange(len(self._text) - size)
        return self._text[start:start + size]


def photo(seed: int) -> bytes:
    """Return a JPEG of noise, which packs no better than a photo does."""
    from io import BytesIO

    from PIL import Image

    found = BytesIO()
    noise = random.Random(seed).randbytes(1600 * 1200 * 3)
    Image.frombytes("RGB", (1600, 1200), noise).save(found, "JPEG", quality=80)
    return found.getvalue()
