"""The address of a server, as it is typed: TLS, or this machine alone."""

from __future__ import annotations

from urllib.parse import urlsplit

_LOOPBACK = ("127.0.0.1", "localhost", "::1")


def trouble_with_address(address: str) -> str:
    """Return why an address is not taken: ``address_wrong``, ``needs_tls_address``; "" when it is."""
    typed = _completed(address)
    try:
        parts = urlsplit(typed)
        parts.port  # raises where it is no number of a port
    except ValueError:
        return "address_wrong"
    if parts.scheme not in ("http", "https") or not parts.hostname:
        return "address_wrong"
    if parts.scheme == "http" and parts.hostname not in _LOOPBACK:
        return "needs_tls_address"
    return ""


def plain_address(address: str) -> str:
    """Return an address that there is no trouble with, without its tail."""
    parts = urlsplit(_completed(address))
    return f"{parts.scheme}://{parts.netloc}"


def _completed(address: str) -> str:
    typed = address.strip().rstrip("/")
    return typed if "//" in typed else f"https://{typed}"
