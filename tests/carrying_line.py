"""A line between callers and a server of this machine, of real sockets; subclasses say where it is cut."""

from __future__ import annotations

import socket
import threading
from typing import Any


class CarryingLine:
    """Passes bytes on both ways until a subclass cuts it.

    ``bytes_up`` and ``bytes_down`` count what reached the other side, heads and
    all, also of what was cut; ``cuts`` the connections that were cut.
    """

    def __init__(self, port: int, host: str = "127.0.0.1") -> None:
        self._target = (host, port)
        self.cuts = self.bytes_up = self.bytes_down = 0
        self._door = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self._door.getsockname()[1]}"
        threading.Thread(target=self._serve, daemon=True).start()

    def close(self) -> None:
        """Let nobody in any more."""
        self._door.close()

    def opened(self) -> Any:
        """Return what is to be remembered of a connection that just began."""
        return None

    def cut_at(self, connection: Any, up: bool, data: bytes) -> int | None:
        """Return how many of these bytes still pass before the line is cut; None passes all and cuts nothing."""
        return None

    def _serve(self) -> None:
        while True:
            try:
                caller, _ = self._door.accept()
            except OSError:
                return
            threading.Thread(target=self._carry, args=(caller,), daemon=True).start()

    def _carry(self, caller: socket.socket) -> None:
        server = socket.create_connection(self._target)
        connection = self.opened()
        up = threading.Thread(target=self._pump, args=(connection, True, caller, server), daemon=True)
        up.start()
        self._pump(connection, False, server, caller)
        up.join()
        for end in (caller, server):
            end.close()

    def _pump(self, connection: Any, up: bool, source: socket.socket, target: socket.socket) -> None:
        while data := _read(source):
            cut = self.cut_at(connection, up, data)
            if cut is not None:
                self.cuts += 1
                data = data[:cut]
            passed = _written(target, data)
            if up:
                self.bytes_up += passed
            else:
                self.bytes_down += passed
            if cut is not None:
                for end in (source, target):
                    _end(end, socket.SHUT_RDWR)
            if cut is not None or passed < len(data):
                return
        _end(target, socket.SHUT_WR)


def _read(end: socket.socket) -> bytes:
    try:
        return end.recv(65536)
    except OSError:
        return b""


def _written(end: socket.socket, data: bytes) -> int:
    try:
        end.sendall(data)
    except OSError:
        return 0
    return len(data)


def _end(end: socket.socket, how: int) -> None:
    try:
        end.shutdown(how)
    except OSError:
        pass
