"""The courier: carries entries to a server and back, over HTTP.

It runs in a worker thread and never touches the record in memory: what it
fetched is durable first and then handed to ``on_pulled``, which the screen
calls on its own thread.  The protocol is docs/exchange.md.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, Callable, Mapping, Sequence

from shared_models.entries.canonical import NotStrictJson, canonical_bytes, strict_json
from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import Signature
from shared_models.exchange import batch as batches
from shared_models.exchange import pull as pulls
from shared_models.exchange.addresses import plain_address, trouble_with_address
from shared_models.exchange.answers import (
    Receipt,
    decode_receipt,
    decode_refused,
    decode_standing,
)
from shared_models.exchange.intake import Reason
from shared_models.exchange.packing import LARGEST_PLAIN_BYTES
from shared_models.exchange.practice import PracticeRefusal
from shared_models.ledger.engine import program_version
from shared_models.ledger.sync_states import SyncState
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal
from mobile.keeping.identity import become_another
from mobile.keeping.offering import what_is_missing
from mobile.keeping.photo_lane import PhotosSent, fetch_photo, send_photos
from mobile.keeping.session import Session

ENTRIES_A_BATCH = 400
BYTES_A_BATCH = LARGEST_PLAIN_BYTES // 2
TIMEOUT_SECONDS = 20.0
Progress = Callable[[str, float], None]
Pulled = Callable[[Sequence[Entry], Sequence[Signature]], None]


class SyncRefusal(Refusal):
    """Sending or fetching did not go through; nothing on the tablet is lost.

    Codes: ``no_server``, ``server_not_reached``, ``needs_tls_address``,
    ``address_wrong``, ``server_said`` (figure ``sentence``), ``server_answered``
    (figure ``status``), ``answer_unreadable``, ``access_revoked_here`` (figure ``held``).
    """


@dataclass(frozen=True)
class Enrolment:
    """What a server gives for a one-time code."""

    address: str
    clinic: str
    tablet: str
    token: str
    server: str
    server_key: str
    epoch: str

    def access(self) -> dict[str, str]:
        """Return what the tablet keeps, sealed, to reach the server."""
        return {
            "address": self.address, "token": self.token, "server": self.server,
            "server_key": self.server_key,
        }


@dataclass
class SyncResult:
    """What one sync did.  ``refused`` are the server's reasons, nothing lost."""

    sent: int = 0
    fetched: int = 0
    refused: tuple[Reason, ...] = ()
    forked: bool = False
    #: This tablet's record was copied; it goes on under another name.
    renamed: bool = False
    #: How many items the server holds back until the lead clinician decides.
    held: int = 0
    cancelled: bool = False
    photos: PhotosSent = field(default_factory=PhotosSent)
    #: The newest number of the server's sequence, as far as its answers told.
    newest: int = 0


class Courier:
    """Carries between one tablet and its server."""

    def __init__(self, client_of: Callable[[], Any] | None = None) -> None:
        self._client_of = client_of or _client

    def enrol(
        self, address: str, code: str, tablet: str, public_key: str,
        founded: Mapping[str, Any] | None = None,
    ) -> Enrolment:
        """Spend a one-time code; raises SyncRefusal.

        ``founded``: the clinic that began on this tablet, and where its chain ends.
        """
        address = checked_address(address)
        body = canonical_bytes({
            "format": 1, "code": code.strip(), "tablet": tablet,
            "public_key": public_key, "program": program_version(), **(founded or {}),
        })
        with self._client_of() as client:
            answer = _object(_ask(client, "POST", address + "/exchange/enrol", content=body))
        try:
            return Enrolment(address, *(str(answer[k]) for k in (
                "clinic", "tablet", "token", "server", "server_key", "epoch",
            )))
        except KeyError as error:
            raise SyncRefusal("answer_unreadable") from error

    def fetch_all(self, enrolment: Enrolment) -> list[pulls.Pull]:
        """Fetch everything of a clinic before anybody has a PIN; kept in memory."""
        pages, after, more = [], 0, True
        access = enrolment.access()
        with self._client_of() as client:
            while more:
                page = _page(client, access, enrolment.clinic, after)
                pages.append(page)
                after, more = page.next, page.more
        return pages

    def sync(
        self, session: Session, progress: Progress, on_pulled: Pulled,
        is_cancelled: Callable[[], bool],
    ) -> SyncResult:
        """Send what is unsent, then fetch what is new; raises SyncRefusal.

        Practice is refused before anybody is asked: PracticeRefusal.
        """
        if session.is_practice:
            raise PracticeRefusal("practice_never_sent")
        state = session.entries.sync_state(session.clinic)
        if not state.access:
            raise SyncRefusal("no_server")
        result = SyncResult()
        with self._client_of() as client:
            try:
                state, epoch = self._meet(client, session, state, result)
            except SyncRefusal as refusal:
                if refusal.figures.get("server_code") != "access_revoked":
                    raise
                self._send(client, session, state, result, progress, is_cancelled, held=True)
                raise SyncRefusal("access_revoked_here", held=result.held) from refusal
            state = self._send(client, session, state, result, progress, is_cancelled)
            if result.forked and not result.refused and not is_cancelled():
                state = self._go_on_as_another(client, session, state, result)
            self._leave_share(client, session, state)
            # What only went up need not come down again.
            is_behind = state.epoch != epoch or state.pulled_to < result.newest
            if is_behind and not result.refused and not is_cancelled():
                there = self._fetch(
                    client, session, state, epoch, result, progress, on_pulled, is_cancelled
                )
                if state.epoch != epoch and not is_cancelled():
                    self._offer_again(client, session, there, epoch, result)
            if not result.refused and not is_cancelled():
                self._send_photos(client, session, epoch, result, progress, is_cancelled)
        result.cancelled = is_cancelled()
        return result

    def fetch_photo(self, session: Session, digest: str, progress: Progress) -> None:
        """Fetch the picture of a photo that the record names; raises SyncRefusal and as `fetch_photo`."""
        access = session.entries.sync_state(session.clinic).access
        if not access:
            raise SyncRefusal("no_server")
        with self._client_of() as client:
            fetch_photo(session, digest, lambda *asked, **more: _raw(client, *asked, access, **more), progress)

    def _send_photos(self, client, session, epoch, result, progress, is_cancelled) -> None:
        """Send photos behind the records; what is recorded meanwhile goes between two pieces."""
        access = session.entries.sync_state(session.clinic).access

        def records_first() -> None:
            state = session.entries.sync_state(session.clinic)
            if session.author.end.number > state.acknowledged_number and not result.refused:
                self._send(client, session, state, result, lambda *_: None, is_cancelled)

        result.photos = send_photos(
            session, epoch, lambda *asked, **more: _raw(client, *asked, access, **more),
            progress, is_cancelled, records_first,
        )

    def _leave_share(self, client, session: Session, state: SyncState) -> None:
        """Once for each data key, leave with the server what opens this tablet after a forgotten PIN."""
        if session.recovery is None:
            return
        if state.access.get("share_of") == session.tablet and session.recovery.has_share():
            return
        share = session.recovery.new_share(session.unlocked, state.access["address"])
        url = f"{state.access['address']}/exchange/{session.clinic}/recovery"
        response = _raw(client, "PUT", url, state.access, content=canonical_bytes({"format": 1, "share": share}))
        if response.status_code == 200:  # an older server has no room for it
            kept = session.entries.sync_state(session.clinic)
            access = {**(kept.access or {}), "share_of": session.tablet}
            session.entries.keep_sync_state(replace(kept, access=access))
            state.access.update(access)

    def reset_pin(self, address: str, code: str, tablet: str, public_key: str) -> tuple[str, str]:
        """Spend the lead clinician's one-time code; return the share and for whom it is."""
        body = canonical_bytes({
            "format": 1, "code": code.strip(), "tablet": tablet, "staff_key": public_key,
        })
        with self._client_of() as client:
            answer = _object(_ask(client, "POST", checked_address(address) + "/exchange/pin-reset", content=body))
        try:
            return str(answer["share"]), str(answer["staff"])
        except KeyError as error:
            raise SyncRefusal("answer_unreadable") from error

    def _go_on_as_another(self, client, session: Session, state: SyncState, result) -> SyncState:
        """Two devices write under this tablet's name: go on under a fresh one."""
        url = f"{state.access['address']}/exchange/{session.clinic}/identity"
        fresh = become_another(session, state, lambda asked: _object(
            _ask(client, "POST", url, state.access, content=canonical_bytes(dict(asked)))
        ))
        result.renamed = fresh is not None
        return fresh or state

    def _meet(self, client, session: Session, state: SyncState, result) -> tuple[SyncState, str]:
        """Learn where the server stands, and its epoch.

        The epoch of a restored server is kept only once it was offered everything.
        """
        url = f"{state.access['address']}/exchange/{session.clinic}/standing"
        standing = decode_standing(_ask(client, "GET", url, state.access))
        result.newest = standing.last
        number, digest = standing.chains.get(session.tablet, (0, ""))
        own = session.entries.numbers(session.clinic, session.tablet, number, number)
        if number and digest not in own.get(number, frozenset()):
            number = 0  # another branch of this chain is there: offer the whole chain
            result.forked = True
        pulled_to = state.pulled_to if standing.epoch == state.epoch else 0
        met = replace(
            state, epoch=state.epoch or standing.epoch, pulled_to=pulled_to,
            acknowledged_number=number, last_contact_at=moment_text(now_here()),
        )
        session.entries.keep_sync_state(met)
        return met, standing.epoch

    def _offer_again(self, client, session, there: set[str], epoch: str, result) -> None:
        """Give a restored server what it lost; its epoch is kept when it has everything."""
        state = session.entries.sync_state(session.clinic)
        url = f"{state.access['address']}/exchange/{session.clinic}/entries"
        for lacking in what_is_missing(session, there):
            answer = self._push(client, url, state, batches.encode(lacking))
            if isinstance(answer, tuple):
                result.refused = answer
                return
            result.forked = result.forked or bool(answer.forks)
            result.sent += len(lacking.entries)
        session.entries.keep_sync_state(replace(state, epoch=epoch))

    def _send(
        self, client, session, state, result, progress, is_cancelled, held: bool = False
    ) -> SyncState:
        """Send this tablet's unsent entries; where they are only ``held``, they stay unsent."""
        entries = session.entries.chain(
            session.clinic, session.tablet, state.acknowledged_number + 1
        )
        total = len(entries)
        url = f"{state.access['address']}/exchange/{session.clinic}/entries"
        start = 0
        while start < total:
            if is_cancelled():
                break
            part = fitting_part(entries, start)
            progress(f"Sending, {start} of {total}", start / max(total, 1) / 2)
            head = session.sign_head(part[-1])
            signatures = [
                s for s in session.entries.signatures(session.clinic, [e.digest for e in part])
                if s.signer_type == "staff"
            ]
            packed = batches.encode(batches.batch_of(session.clinic, part, [*signatures, head]))
            answer = self._push(client, url, state, packed)
            if isinstance(answer, tuple):
                result.refused = answer
                return state
            result.forked = result.forked or bool(answer.forks)
            result.held += answer.held
            start += len(part)
            if held:
                continue
            result.sent += len(part)
            result.newest = max(result.newest, answer.last)
            session.entries.add_all((), [head])
            pulled_to = state.pulled_to
            if answer.last - answer.stored == pulled_to and not answer.held:
                pulled_to = answer.last  # nothing of anybody else's lies between
            state = replace(state, acknowledged_number=part[-1].number, pulled_to=pulled_to)
            session.entries.keep_sync_state(state)
        return state

    def _push(self, client, url: str, state: SyncState, packed: bytes) -> Receipt | tuple[Reason, ...]:
        headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
        response = _raw(client, "POST", url, state.access, content=packed, headers=headers)
        if response.status_code == 422:
            return decode_refused(response.content).reasons
        _must_be_well(response)
        return decode_receipt(response.content)

    def _fetch(
        self, client, session, state, epoch, result, progress, on_pulled, is_cancelled
    ) -> set[str]:
        """Fetch what is new; return the digests of everything that came."""
        more, there = True, set()
        while more and not is_cancelled():
            progress(f"Fetching, {result.fetched} so far", 0.75)
            page = _page(client, state.access, session.clinic, state.pulled_to)
            if page.epoch != epoch or page.clinic != session.clinic:
                raise SyncRefusal("answer_unreadable")  # numbers of another store mean nothing
            there.update(page.sequences)
            fresh = [e for e in page.entries if not session.entries.has(e.digest)]
            session.entries.add_all(page.entries, page.signatures, with_sequences=page.sequences)
            state = replace(state, pulled_to=page.next)
            session.entries.keep_sync_state(state)
            on_pulled(page.entries, page.signatures)
            result.fetched += len(fresh)
            more = page.more
        return there


def fitting_part(entries: Sequence[Entry], start: int) -> Sequence[Entry]:
    """Return the entries from ``start`` on that go into one batch: at least one.

    Entries with much drawn in them are large; a batch must stay below what a
    server takes at once.
    """
    size = 0
    for count, entry in enumerate(entries[start:start + ENTRIES_A_BATCH]):
        size += len(entry.plaintext())
        if count and size > BYTES_A_BATCH:
            return entries[start:start + count]
    return entries[start:start + ENTRIES_A_BATCH]


def checked_address(address: str) -> str:
    """Return a server's address without its tail; refuse what is not safe.

    Plain http is taken for this machine only.
    """
    code = trouble_with_address(address)
    if code:
        raise SyncRefusal(code)
    return plain_address(address)


def _client():
    import httpx

    return httpx.Client(timeout=TIMEOUT_SECONDS)


def _page(client, access: Mapping[str, Any], clinic: str, after: int) -> pulls.Pull:
    url = f"{access['address']}/exchange/{clinic}/entries?after={after}&limit={pulls.USUAL_ITEMS}"
    return pulls.decode(_ask(client, "GET", url, access))


def _ask(client, method: str, url: str, access: Mapping[str, Any] | None = None, **more) -> bytes:
    response = _raw(client, method, url, access, **more)
    _must_be_well(response)
    return response.content


def _raw(client, method: str, url: str, access: Mapping[str, Any] | None = None, **more):
    import httpx

    headers = dict(more.pop("headers", {}))
    if access:
        headers["Authorization"] = f"Bearer {access['token']}"
    try:
        return client.request(method, url, headers=headers, **more)
    except (httpx.HTTPError, httpx.InvalidURL) as error:
        raise SyncRefusal("server_not_reached") from error


def _must_be_well(response) -> None:
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


