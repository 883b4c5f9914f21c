"""Demo data for trying the app by hand: an invented clinic, staff and sheets."""

from __future__ import annotations

from pathlib import Path

from shared_models.catalogue.sheets import DEMO_SHEETS, demo_people, demo_sheet
from shared_models.entries.envelope import Subject
from shared_models.exchange.practice import new_practice_clinic
from shared_models.language import spoken
from shared_models.ledger.key_slots import Stretch
from shared_models.wording.practice import CLINIC_NAME
from mobile.keeping.session import Session
from mobile.keeping.tablet import Newcomer, Tablet


#: Who practises, and where practice is kept: a folder beside the tablet's own store.
PRACTISING = "demo-prosthetist"
PRACTICE_FOLDER = "practice"
#: PINs that are shown need no costly stretching; practice opens at once.
SHOWN_PINS = Stretch(memory_kib=1024, passes=1, lanes=1)


def demo_newcomers() -> list[Newcomer]:
    """Return the invented staff with their public PINs."""
    return [
        Newcomer(p["id"], p["name"], tuple(p["roles"]), p["pin"]) for p in demo_people()["staff"]
    ]


def found_demo(tablet: Tablet) -> Session:
    """Begin the demo clinic on a fresh tablet, with no server."""
    people = demo_people()
    return _found(tablet, people["clinic"], people["clinic_name"])


def open_practice(folder: Path, stretch: Stretch = SHOWN_PINS) -> Tablet:
    """Return the practice tablet in a folder of its own; a fresh one gets the invented clinic.

    Raises PracticeRefusal ``practice_holds_real_record``, and leaves such a folder as it was.
    """
    tablet = Tablet(folder, stretch, practice=True)
    if not tablet.people():
        _found(tablet, new_practice_clinic(), spoken(CLINIC_NAME))
    return tablet


def practise(tablet: Tablet, staff: str = PRACTISING) -> Session:
    """Open a practice tablet for one of its invented people, with their shown PIN."""
    session = tablet.unlock(staff, shown_pin(staff))
    _keep_sheets(session)
    return session


def shown_pin(staff: str) -> str:
    """Return the public PIN of one of the invented staff, '' for anybody else."""
    return next((n.pin for n in demo_newcomers() if n.staff == staff), "")


def _found(tablet: Tablet, clinic: str, name: str) -> Session:
    session = tablet.found(clinic, name, demo_newcomers())
    _keep_sheets(session)
    return session


def _keep_sheets(session: Session) -> None:
    """Record the invented sheets that are not there: all of them on a fresh tablet."""
    for name in DEMO_SHEETS:
        body = demo_sheet(name)
        subject = Subject("component_sheet", body["sheet"])
        if session.record.head(subject, "component_sheet") is None:
            session.save("component_sheet", subject, body)
