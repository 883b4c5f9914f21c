"""The tablet's own store: who may open it, and the session that opening gives.

Nothing in the file names anybody: bodies, drafts and the server's address are
sealed, and the data key is wrapped for each person by that person's PIN.
"""

from __future__ import annotations

import secrets
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Iterable, Sequence

from shared_models.entries.clock import HybridClock
from shared_models.entries.composing import Author, ChainEnd
from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import new_key, public_text
from shared_models.exchange.clocks import latest_believed
from shared_models.exchange.practice import BEHIND, PREFIX, PracticeRefusal, is_practice
from shared_models.exchange.pull import Pull
from shared_models.ledger.opening import open_store
from shared_models.ledger.key_slots import KeySlots, Stretch, Unlocked
from shared_models.ledger.pins import refuse_weak
from shared_models.ledger.recovery_slots import RecoverySlots
from shared_models.ledger.renewing import renew_data_key
from shared_models.ledger.sealing import Plain
from shared_models.ledger.store import EntryStore
from shared_models.ledger.sync_states import SyncState
from shared_models.quantities.refusals import Refusal
from mobile.keeping.enrolment import Enrolment
from mobile.keeping.places import STORE_NAME
from mobile.keeping.record_on_demand import RecordOnDemand
from mobile.keeping.session import Session
from mobile.keeping.vouching import may_vouch, refuse_ended, vouch, waiting_keys



@dataclass(frozen=True)
class Newcomer:
    """A member of staff about to get a PIN on this tablet."""

    staff: str
    name: str
    roles: tuple[str, ...]
    pin: str


class Tablet:
    """One tablet's store, opened; locked until somebody's PIN fits.

    With ``practice`` it takes a practice clinic only.  Raises the refusals of
    `open_store` when the file can't be opened, and PracticeRefusal
    ``practice_holds_real_record`` when practice is opened on a record of people.
    """

    def __init__(self, folder: Path, stretch: Stretch = Stretch(), practice: bool = False) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.path = folder / STORE_NAME
        #: Where other instruments' files of foot contacts are looked for.
        self.contacts_folder = folder / "contacts"
        self.store = open_store(self.path, "tablet")
        self.slots = KeySlots(self.store, stretch)
        self.recovery = RecoverySlots(self.store, self.slots, stretch)
        #: Where photos are looked for; where the camera leaves them until they are kept.
        self.photos_folder = folder / "photos"
        self.camera_folder = folder / "camera"
        #: Where the papers lie that were made to be handed over; not sealed.
        self.papers_folder = folder / "papers"
        #: Where what is carried without a network is written when there is no stick.
        self.carried_folder = folder / "carried"
        self._tidied = False
        self._for_practice = practice
        if practice and self.people() and not self._holds_practice():
            self.close()
            raise PracticeRefusal("practice_holds_real_record")

    @property
    def is_practice(self) -> bool:
        """Whether nobody is fitted here; a copied practice store says so too, still locked."""
        return self._for_practice or self._holds_practice()

    def _holds_practice(self) -> bool:
        return EntryStore(self.store, Plain()).holds_clinic_between(PREFIX, BEHIND)

    def close(self) -> None:
        """Close the file."""
        self.store.close()

    def people(self) -> tuple[str, ...]:
        """Staff ids that have a PIN here, in the order of their names."""
        return self.slots.people()

    def unlock(self, staff: str, pin: str) -> Session:
        """Open the store for a person; raises PinRefusal as `KeySlots.unlock`.

        ``person_ended`` for somebody who, as the server recorded, no longer works here.
        """
        session = self._session(self.slots.unlock(staff, pin))
        refuse_ended(session, staff)
        self._introduce_forgotten(session, session.unlocked)
        self._tidy_once(session)
        return session

    def _tidy_once(self, session: Session) -> None:
        """Once a start, take away what a photo's cut-off save left; a full disk can wait."""
        if self._tidied:
            return
        self._tidied = True
        try:
            session.tidy_attachments()
        except Refusal:
            pass

    def unlock_beside(self, session: Session, staff: str, pin: str) -> Unlocked:
        """Open a second person's own keys while somebody is at work.

        Raises PinRefusal as `KeySlots.unlock`.
        """
        keys = self.slots.unlock(staff, pin)
        refuse_ended(session, staff)
        self._introduce_forgotten(session, keys)
        return keys

    def found(self, clinic: str, clinic_name: str, people: Iterable[Newcomer]) -> Session:
        """Begin a clinic on this tablet, with no server, and open it.

        The first of ``people`` is the one who is then at work.  Raises
        PinRefusal for a PIN that is too weak, PracticeRefusal
        ``practice_clinic_only`` where practice and care would be mixed.
        """
        if is_practice(clinic) != self._for_practice:
            raise PracticeRefusal("practice_clinic_only")
        first, *others = people
        # A tablet cut off half-way through its setting up would lock everybody out.
        with self.store.together():
            unlocked = self.slots.begin(first.staff, first.pin)
            tablet = f"tablet-{secrets.token_hex(4)}"
            session = self._set_up(unlocked, SyncState(clinic), tablet)
            session.save("clinic", Subject("clinic", clinic), {"name": clinic_name})
            session.save("tablet", Subject("tablet", tablet), {
                "name": tablet, "public_key": public_text(session.device_key),
            })
            self._introduce(session, first)
            self.introduce_key(session, unlocked)
            for person in others:
                self.add_person(session, person)
        return session

    def join(
        self, enrolment: Enrolment, pages: Sequence[Pull], device_key, person: Newcomer
    ) -> Session:
        """Open this tablet for the first person of a clinic that a server knows.

        ``pages`` is everything fetched of the clinic so far.  Practice joins
        nothing: PracticeRefusal ``practice_never_joins``.
        """
        if self.is_practice or is_practice(enrolment.clinic):
            raise PracticeRefusal("practice_never_joins")
        pulled_to = pages[-1].next if pages else 0
        state = SyncState(
            enrolment.clinic, enrolment.epoch, pulled_to, access=enrolment.access()
        )
        with self.store.together():
            unlocked = self.slots.begin(person.staff, person.pin)
            session = self._set_up(unlocked, state, enrolment.tablet, device_key)
            for page in pages:
                session.entries.add_all(page.entries, page.signatures, with_sequences=page.sequences)
                session.absorb(page.entries, page.signatures)
            self.introduce_key(session, unlocked)
        return session

    def add_person(self, session: Session, person: Newcomer) -> None:
        """Give a further person a PIN and a key on this tablet.

        Raises PinRefusal, and Refusal ``staff_made_on_server`` for somebody whom
        a clinic with a server does not know: the server would refuse this
        tablet's whole chain from there on.
        """
        refuse_weak(person.pin)
        if session.has_server and not session.record.staff_body(person.staff):
            raise Refusal("staff_made_on_server")
        # Who it is comes before the PIN: cut off between the two, they choose
        # themselves and a PIN once more.
        self._introduce(session, person)
        keys = self.slots.add_person(session.unlocked, person.staff, person.pin)
        self.introduce_key(session, keys)

    def _introduce(self, session: Session, person: Newcomer) -> None:
        if not session.record.staff_body(person.staff):
            session.save("staff", Subject("staff", person.staff), {
                "name": person.name, "roles": list(person.roles),
            })

    def _introduce_forgotten(self, session: Session, keys: Unlocked) -> None:
        """Record a key whose recording was cut off after its PIN was made."""
        if public_text(keys.signing_key) not in session.record.staff_keys(keys.staff_id):
            self.introduce_key(session, keys)

    def give_new_pin(self, session: Session, staff: str, pin: str) -> None:
        """Give somebody who is locked out a new PIN; a lead clinician's to do.

        Whoever could give the technician a PIN could sign as the technician, so
        it takes a third role.  Raises PinRefusal for a weak PIN, and Refusal
        ``lead_gives_pins`` when somebody else is at work.
        """
        if "lead_clinician" not in session.roles:
            raise Refusal("lead_gives_pins")
        self.introduce_key(session, self.slots.give_new_pin(session.unlocked, staff, pin))

    def new_recovery_code(self, session: Session, staff: str) -> str:
        """Return a fresh sealed recovery code for somebody's PIN; shown once, kept nowhere.

        Raises Refusal ``not_your_recovery_code``: for oneself, or as a lead clinician.
        """
        if staff != session.staff and "lead_clinician" not in session.roles:
            raise Refusal("not_your_recovery_code")
        return self.recovery.new_code(session.unlocked, staff)

    def renew_data_key(self, session: Session, pin: str) -> bool:
        """Seal everything on this tablet under a fresh key; ``session`` ends by it.

        Only whoever is at work keeps their PIN: everybody else gets a new one
        afterwards, which a lead clinician gives.  Returns whether the file could be
        written anew (see `renewing.renew_data_key`).  Raises PinRefusal, Refusal
        ``lead_renews_data_key``, and NotSaved with nothing changed.
        """
        if "lead_clinician" not in session.roles:
            raise Refusal("lead_renews_data_key")
        return session.renew_data_key(
            lambda: renew_data_key(self.store, self.slots, {session.staff: pin})
        )

    def introduce_key(self, session: Session, keys: Unlocked) -> None:
        """Record the key that signs for somebody on this tablet; vouch for it where one may."""
        entry = session.save("staff_key", Subject("staff", keys.staff_id), {
            "tablet": session.tablet, "public_key": public_text(keys.signing_key),
        })
        waits = any(e.digest == entry.digest for e in waiting_keys(session))
        if waits and may_vouch(session, keys.staff_id):
            vouch(session, entry)

    def _set_up(self, unlocked: Unlocked, state: SyncState, tablet: str, key=None) -> Session:
        entries = EntryStore(self.store, unlocked.codec)
        entries.keep_device(tablet, key or new_key())
        entries.keep_sync_state(state)
        return self._session(unlocked)

    def _session(self, unlocked: Unlocked) -> Session:
        entries = EntryStore(self.store, unlocked.codec)
        record = RecordOnDemand(entries)
        clinic = entries.sync_clinics()[0]
        tablet = entries.device_name() or ""
        clock = HybridClock(_wall_ms)
        newest = entries.newest_clock(latest_believed(_wall_ms()))
        if newest:
            clock.see(newest)
        number, digest = entries.chain_end(clinic, tablet)
        # Its own chain goes on behind its own end, however wrong the clock was then.
        for entry in entries.chain(clinic, tablet, number or 1):
            clock.see(entry.clock)
        author = Author(record, ChainEnd(clinic, tablet, number, digest), clock)
        session = Session(unlocked, entries, record, author)
        session.recovery = self.recovery
        return session


def _wall_ms() -> int:
    return time.time_ns() // 1_000_000


def refuse_weak_pin(pin: str) -> None:
    """Raise PinRefusal for a PIN that is too short or too easily guessed."""
    refuse_weak(pin)
