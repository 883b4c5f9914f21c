"""Bad links for the journeys: a line that is cut, a server that talks nonsense."""

from __future__ import annotations

import gzip
import json
import socket
import threading
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Iterator
from urllib.parse import urlsplit

import httpx

from tests.carrying_line import CarryingLine


class CuttingProxy(CarryingLine):
    """Cuts a POST of entries after so many bytes, each time that there is one.

    ``cut_up`` counts bytes on the way up, ``cut_down`` on the way down; None
    lets everything through.
    """

    cut_up: int | None = None
    cut_down: int | None = None

    def __init__(self, address: str) -> None:
        parts = urlsplit(address)
        assert parts.hostname and parts.port
        super().__init__(parts.port, parts.hostname)

    def opened(self) -> dict[bool, int]:
        """Bytes of the POST under way that passed up (True) and down (False); empty outside of one."""
        return {}

    def cut_at(self, connection: dict[bool, int], up: bool, data: bytes) -> int | None:
        """Cut where a POST has had its bytes."""
        if up and data.startswith((b"POST", b"GET")):
            connection.clear()
            if data.startswith(b"POST"):
                connection.update({True: 0, False: 0})
        passed = connection.get(up)
        if passed is None:
            return None
        connection[up] = passed + len(data)
        most = self.cut_up if up else self.cut_down
        return max(most - passed, 0) if most is not None and passed + len(data) > most else None


@contextmanager
def answering(body: bytes, status: int = 200, content_type: str = "text/html") -> Iterator[str]:
    """Run a server that answers everything alike; give its address."""

    class Parrot(BaseHTTPRequestHandler):
        def do_GET(self):
            self.send_response(status)
            self.send_header("Content-Type", content_type)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        do_POST = do_GET

        def log_message(self, *_args):
            pass

    door = ThreadingHTTPServer(("127.0.0.1", 0), Parrot)
    threading.Thread(target=door.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{door.server_address[1]}"
    finally:
        door.shutdown()
        door.server_close()


def closed_address() -> str:
    """Return an address of this machine where nobody listens."""
    with socket.create_server(("127.0.0.1", 0)) as door:
        return f"http://127.0.0.1:{door.getsockname()[1]}"


class Tampering(httpx.BaseTransport):
    """Changes the first entry of each batch on its way, and leaves its digest as it was."""

    def __init__(self) -> None:
        self._real = httpx.HTTPTransport()

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        if request.method == "POST":
            batch = json.loads(gzip.decompress(request.read()))
            batch["entries"][0]["envelope"]["recorded_by"] = "somebody-else"
            data = gzip.compress(json.dumps(batch).encode())
            headers = {k: v for k, v in request.headers.items() if k != "content-length"}
            request = httpx.Request(request.method, request.url, headers=headers, content=data)
        return self._real.handle_request(request)

    def close(self) -> None:
        self._real.close()


class Slow(httpx.BaseTransport):
    """Keeps each request waiting until it is let through."""

    def __init__(self) -> None:
        self._real = httpx.HTTPTransport()
        self.pushes = 0
        self.go_on = threading.Event()

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        if request.method == "POST":
            self.pushes += 1
            if self.pushes > 1:
                self.go_on.wait(20)
        return self._real.handle_request(request)

    def close(self) -> None:
        self._real.close()
