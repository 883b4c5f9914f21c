"""A desk whose entries land in a tablet's own store, for pages that need a fitting far on."""

from __future__ import annotations

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import Signature
from mobile.keeping.session import Session
from mobile.keeping.tablet import Tablet
from tests.fitting_desk import Desk
from tests.journeys.at_work import PINS, PROSTHETIST, TECHNICIAN


class TabletDesk(Desk):
    """Records by the tablet's own author and store, signed with its people's keys."""

    def __init__(self, tablet: Tablet, session: Session) -> None:
        self.record, self.author = session.record, session.author
        self.session = session
        self.fitting = Subject("fitting", "fitting-1")
        self.person = Subject("person", "person-1")
        technician = tablet.slots.unlock(TECHNICIAN, PINS[TECHNICIAN])
        self.keys = {
            PROSTHETIST: session.unlocked.signing_key, TECHNICIAN: technician.signing_key,
        }

    def keep(self, entry: Entry) -> Entry:
        self.session.entries.append(entry)
        return super().keep(entry)

    def sign(self, entry: Entry, by: str, meaning: str) -> Signature:
        signature = super().sign(entry, by, meaning)
        self.session.entries.add_all([], [signature])
        return signature
