"""What the operator sees of requests: a line of JSON for each, and counts.

Neither holds anything of a person: the route's pattern stands for the path, no
address, no query, no header, no body.  Who read whose record stands in the
audit log, which the store keeps.  A fault's line names the kind of error and
where it arose, not its words, since those may quote what was typed.
"""

from __future__ import annotations

import json
import logging
import threading
import time
import traceback
from collections import Counter
from typing import Any, Callable

from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shared_models.quantities.moments import moment_text, now_here

_LOG = logging.getLogger("stancebook.server")
_METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}
#: Upper ends of the buckets of answer times (seconds).
BUCKETS = (0.01, 0.05, 0.25, 1.0, 5.0)


class Counts:
    """Counts of one process since its start."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._requests: Counter[tuple[str, str, int]] = Counter()
        self._buckets: Counter[tuple[str, float]] = Counter()
        self._seconds: Counter[str] = Counter()
        self._bytes: Counter[str] = Counter()
        self._faults = 0

    def add(self, route: str, method: str, status: int, seconds: float, came: int, went: int) -> None:
        """Count one answered request."""
        with self._lock:
            self._requests[route, method, status] += 1
            self._seconds[route] += seconds  # type: ignore[assignment]
            for end in BUCKETS:
                if seconds <= end:
                    self._buckets[route, end] += 1
            self._bytes["in"] += came
            self._bytes["out"] += went

    def add_fault(self) -> None:
        """Count an error of ours."""
        with self._lock:
            self._faults += 1

    def text(self, **now: float) -> str:
        """Return the counts, and figures of ``now``, in the text form of Prometheus 0.0.4."""
        with self._lock:
            lines = ["# TYPE stancebook_requests_total counter"]
            for (route, method, status), count in sorted(self._requests.items()):
                labels = f'route="{route}",method="{method}",status="{status}"'
                lines.append(f"stancebook_requests_total{{{labels}}} {count}")
            lines.append("# TYPE stancebook_request_seconds histogram")
            of_route: Counter[str] = Counter()
            for (route, _, _), count in self._requests.items():
                of_route[route] += count
            for route, count in sorted(of_route.items()):
                for end in BUCKETS:
                    labels = f'route="{route}",le="{end}"'
                    lines.append(f"stancebook_request_seconds_bucket{{{labels}}} {self._buckets[route, end]}")
                lines += [
                    f'stancebook_request_seconds_bucket{{route="{route}",le="+Inf"}} {count}',
                    f'stancebook_request_seconds_sum{{route="{route}"}} {self._seconds[route]:.6f}',
                    f'stancebook_request_seconds_count{{route="{route}"}} {count}',
                ]
            lines.append("# TYPE stancebook_bytes_total counter")
            lines += [f'stancebook_bytes_total{{way="{way}"}} {n}' for way, n in sorted(self._bytes.items())]
            lines += ["# TYPE stancebook_faults_total counter", f"stancebook_faults_total {self._faults}"]
        for name, figure in sorted(now.items()):
            lines += [f"# TYPE stancebook_{name} gauge", f"stancebook_{name} {figure:g}"]
        return "\n".join(lines) + "\n"


class Watch:
    """The outermost layer: notes each request, and answers what went wrong in us."""

    def __init__(
        self, app: ASGIApp, counts: Counts, answer_fault: Callable[[Request], Response]
    ) -> None:
        self._app, self._counts, self._answer_fault = app, counts, answer_fault

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on and note how it went."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        began = time.perf_counter()
        seen = {"status": 0, "in": 0, "out": 0}

        async def receive_counted() -> Message:
            message = await receive()
            seen["in"] += len(message.get("body", b""))
            return message

        async def send_counted(message: Message) -> None:
            if message["type"] == "http.response.start":
                seen["status"] = message["status"]
            seen["out"] += len(message.get("body", b""))
            await send(message)

        try:
            await self._app(scope, receive_counted, send_counted)
        except Exception as error:
            self._counts.add_fault()
            log_fault(scope, error)
            if seen["status"]:
                raise ConnectionAbortedError("the answer had begun") from None
            await self._answer_fault(Request(scope))(scope, receive_counted, send_counted)
        finally:
            self._note(scope, seen, time.perf_counter() - began)

    def _note(self, scope: Scope, seen: dict[str, int], seconds: float) -> None:
        route, method = pattern_of(scope), _method(scope)
        self._counts.add(route, method, seen["status"], seconds, seen["in"], seen["out"])
        _LOG.info(_line(
            "request", method=method, route=route, status=seen["status"],
            ms=round(seconds * 1000, 1), bytes_in=seen["in"], bytes_out=seen["out"],
        ))


def log_fault(scope: Scope, error: BaseException) -> None:
    """Say where a fault arose and of which kind it is, in one line."""
    where = [
        f"{frame.filename.rpartition('/')[2]}:{frame.lineno} {frame.name}"
        for frame in traceback.extract_tb(error.__traceback__)[-12:]
    ]
    _LOG.error(_line(
        "fault", method=_method(scope), route=pattern_of(scope),
        error=f"{type(error).__module__}.{type(error).__name__}", where=where,
    ))


def pattern_of(scope: Scope) -> str:
    """Return the pattern of the route that a request came to, "-" where there is none."""
    if scope.get("path", "").startswith("/static/"):
        return "/static"
    return str(getattr(scope.get("route"), "path", "-"))


def _method(scope: Scope) -> str:
    return scope["method"] if scope.get("method") in _METHODS else "other"


def _line(event: str, **fields: Any) -> str:
    return json.dumps({"at": moment_text(now_here()), "event": event, **fields})


def log_to_stderr() -> None:
    """Let the lines go to the standard error, one a line, as they are."""
    handler = logging.StreamHandler()
    handler.setFormatter(logging.Formatter("%(message)s"))
    _LOG.addHandler(handler)
    _LOG.setLevel(logging.INFO)
    _LOG.propagate = False
