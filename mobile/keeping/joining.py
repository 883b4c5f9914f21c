"""A clinic that began on this tablet alone joins a server, and stays what it was.

The tablet keeps its identity, its key and its chain; the server is told how far
the chain went when they met, and takes what founded the clinic up to there.
"""

from __future__ import annotations

from shared_models.entries.signatures import public_text
from shared_models.exchange.practice import PracticeRefusal
from shared_models.ledger.sync_states import SyncState
from shared_models.quantities.refusals import Refusal
from mobile.keeping.courier import Courier
from mobile.keeping.session import Session


class JoiningRefusal(Refusal):
    """The clinic can't join: ``joined_already``, ``code_of_other_clinic``."""


def join_later(session: Session, courier: Courier, address: str, code: str) -> None:
    """Spend a founding tablet's code; everything recorded here waits to be sent after.

    Raises SyncRefusal, JoiningRefusal, PracticeRefusal ``practice_never_joins``.
    """
    if session.is_practice:
        raise PracticeRefusal("practice_never_joins")
    if session.has_server:
        raise JoiningRefusal("joined_already")
    end = session.author.end
    enrolment = courier.enrol(
        address, code, session.tablet, public_text(session.device_key),
        founded={"clinic": session.clinic, "number": end.number, "digest": end.digest},
    )
    if enrolment.clinic != session.clinic:
        raise JoiningRefusal("code_of_other_clinic")
    session.entries.keep_sync_state(SyncState(
        session.clinic, enrolment.epoch, access=enrolment.access()
    ))
