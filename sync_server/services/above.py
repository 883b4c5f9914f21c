"""A server of a clinic in the field as one more client of the server above it.

It is enrolled under its own chain and key by a code for a hub, pushes what it
holds in the order in which it got it, cut at signed heads, with the signatures
unharmed; pulls what the server above has; and sends and fetches photos.  Asking
goes by the standard library, so a server needs no HTTP client besides.
"""

from __future__ import annotations

import http.client
import urllib.error
import urllib.request
from dataclasses import dataclass, field, replace
from typing import Any, Callable, Iterable, Mapping

from shared_models.entries.canonical import NotStrictJson, canonical_bytes, strict_json
from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import Signature
from shared_models.exchange import batch as batches
from shared_models.exchange import lane, pull
from shared_models.exchange.addresses import plain_address, trouble_with_address
from shared_models.exchange.answers import Standing, decode_refused, decode_standing
from shared_models.exchange.intake import Reason
from shared_models.exchange.practice import refuse_practice
from shared_models.ledger.opening import program_version
from shared_models.ledger.held_attachments import lacking_in, not_whole_above, note_whole_above
from shared_models.ledger.sealing import SealingRefusal
from shared_models.ledger.sync_states import SyncState
from shared_models.ledger.tablet_access import Access
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal
from shared_models.wording.server_sentences import server_sentence
from sync_server.services.attachment_lane import AttachmentLane
from sync_server.services.station import Station

_TIMEOUT_S = 30
_WINDOW = 2000
_MOST_ANSWER = 16 * 1024 * 1024
#: Method, URL, headers, body; gives status, headers by small names, body.
Web = Callable[[str, str, Mapping[str, str], bytes], lane.Answer]


class AboveRefusal(Refusal):
    """The server above can't be reached, or does not take what was sent.

    Codes: ``no_server_above``, ``above_not_reached``, ``above_said`` (figure
    ``sentence``), ``above_answered`` (figure ``status``), ``joined_above_already``,
    ``above_token_of_other_key`` (figure ``clinic``).
    """


@dataclass
class SentUp:
    """What one round did; ``refused`` are the reasons of the server above, nothing is lost."""

    sent: int = 0
    fetched: int = 0
    photos_up: int = 0
    photos_down: int = 0
    refused: list[Reason] = field(default_factory=list)
    left: list[str] = field(default_factory=list)


def join_above(station: Station, address: str, code: str, clinic: str = "", web: Web | None = None) -> str:
    """Spend a hub's code at the server above; return the clinic that it is for.

    ``clinic``: the clinic founded here that goes up for the first time.  Raises AboveRefusal.
    """
    refuse_practice([clinic])
    base, one_time = _checked(address), code.strip()
    answer = (web or over_the_web)("POST", f"{base}/exchange/enrol", {}, canonical_bytes({
        "format": 1, "code": one_time, "tablet": station.chain, "public_key": station.public_key,
        "program": program_version(), "clinic": clinic,
    }))
    told = _object(_well(answer).content)
    joined = str(told["clinic"])
    if _has_joined(station, joined):
        raise AboveRefusal("joined_above_already", clinic=joined)
    station.above.keep_sync_state(SyncState(joined, epoch=str(told["epoch"]), access={
        "address": base, **{name: str(told[name]) for name in ("token", "server", "server_key")},
    }))
    return joined


def _state(station: Station, clinic: str) -> SyncState:
    try:
        return station.above.sync_state(clinic)
    except SealingRefusal as refusal:
        raise AboveRefusal("above_token_of_other_key", clinic=clinic) from refusal


def _has_joined(station: Station, clinic: str) -> bool:
    """Tell whether there is a token that opens: with one of a lost key nothing can be sent."""
    try:
        return bool(station.above.sync_state(clinic).access)
    except SealingRefusal:
        return False


def _checked(address: str) -> str:
    code = trouble_with_address(address)
    if code:
        raise AboveRefusal(code)
    return plain_address(address)


def send_up(station: Station, lane_here: AttachmentLane, clinic: str, web: Web | None = None) -> SentUp:
    """Push what the server above lacks, pull what it has, and send photos both ways.

    What went through stays through: the next round goes on.  Raises AboveRefusal.
    """
    round_ = _Round(station, lane_here, clinic, web or over_the_web)
    round_.meet()
    round_.push()
    if not round_.done.refused:
        round_.pull()
        round_.photos()
    return round_.done


class _Round:
    def __init__(self, station: Station, lane_here: AttachmentLane, clinic: str, web: Web) -> None:
        self.station, self.lane, self.clinic, self.web = station, lane_here, clinic, web
        self.done = SentUp()
        self.state = _state(station, clinic)
        if not self.state.access:
            raise AboveRefusal("no_server_above", clinic=clinic)

    def ask(self, method: str, path: str, headers: Mapping[str, str] | None = None, body: bytes = b"") -> lane.Answer:
        """Ask the server above for something of this clinic."""
        access = self.state.access
        return self.web(
            method, f"{access['address']}/exchange/{self.clinic}/{path}",
            {**(headers or {}), "Authorization": f"Bearer {access['token']}"}, body,
        )

    def meet(self) -> None:
        """Learn where the server above stands; one that was restored is offered everything again."""
        standing: Standing = decode_standing(_well(self.ask("GET", "standing")).content)
        if standing.epoch != self.state.epoch:
            self.state = replace(self.state, epoch=standing.epoch, pulled_to=0, acknowledged_number=0)
        self._keep(last_contact_at=moment_text(now_here()))

    def push(self) -> None:
        """Send what came here since the last time, in the order in which it came."""
        waiting: list[Entry] = []
        over: list[Signature] = []
        after = self.state.acknowledged_number
        while not self.done.refused:
            items = self.station.entries.feed(self.clinic, after, _WINDOW)
            if not items:
                return
            entries = [*waiting, *(i.item for i in items if isinstance(i.item, Entry))]
            signatures = [*over, *(i.item for i in items if isinstance(i.item, Signature))]
            taken = self._push_window(entries, signatures)
            if self.done.refused:
                return
            waiting = [e for e in entries if e.digest not in taken]
            left = {e.digest for e in waiting}
            over = [s for s in signatures if s.signs in left]
            after = items[-1].sequence
            if not waiting:  # where a head is still to come, the next round begins before its chain
                self._keep(acknowledged_number=after)

    def _push_window(self, entries: list[Entry], signatures: Iterable[Signature]) -> set[str]:
        entries = sorted(entries, key=lambda e: (not e.tablet.startswith("server-"), e.tablet, e.number))
        taken: set[str] = set()
        for part in batches.cut(self.clinic, entries, list(signatures)):
            answer = self.ask("POST", "entries", {
                "Content-Type": "application/json", "Content-Encoding": "gzip",
            }, batches.encode(part))
            if answer.status == 422:
                self.done.refused += decode_refused(answer.content).reasons
                return taken
            _well(answer)
            taken |= {digest for digest, _ in part.entries}
            self.done.sent += len(part.entries)
        return taken

    def pull(self) -> None:
        """Take what the server above has; what is here already changes nothing."""
        more = True
        while more:
            page = pull.decode(_well(self.ask(
                "GET", f"entries?after={self.state.pulled_to}&limit={pull.USUAL_ITEMS}"
            )).content)
            if page.clinic != self.clinic or page.epoch != self.state.epoch:
                raise AboveRefusal("above_answered", status=200)
            self._store(page)
            more = page.more

    def _store(self, page: pull.Pull) -> None:
        with self.station.writing(self.clinic) as reading:
            before = reading.last_sequence()
            added = self.station.keep(reading, page.entries, page.signatures, fold=False)
            if added.entries or added.signatures:
                self.station.fold(reading, page.entries, page.signatures)
            after = reading.last_sequence()
        self.done.fetched += len(added.entries)
        pushed = self.state.acknowledged_number
        # What came from above need not go up again, unless something of here lies between.
        self._keep(pulled_to=page.next, acknowledged_number=after if pushed == before else pushed)

    def photos(self) -> None:
        """Send the photos that are whole here, then fetch those that the record here lacks."""
        with self.station.store.reading() as connection:
            up = not_whole_above(connection, self.clinic, self.state.epoch)
            down = lacking_in(connection, self.clinic)
        for photo in up:
            path = self.lane.files.path(self.clinic, photo.sha256)
            try:
                lane.send(self._ask_photo, photo.sha256, photo.bytes, lambda at, most, path=path: _part(path, at, most))
            except (lane.LaneRefusal, lane.PhotoRefused, OSError) as error:
                self.done.left.append(server_sentence(error) if isinstance(error, Refusal) else str(error))
                continue
            with self.station.writing(self.clinic) as reading:
                note_whole_above(reading.connection, self.clinic, photo.sha256, self.state.epoch)
            self.done.photos_up += 1
        for sha256 in down:
            if self._fetch(sha256):
                self.done.photos_down += 1

    def _fetch(self, sha256: str) -> bool:
        try:
            data = lane.fetch(self._ask_photo, sha256)
            access = Access(str(self.state.access["server"]), self.clinic)
            offset = self.lane.stand(access, sha256).offset
            self.lane.take(
                access, sha256, offset, data[offset:], last=True, length=len(data), from_where="server above"
            )
            with self.station.writing(self.clinic) as reading:
                note_whole_above(reading.connection, self.clinic, sha256, self.state.epoch)
        except AboveRefusal:
            raise
        except Refusal:
            return False  # not there either, or its beginning here was damaged: the next round tries again
        return True

    def _ask_photo(self, method: str, name: str, headers: Mapping[str, str], content: bytes) -> lane.Answer:
        return self.ask(method, f"attachments/{name}", headers, content)

    def _keep(self, **changes: Any) -> None:
        self.state = replace(self.state, **changes)
        self.station.above.keep_sync_state(self.state)


def over_the_web(method: str, url: str, headers: Mapping[str, str], body: bytes) -> lane.Answer:
    """Ask over HTTP, certificates checked; raises AboveRefusal ``above_not_reached``."""
    request = urllib.request.Request(url, data=body or None, headers=dict(headers), method=method)
    try:
        with _open(request) as response:
            return lane.Answer(response.status, _small(response.headers), response.read(_MOST_ANSWER))
    except urllib.error.HTTPError as error:
        with error:
            return lane.Answer(error.code, _small(error.headers), error.read(_MOST_ANSWER))
    except (OSError, http.client.HTTPException) as error:
        raise AboveRefusal("above_not_reached") from error


class _NoFollowing(urllib.request.HTTPRedirectHandler):
    """A token goes to the server that gave it and nowhere else."""

    def redirect_request(self, *_args: Any) -> None:
        """Follow nothing."""
        return None


def _open(request: urllib.request.Request):
    return urllib.request.build_opener(_NoFollowing).open(request, timeout=_TIMEOUT_S)


def _small(headers: Any) -> dict[str, str]:
    return {name.lower(): value for name, value in headers.items()}


def _part(path, at: int, most: int) -> bytes:
    with open(path, "rb") as file:
        file.seek(at)
        return file.read(most)


def _well(answer: lane.Answer) -> lane.Answer:
    if answer.status == 200:
        return answer
    said = _object(answer.content, strict=False)
    if said.get("sentence"):
        raise AboveRefusal("above_said", sentence=str(said["sentence"]))
    raise AboveRefusal("above_answered", status=answer.status)


def _object(data: bytes, strict: bool = True) -> Mapping[str, Any]:
    try:
        value = strict_json(data)
    except NotStrictJson as error:
        if strict:
            raise AboveRefusal("above_answered", status=200) from error
        return {}
    return value if isinstance(value, dict) else {}
