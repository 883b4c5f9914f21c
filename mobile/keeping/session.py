"""A person at work on an unlocked tablet: reading, saving, signing, drafts."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date
from typing import Any, Callable, Mapping, Sequence

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from shared_models.catalogue.edition import load_edition
from shared_models.checks.attached import bytes_named
from shared_models.checks.summarising import FittingSummary
from shared_models.checks.verdict import Verdict, judge
from shared_models.entries.composing import Author, ChainEnd
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.entries.signatures import CHAIN_HEAD, Signature, sign
from shared_models.entries.written import WrittenLink
from shared_models.exchange.clocks import see_bounded
from shared_models.exchange.practice import BEHIND, PREFIX, is_practice
from shared_models.ledger.faults_of_storage import NotSaved
from shared_models.ledger.key_slots import Unlocked
from shared_models.ledger.recovery_slots import RecoverySlots
from shared_models.ledger.store import EntryStore
from shared_models.ledger.sync_states import SyncState
from shared_models.quantities.moments import moment_from, moment_text, now_here
from shared_models.quantities.refusals import Refusal
from mobile.keeping.record_on_demand import RecordOnDemand
from mobile.keeping.summaries import Summaries

#: Stands in the place of every draft of a photo; the draft names the bytes.
PHOTO_DRAFT = "/photo/"


class Session:
    """What one unlocked person can do.  ``save`` returns when it is durable.

    Writing and taking in what a sync brings exclude each other, so the chain
    and the record in memory always agree with the file.
    """

    def __init__(
        self, unlocked: Unlocked, entries: EntryStore, record: RecordOnDemand, author: Author
    ) -> None:
        self.unlocked = unlocked
        self.entries = entries
        self.record = record
        self.author = author
        #: Called with why what is typed could not be kept, with None once it is kept again.
        self.on_draft: Callable[[Refusal | None], None] = lambda _refusal: None
        self._not_kept: dict[str, dict[str, Any]] = {}
        self._turn = threading.RLock()
        end = author.end
        #: Nobody is fitted here; told by the store's rows, so no opening takes it off.
        self.is_practice = is_practice(end.clinic) or entries.holds_clinic_between(PREFIX, BEHIND)
        self._list = Summaries(entries, record.view_alone, end.tablet)
        self._oldest_unsent = (0, "")
        #: The slots for a forgotten PIN, where the tablet gave them.
        self.recovery: RecoverySlots | None = None
        #: The verdict asked for last, and for which fitting, day and state of the record.
        self._judged: tuple[tuple[str, date, int], Verdict] | None = None

    def renew_data_key(self, renew: Callable[[], bool]) -> bool:
        """Let ``renew`` seal the whole store anew while nothing else writes; this session ends by it.

        What still runs for this session meets a locked store afterwards, so that
        nothing more is sealed under the old key.  A refused renewing leaves all as it was.
        """
        with self._turn:
            is_clean = renew()
            self.entries.forget_key()
        return is_clean

    @property
    def staff(self) -> str:
        """Id of the person at work."""
        return self.unlocked.staff_id

    @property
    def name(self) -> str:
        """Printed name of the person at work."""
        return self.record.name_of(self.staff)

    @property
    def roles(self) -> tuple[str, ...]:
        """Roles of the person at work."""
        return tuple(self.record.staff_body(self.staff).get("roles") or ())  # type: ignore[arg-type]

    @property
    def clinic(self) -> str:
        """The clinic whose record this is."""
        return self.author.end.clinic

    @property
    def tablet(self) -> str:
        """Id of this tablet."""
        return self.author.end.tablet

    @property
    def has_server(self) -> bool:
        """Whether this clinic's record goes to a server."""
        return bool(self.entries.sync_state(self.clinic).access)

    @property
    def device_key(self):
        """The key with which this tablet signs its chain."""
        return self.entries.device_key()

    # Reading ----------------------------------------------------------------

    def fitting(self, fitting: str) -> FittingView:
        """Return a fitting as the record stands now."""
        with self._turn:
            return FittingView(self.record, fitting)

    def verdict(self, fitting: str, day: date | None = None) -> Verdict:
        """Judge a fitting as the record stands now."""
        with self._turn:
            asked = (fitting, day or now_here().date(), self.record.grown)
            if self._judged is None or self._judged[0] != asked:
                self._judged = (asked, judge(self.fitting(fitting), asked[1]))
            return self._judged[1]

    def fittings(self) -> list[str]:
        """Return the ids of all fittings, the one touched last first."""
        return [summary.fitting for summary in self.summaries()]

    def others_of_person(self, view: FittingView) -> list[FittingView]:
        """Return the other fittings of the same person; nobody else's is read for it."""
        listed = (s.fitting for s in self.summaries() if s.person == view.person.id and s.fitting != view.subject.id)
        return [other for other in map(self.fitting, listed) if other.person == view.person]

    def has_fitting(self, fitting: str) -> bool:
        """Tell whether anything is recorded of a fitting."""
        return bool(fitting) and self.entries.has_subject("fitting", fitting)

    def summaries(self) -> list[FittingSummary]:
        """Return what the list shows of all fittings, the one touched last first."""
        return self._list.all()

    def summary_of(self, fitting: str) -> FittingSummary:
        """Return what the list shows of one fitting, worked out now."""
        return self._list.of(fitting)

    def list_is_short(self) -> bool:
        """Tell whether the list read last holds fittings that were not worked out by then."""
        return self._list.shown_short > 0

    def summaries_waiting(self) -> int:
        """Return how many summaries still say what was true before."""
        return self._list.waiting()

    def summaries_out_of_date(self) -> set[str]:
        """Return the fittings whose summaries, as read last, may say what was true before."""
        return self._list.out_of_date()

    def work_out_summaries(self, most: int) -> int:
        """Work out some of the summaries that wait, on any thread; return how many are left."""
        return self._list.work_out_some(most)

    def look_again(self, summaries: Sequence[FittingSummary]) -> None:
        """Have those worked out again that were judged on another day than today."""
        self._list.look_again(list(summaries), now_here().date())

    def unsent(self) -> tuple[int, str]:
        """Return how many own entries and photos the server has not named, and the oldest's time.

        In practice nothing waits to be sent.
        """
        if self.is_practice:
            return 0, ""
        state = self.entries.sync_state(self.clinic)
        photos, since = self.entries.count_waiting_attachments(state.epoch)
        count = self.author.end.number - state.acknowledged_number
        if count <= 0:
            return photos, since
        recorded = self._recorded_at(state.acknowledged_number + 1)
        return count + photos, _earlier(recorded, since) if since else recorded

    def photos_waiting(self) -> tuple[int, int]:
        """Return how many photos wait to be sent, and how many bytes they are."""
        waiting = self.entries.waiting_attachments(self.entries.sync_state(self.clinic).epoch)
        return len(waiting), sum(waiting.values())

    def acknowledged(self) -> int:
        """Return up to which number of its own chain the server has named entries."""
        return self.entries.sync_state(self.clinic).acknowledged_number

    def note_acknowledged(self, number: int) -> int:
        """Keep that the server has this tablet's entries up to a number; return how many are news."""
        with self._turn:
            state = self.entries.sync_state(self.clinic)
            more = number - state.acknowledged_number
            if more > 0:
                self.entries.keep_sync_state(replace(state, acknowledged_number=number))
            return max(more, 0)

    def _recorded_at(self, number: int) -> str:
        """When an own entry was recorded; read once for as long as it is the oldest unsent."""
        if self._oldest_unsent[0] != number:
            found = self.entries.chain(self.clinic, self.tablet, number, most=1)
            self._oldest_unsent = (number, found[0].recorded_at if found else "")
        return self._oldest_unsent[1]

    # Saving -----------------------------------------------------------------

    def save(
        self, kind: str, subject: Subject, body: Mapping[str, Any], *,
        draft: str | None = None, settles: bool = False, note: str = "",
        signed_with: Unlocked | None = None,
    ) -> Entry:
        """Record a new fact; durable when this returns.

        ``signed_with`` are the open keys of the person who records and signs it
        (a second person at the same tablet); without it the person at work
        records it, and signs it where the kind asks for a signature.
        """
        by = signed_with or self.unlocked
        return self._store(
            lambda: self.author.record_fact(
                kind, subject, body, by.staff_id, settles=settles, note=note
            ), draft, by,
        )

    def correct(
        self, wrong: Entry, body: Mapping[str, Any], code: str, note: str = "", *,
        draft: str | None = None,
    ) -> Entry:
        """Record a correction; durable when this returns."""
        return self._store(
            lambda: self.author.correct(wrong, body, self.staff, code, note), draft, self.unlocked
        )

    def withdraw(self, wrong: Entry, code: str, note: str = "") -> Entry:
        """Record that an entry should not have been made; durable when this returns."""
        return self._store(
            lambda: self.author.withdraw(wrong, self.staff, code, note), None, self.unlocked
        )

    def _store(self, compose: Callable[[], Entry], draft: str | None, by: Unlocked) -> Entry:
        with self._turn:
            entry = compose()
            signatures = self._signatures(entry, by)
            self.entries.append(
                entry, signatures, fulfils_draft=draft, attached=bytes_named(entry)
            )
            self.author.accepted(entry)
            self.record.add([entry], signatures)
            if self._not_kept.pop(draft or "", None) is not None:
                self._say_kept()
            return entry

    def _signatures(self, entry: Entry, by: Unlocked) -> list[Signature]:
        kind = load_edition().kinds.get(entry.kind)
        if kind is None or not kind.signed_as:
            return []
        return [sign(
            by.signing_key, clinic=entry.clinic, signs=entry.digest, signer_type="staff",
            signer=by.staff_id, printed_name=self.record.name_of(by.staff_id),
            meaning=kind.signed_as, signed_at=entry.recorded_at,
        )]

    # Drafts -----------------------------------------------------------------

    def keep_draft(self, place: str, typed: Mapping[str, Any]) -> None:
        """Keep what is being typed; durable when this returns.

        What the disk can't take is kept in memory, and ``on_draft`` says so:
        nobody is stopped in their typing.
        """
        self._keep(place, dict(typed), lambda: self.entries.keep_draft(place, typed))

    def draft(self, place: str) -> dict[str, Any]:
        """Return what was being typed at a place, {} when nothing was."""
        if place in self._not_kept:
            return dict(self._not_kept[place])
        return self.entries.draft(place) or {}

    def drop_draft(self, place: str) -> None:
        """Forget what was being typed at a place."""
        self._keep(place, {}, lambda: self.entries.drop_draft(place))

    def _keep(self, place: str, typed: dict[str, Any], durably: Callable[[], None]) -> None:
        try:
            durably()
        except NotSaved:
            self._not_kept[place] = typed
            self._say_kept()
            return
        if self._not_kept.pop(place, None) is not None:
            self._say_kept()

    def _say_kept(self) -> None:
        self.on_draft(Refusal("draft_not_kept") if self._not_kept else None)

    # Attached bytes ---------------------------------------------------------

    def photos_here(self) -> int:
        """Return how many photos that the record names lie on this tablet."""
        return len(self.entries.attachments(named=True))

    def tidy_attachments(self) -> None:
        """Take away bytes that neither an entry nor a draft names: cut off, or set aside."""
        with self._turn:
            drafts = [
                self.draft(place) for place in (*self.entries.draft_places("fitting/"), *self._not_kept)
                if PHOTO_DRAFT in place
            ]
            self.entries.drop_loose({str(typed.get("sha256", "")) for typed in drafts})

    # What a sync needs ------------------------------------------------------

    def absorb(self, entries: Sequence[Entry], signatures: Sequence[Signature]) -> None:
        """Take what a sync has stored into the record in memory."""
        with self._turn:
            for entry in entries:
                see_bounded(self.author.clock, entry.clock)
            self.record.add(entries, signatures)

    def go_on_as(self, tablet: str, key: Ed25519PrivateKey, state: SyncState) -> bool:
        """Begin a chain under another name; False while the old one has entries to be sent."""
        with self._turn:
            if self.author.end.number > state.acknowledged_number:
                return False
            self.entries.keep_identity(tablet, key, replace(state, acknowledged_number=0))
            self.author.end = ChainEnd(self.clinic, tablet)
            self._list = Summaries(self.entries, self.record.view_alone, tablet)
            self._oldest_unsent = (0, "")
            return True

    def sign_head(self, last: Entry | WrittenLink) -> Signature:
        """Return this tablet's signature over its chain as far as ``last``."""
        return sign(
            self.device_key, clinic=last.clinic, signs=last.digest, signer_type="tablet",
            signer=last.tablet, printed_name="", meaning=CHAIN_HEAD,
            signed_at=moment_text(now_here()),
        )


def _earlier(one: str, other: str) -> str:
    return min(one, other, key=moment_from)
