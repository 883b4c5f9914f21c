"""Demo data for trying the app by hand: an invented clinic, staff and sheets."""

from __future__ import annotations

from shared_models.catalogue.sheets import DEMO_SHEETS, demo_people, demo_sheet
from shared_models.entries.envelope import Subject
from mobile.keeping.session import Session
from mobile.keeping.tablet import Newcomer, Tablet


def demo_newcomers() -> list[Newcomer]:
    """Return the invented staff with their public PINs."""
    return [
        Newcomer(p["id"], p["name"], tuple(p["roles"]), p["pin"]) for p in demo_people()["staff"]
    ]


def found_demo(tablet: Tablet) -> Session:
    """Begin the demo clinic on a fresh tablet, with no server."""
    people = demo_people()
    session = tablet.found(people["clinic"], people["clinic_name"], demo_newcomers())
    for name in DEMO_SHEETS:
        body = demo_sheet(name)
        session.save("component_sheet", Subject("component_sheet", body["sheet"]), body)
    return session
