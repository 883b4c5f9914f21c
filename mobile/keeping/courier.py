"""The courier: carries entries to a server and back.

It runs in a worker thread and never touches the record in memory: what it
fetched is durable first and then handed to ``on_pulled``, which the screen
calls on its own thread.  The protocol is docs/exchange.md.
"""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass, field, replace
from typing import Any, Callable, Mapping, Sequence

from shared_models.entries.canonical import canonical_bytes
from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import Signature
from shared_models.exchange import batch as batches
from shared_models.exchange import pull as pulls
from shared_models.exchange.answers import Receipt, decode_receipt, decode_refused, decode_standing
from shared_models.exchange.intake import Reason
from shared_models.exchange.practice import PracticeRefusal
from shared_models.language import spoken
from shared_models.ledger.sync_states import SyncState
from shared_models.quantities.moments import moment_text, now_here
from mobile.keeping import enrolment as enrolling
from mobile.keeping.ahead import Ahead
from mobile.keeping.enrolment import Enrolment
from mobile.keeping.identity import UNTOLD, become_another
from mobile.keeping.incoming import Incoming
from mobile.keeping.line import Line, SyncRefusal, must_be_well, open_client
from mobile.keeping.offering import what_is_missing
from mobile.keeping.outbox import Load, Packed, packed_parts
from mobile.keeping.photo_lane import PhotosSent, fetch_photo, send_photos
from mobile.keeping.session import Session

Progress = Callable[[str, float], None]
Pulled = Callable[[Sequence[Entry], Sequence[Signature]], None]


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

    def __init__(
        self, client_of: Callable[[], Any] | None = None, works_ahead: bool | None = None
    ) -> None:
        self._client_of = client_of or open_client
        works_ahead = client_of is None if works_ahead is None else works_ahead
        #: Whether the next part is made ready while one is under way.
        self._works_ahead = works_ahead
        self._load = Load()
        self._incoming = Incoming(works_ahead)

    def enrol(
        self, address: str, code: str, tablet: str, public_key: str,
        founded: Mapping[str, Any] | None = None,
    ) -> Enrolment:
        """Spend a one-time code; raises SyncRefusal.

        ``founded``: the clinic that began on this tablet, and where its chain ends.
        """
        with self._client_of() as client:
            return enrolling.enrol(client, address, code, tablet, public_key, founded)

    def reset_pin(self, address: str, code: str, tablet: str, public_key: str) -> tuple[str, str]:
        """Spend the lead clinician's one-time code; return the share and for whom it is."""
        with self._client_of() as client:
            return enrolling.reset_pin(client, address, code, tablet, public_key)

    def fetch_all(self, enrolment: Enrolment) -> list[pulls.Pull]:
        """Fetch everything of a clinic before anybody has a PIN; kept in memory."""
        with self._client_of() as client:
            line = Line(client, enrolment.access(), enrolment.clinic)
            return list(self._incoming.pages(line, 0))

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
            line = Line(client, state.access, session.clinic)
            try:
                state, epoch = self._meet(line, session, state, result)
            except SyncRefusal as refusal:
                if refusal.figures.get("server_code") != "access_revoked":
                    raise
                self._send(line, session, state, result, progress, is_cancelled, held=True)
                raise SyncRefusal("access_revoked_here", held=result.held) from refusal
            state = self._send(line, session, state, result, progress, is_cancelled)
            if result.forked and not result.refused and not is_cancelled():
                state = self._go_on_as_another(line, session, state, result)
            self._leave_share(line, session, state)
            # What only went up need not come down again.
            is_behind = state.epoch != epoch or state.pulled_to < result.newest
            if is_behind and not result.refused and not is_cancelled():
                there = self._fetch(
                    line, session, state, epoch, result, progress, on_pulled, is_cancelled
                )
                if state.epoch != epoch and not is_cancelled():
                    self._offer_again(line, session, there, epoch, result)
            if not result.refused and not is_cancelled():
                self._send_photos(line, session, epoch, result, progress, is_cancelled)
        _tell_of_copy(session, result)
        result.cancelled = is_cancelled()
        return result

    def fetch_photo(self, session: Session, digest: str, progress: Progress) -> None:
        """Fetch the picture of a photo that the record names; raises SyncRefusal and as `fetch_photo`."""
        access = session.entries.sync_state(session.clinic).access
        if not access:
            raise SyncRefusal("no_server")
        with self._client_of() as client:
            fetch_photo(session, digest, Line(client, access, session.clinic).ask, progress)

    def _send_photos(self, line: Line, session, epoch, result, progress, is_cancelled) -> None:
        """Send photos behind the records; what is recorded meanwhile goes between two pieces."""

        def records_first() -> None:
            state = session.entries.sync_state(session.clinic)
            if session.author.end.number > state.acknowledged_number and not result.refused:
                self._send(line, session, state, result, lambda *_: None, is_cancelled)

        result.photos = send_photos(
            session, epoch, line.ask, progress, is_cancelled, records_first,
        )

    def _leave_share(self, line: Line, session: Session, state: SyncState) -> None:
        """Once for each data key, leave with the server what opens this tablet after a forgotten PIN."""
        if session.recovery is None:
            return
        if state.access.get("share_of") == session.tablet and session.recovery.has_share():
            return
        share = session.recovery.new_share(session.unlocked, state.access["address"])
        response = line.ask("PUT", "recovery", canonical_bytes({"format": 1, "share": share}))
        if response.status_code == 200:  # an older server has no room for it
            kept = session.entries.sync_state(session.clinic)
            access = {**(kept.access or {}), "share_of": session.tablet}
            session.entries.keep_sync_state(replace(kept, access=access))
            state.access.update(access)

    def _go_on_as_another(self, line: Line, session: Session, state: SyncState, result) -> SyncState:
        """Two devices write under this tablet's name: go on under a fresh one."""
        fresh = become_another(session, state, lambda asked: line.object_of(
            "POST", "identity", canonical_bytes(dict(asked))
        ))
        if fresh is not None:
            line.access = fresh.access or {}
        result.renamed = fresh is not None
        return fresh or state

    def _meet(self, line: Line, session: Session, state: SyncState, result) -> tuple[SyncState, str]:
        """Learn where the server stands, and its epoch.

        The epoch of a restored server is kept only once it was offered everything.
        """
        standing = decode_standing(line.content_of("GET", f"standing?chain={session.tablet}"))
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

    def _offer_again(self, line: Line, session, there: set[str], epoch: str, result) -> None:
        """Give a restored server what it lost; its epoch is kept when it has everything."""
        state = session.entries.sync_state(session.clinic)
        for lacking in what_is_missing(session, there):
            answer = self._push(line, batches.encode(lacking))
            if isinstance(answer, tuple):
                result.refused = answer
                return
            result.forked = result.forked or bool(answer.forks)
            result.sent += len(lacking.entries)
        session.entries.keep_sync_state(replace(state, epoch=epoch))

    def _send(
        self, line: Line, session, state, result, progress, is_cancelled, held: bool = False
    ) -> SyncState:
        """Send this tablet's unsent entries; where they are only ``held``, they stay unsent."""
        total = max(session.author.end.number - state.acknowledged_number, 1)
        done = 0
        parts = packed_parts(session, state.acknowledged_number, self._load)
        ready = next(parts, None)
        while ready is not None and not is_cancelled():
            progress(spoken("Sending, {done} of {total}", done=done, total=total), min(done / total, 1) / 2)
            with Ahead(lambda: next(parts, None), self._works_ahead) as following:
                answer = self._push(line, ready.packed)
                if isinstance(answer, tuple):
                    result.refused = answer
                    return state
                done += ready.count
                result.forked = result.forked or bool(answer.forks)
                result.held += answer.held
                if not held:
                    result.sent += ready.count
                    state = _noted(session, state, ready, answer)
                    result.newest = max(result.newest, answer.last)
                ready = following.result()
        return state

    def _push(self, line: Line, packed: bytes) -> Receipt | tuple[Reason, ...]:
        headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
        with self._load.carried():
            response = line.ask("POST", "entries", packed, headers)
        if response.status_code == 422:
            return decode_refused(response.content).reasons
        must_be_well(response)
        return decode_receipt(response.content)

    def _fetch(
        self, line: Line, session, state, epoch, result, progress, on_pulled, is_cancelled
    ) -> set[str]:
        """Fetch what is new; return the digests of everything that came."""
        there: set[str] = set()
        progress(spoken("Fetching, {fetched} so far", fetched=0), 0.75)
        with closing(self._incoming.pages(line, state.pulled_to)) as pages:
            for page in pages:
                if page.epoch != epoch or page.clinic != session.clinic:
                    raise SyncRefusal("answer_unreadable")  # numbers of another store mean nothing
                there.update(page.sequences)
                state = replace(state, pulled_to=page.next)
                added = session.entries.add_and_note(
                    state, page.entries, page.signatures, with_sequences=page.sequences
                )
                on_pulled(page.entries, page.signatures)
                result.fetched += len(added.entries)
                progress(spoken("Fetching, {fetched} so far", fetched=result.fetched), 0.75)
                if is_cancelled():
                    break
        return there


def _tell_of_copy(session: Session, result: SyncResult) -> None:
    """Say it also where the sync that went on under another name was cut off before its end."""
    state = session.entries.sync_state(session.clinic)
    access = dict(state.access or {})
    if access.pop(UNTOLD, False):
        result.forked = result.renamed = True
        session.entries.keep_sync_state(replace(state, access=access))


def _noted(session: Session, state: SyncState, sent: Packed, answer: Receipt) -> SyncState:
    """Keep that the server has the chain up to the end of a part, with the head that was sent."""
    pulled_to = state.pulled_to
    if answer.last - answer.stored == pulled_to and not answer.held:
        pulled_to = answer.last  # nothing of anybody else's lies between
    state = replace(state, acknowledged_number=sent.last_number, pulled_to=pulled_to)
    session.entries.add_and_note(state, (), [sent.head])
    return state
