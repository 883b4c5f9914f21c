"""The line to a server: HTTP, and what its answers mean for the person who syncs.

What is said over it stands in docs/exchange.md; nothing here knows of entries.
"""

from __future__ import annotations

from functools import cache
from typing import Any, Mapping

from shared_models.entries.canonical import NotStrictJson, strict_json
from shared_models.exchange.addresses import plain_address, trouble_with_address
from shared_models.quantities.refusals import Refusal

TIMEOUT_SECONDS = 20.0
#: What httpx would say of itself in each request, and no server of ours asks for.
_UNASKED = ("Accept", "Accept-Encoding", "Connection", "User-Agent")


class SyncRefusal(Refusal):
    """Sending or fetching did not go through; nothing on the tablet is lost.

    Codes: ``no_server``, ``server_not_reached``, ``needs_tls_address``,
    ``address_wrong``, ``server_said`` (figure ``sentence``), ``server_answered``
    (figure ``status``), ``answer_unreadable``, ``access_revoked_here`` (figure ``held``).
    """


class Line:
    """An open line to one server; ``access`` says where it is and who asks."""

    def __init__(self, client: Any, access: Mapping[str, Any], clinic: str = "") -> None:
        self._client = client
        self._clinic = clinic
        self.access = access

    def ask(
        self, method: str, path: str, content: bytes | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> Any:
        """Ask for a path of the clinic; return the response, whatever its status.

        Raises SyncRefusal ``server_not_reached``.
        """
        import httpx

        sent = dict(headers or {})
        if self.access.get("token"):
            sent["Authorization"] = f"Bearer {self.access['token']}"
        within = f"/{self._clinic}" if self._clinic else ""
        url = f"{self.access['address']}/exchange{within}/{path}"
        more = {} if content is None else {"content": content}
        try:
            return self._client.request(method, url, headers=sent, **more)
        except (httpx.HTTPError, httpx.InvalidURL) as error:
            raise SyncRefusal("server_not_reached") from error

    def content_of(self, method: str, path: str, content: bytes | None = None) -> bytes:
        """Ask, and return what a good answer holds; raises SyncRefusal otherwise."""
        response = self.ask(method, path, content)
        must_be_well(response)
        found: bytes = response.content
        return found

    def object_of(self, method: str, path: str, content: bytes | None = None) -> dict[str, Any]:
        """Ask, and return the object that a good answer holds."""
        return _object(self.content_of(method, path, content))


def open_client(transport: Any = None) -> Any:
    """Return an HTTP client; ``transport`` takes the place of the network."""
    import httpx

    # What is trusted is read from the disk once, not before each sync.
    client = httpx.Client(timeout=TIMEOUT_SECONDS, verify=_trust(), transport=transport)
    for name in _UNASKED:
        del client.headers[name]
    return client


@cache
def _trust() -> Any:
    import httpx

    return httpx.create_ssl_context()


def checked_address(address: str) -> str:
    """Return a server's address without its tail; refuse what is not safe.

    Plain http is taken for this machine only.
    """
    code = trouble_with_address(address)
    if code:
        raise SyncRefusal(code)
    return plain_address(address)


def must_be_well(response: Any) -> None:
    """Refuse an answer of another status than 200, in the server's own words where it has any."""
    if response.status_code == 200:
        return
    try:
        answer = _object(response.content)
    except Refusal:
        answer = {}
    if answer.get("sentence"):
        raise SyncRefusal(
            "server_said", sentence=str(answer["sentence"]), server_code=str(answer.get("code", ""))
        )
    raise SyncRefusal("server_answered", status=response.status_code)


def _object(data: bytes) -> dict[str, Any]:
    try:
        value = strict_json(data)
    except NotStrictJson as error:
        raise SyncRefusal("answer_unreadable") from error
    if not isinstance(value, dict):
        raise SyncRefusal("answer_unreadable")
    return value
