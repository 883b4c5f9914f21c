"""A line that is cut at a chosen byte, between a client and a real server of this process."""

from __future__ import annotations

import socket
import threading
import time
from contextlib import contextmanager
from typing import Iterator

import uvicorn

from tests.carrying_line import CarryingLine


class CutLine(CarryingLine):
    """``cut_after`` counts the bytes of the next connection on the way up, None cuts nothing."""

    cut_after: int | None = None

    def opened(self) -> dict[str, int]:
        """The next connection after one that is to be cut is not cut."""
        left, self.cut_after = self.cut_after, None
        return {} if left is None else {"left": left}

    def cut_at(self, connection: dict[str, int], up: bool, data: bytes) -> int | None:
        """Cut as soon as so many bytes went up."""
        if not up or "left" not in connection:
            return None
        left = connection["left"]
        connection["left"] = left - len(data)
        return left if len(data) >= left else None


@contextmanager
def listening(app) -> Iterator[int]:
    """Serve an application on a free port of this machine."""
    door = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="critical", timeout_graceful_shutdown=1))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.005)
    try:
        yield door.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join()
        door.close()
