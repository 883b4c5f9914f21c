"""A bare ASGI route over SQLite: the least that takes and gives documents durably.

Written for the bench beside it, as something to compare with: no chain, no
signature, no check, no audit, no read tables, no roles.  One commit a request,
with the same settings of the database as ours (write-ahead log, FULL).
"""

from __future__ import annotations

import json
import sqlite3
import sys
from typing import Any


class Bare:
    """POST /docs takes a list of documents, GET /docs?after=N gives what is newer."""

    def __init__(self, path: str) -> None:
        self.store = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        for setting in ("journal_mode = WAL", "synchronous = FULL"):
            self.store.execute(f"PRAGMA {setting}")
        self.store.execute(
            "CREATE TABLE IF NOT EXISTS doc (seq INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT UNIQUE, body TEXT)"
        )

    async def __call__(self, scope: dict[str, Any], receive: Any, send: Any) -> None:
        """Answer a request."""
        if scope["type"] != "http":
            return
        if scope["method"] == "POST":
            body = bytearray()
            while True:
                message = await receive()
                body += message.get("body", b"")
                if not message.get("more_body"):
                    break
            answer = self._take(json.loads(bytes(body)))
        else:
            answer = self._give(int(scope["query_string"].partition(b"=")[2] or 0))
        await send({"type": "http.response.start", "status": 200,
                    "headers": [(b"content-type", b"application/json")]})
        await send({"type": "http.response.body", "body": json.dumps(answer).encode()})

    def _take(self, docs: list[dict[str, Any]]) -> dict[str, Any]:
        self.store.execute("BEGIN IMMEDIATE")
        for doc in docs:
            self.store.execute("DELETE FROM doc WHERE id = ?", (doc["id"],))
            self.store.execute("INSERT INTO doc (id, body) VALUES (?, ?)", (doc["id"], json.dumps(doc)))
        self.store.execute("COMMIT")
        return {"stored": len(docs)}

    def _give(self, after: int) -> dict[str, Any]:
        rows = self.store.execute(
            "SELECT seq, body FROM doc WHERE seq > ? ORDER BY seq LIMIT 500", (after,)
        ).fetchall()
        return {"docs": [json.loads(body) for _, body in rows], "next": rows[-1][0] if rows else after}


def main() -> None:
    """Serve a store on a free port; print the address."""
    import socket

    import uvicorn

    # Of a socket that says TCP, asyncio sends each piece at once; otherwise an answer waits 40 ms for its end.
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.bind(("127.0.0.1", 0))
    listener.listen()
    print(f"listening on http://127.0.0.1:{listener.getsockname()[1]}", flush=True)
    config = uvicorn.Config(Bare(sys.argv[1]), log_level="warning", access_log=False)
    uvicorn.Server(config).run(sockets=[listener])


if __name__ == "__main__":
    main()
