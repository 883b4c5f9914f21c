"""Whom a request really came from, where a proxy ends TLS before the server.

Only proxies that the operator named are let through and believed; what they
say of the client is read from the right, past the proxies themselves.
"""

from __future__ import annotations

import ipaddress
from typing import Callable

from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send


class Proxied:
    """Refuses what did not come through a named proxy, or not over TLS to it."""

    def __init__(
        self, app: ASGIApp, proxies: frozenset[str], refuse: Callable[[Request, str], Response]
    ) -> None:
        self._app, self._proxies, self._refuse = app, proxies, refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on as its client's, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        peer = (scope.get("client") or ("-", 0))[0]
        if peer not in self._proxies:
            await self._refuse(Request(scope), "not_through_proxy")(scope, receive, send)
            return
        headers = dict(scope["headers"])
        told = headers.get(b"x-forwarded-proto", b"https").decode("latin-1").strip().lower()
        if told != "https":
            await self._refuse(Request(scope), "not_over_tls")(scope, receive, send)
            return
        client = self._client(headers.get(b"x-forwarded-for", b"").decode("latin-1")) or peer
        scope.update(client=(client, 0), scheme="https")
        await self._app(scope, receive, send)

    def _client(self, told: str) -> str:
        for named in reversed([part.strip() for part in told.split(",")]):
            try:
                address = str(ipaddress.ip_address(named))
            except ValueError:
                return ""
            if address not in self._proxies:
                return address
        return ""
