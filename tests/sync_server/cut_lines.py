"""A line that is cut at a chosen byte, between a client and a real server of this process."""

from __future__ import annotations

import socket
import threading
import time
from contextlib import contextmanager
from typing import Iterator

import uvicorn


class CutLine:
    """Passes bytes on; ``cut_after`` counts those of the next connection on the way up, None cuts nothing.

    ``passed`` counts the bytes that reached the server.
    """

    def __init__(self, port: int) -> None:
        self._port = port
        self.cut_after: int | None = None
        self.cuts = self.passed = 0
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
        server = socket.create_connection(("127.0.0.1", self._port))
        left, self.cut_after = self.cut_after, None
        down = threading.Thread(target=self._down, args=(server, caller), daemon=True)
        down.start()
        while True:
            try:
                data = caller.recv(65536)
            except OSError:
                data = b""
            if left is not None and len(data) >= left:
                self.cuts += 1
                self._pass(server, data[:left])
                data = b""
            if not data:
                break
            left = None if left is None else left - len(data)
            if not self._pass(server, data):
                break
        for end in (server, caller):
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:
                pass
        down.join()
        server.close()
        caller.close()

    def _pass(self, server: socket.socket, data: bytes) -> bool:
        try:
            server.sendall(data)
        except OSError:
            return False
        self.passed += len(data)
        return True

    @staticmethod
    def _down(server: socket.socket, caller: socket.socket) -> None:
        try:
            while data := server.recv(65536):
                caller.sendall(data)
        except OSError:
            pass


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
