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


class CuttingProxy:
    """Passes bytes on to a server, and cuts the line after so many of them.

    ``cut_up`` counts bytes on the way up, ``cut_down`` on the way down; None
    lets everything through.  Only a POST of entries is cut.  ``bytes_up`` and
    ``bytes_down`` count what passed, heads and all.
    """

    def __init__(self, address: str) -> None:
        parts = urlsplit(address)
        self.target = (parts.hostname, parts.port)
        self.cut_up: int | None = None
        self.cut_down: int | None = None
        self.cuts = self.bytes_up = self.bytes_down = 0
        self._door = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self._door.getsockname()[1]}"
        threading.Thread(target=self._serve, daemon=True).start()

    def close(self) -> None:
        self._door.close()

    def _serve(self) -> None:
        while True:
            try:
                caller, _ = self._door.accept()
            except OSError:
                return
            threading.Thread(target=self._carry, args=(caller,), daemon=True).start()

    def _carry(self, caller: socket.socket) -> None:
        server = socket.create_connection(self.target)
        pushing = threading.Event()
        up = threading.Thread(target=self._up, args=(caller, server, pushing), daemon=True)
        up.start()
        self._down(server, caller, pushing)
        up.join()
        for end in (caller, server):
            end.close()

    def _up(self, caller, server, pushing) -> None:
        passed = 0
        while data := _read(caller):
            if data.startswith((b"POST", b"GET")):
                passed = 0
                pushing.set() if data.startswith(b"POST") else pushing.clear()
            if pushing.is_set() and self.cut_up is not None and passed + len(data) > self.cut_up:
                _write(server, data[:self.cut_up - passed])
                self._cut(caller, server)
                return
            passed += len(data)
            self.bytes_up += len(data)
            if not _write(server, data):
                return
        _end(server)

    def _down(self, server, caller, pushing) -> None:
        passed = 0
        while data := _read(server):
            if pushing.is_set() and self.cut_down is not None and passed + len(data) > self.cut_down:
                _write(caller, data[:max(self.cut_down - passed, 0)])
                self._cut(caller, server)
                return
            passed += len(data) if pushing.is_set() else 0
            self.bytes_down += len(data)
            if not _write(caller, data):
                return
        _end(caller)

    def _cut(self, *ends) -> None:
        self.cuts += 1
        for end in ends:
            _end(end, socket.SHUT_RDWR)


def _read(end: socket.socket) -> bytes:
    try:
        return end.recv(65536)
    except OSError:
        return b""


def _write(end: socket.socket, data: bytes) -> bool:
    try:
        end.sendall(data)
        return True
    except OSError:
        return False


def _end(end: socket.socket, how: int = socket.SHUT_WR) -> None:
    try:
        end.shutdown(how)
    except OSError:
        pass


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
