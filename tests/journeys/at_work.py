"""What people do in the journeys, by the flows that the screens use."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx

from shared_models.catalogue.sheets import demo_people
from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import new_key, public_text
from shared_models.exchange.chains import verify_chain
from shared_models.quantities.moments import now_here
from mobile.demo import demo_newcomers, found_demo
from mobile.flows.forms import SlotForm
from mobile.flows.people import NewFitting
from mobile.keeping.courier import Courier
from mobile.keeping.session import Session
from mobile.keeping.tablet import Tablet
from mobile.rehearsal import person
from tests.shared_models.making import CHEAP, rows_of

PROSTHETIST, TECHNICIAN = "demo-prosthetist", "demo-technician"
PINS = {p["id"]: p["pin"] for p in demo_people()["staff"]}


def alone(folder: Path) -> tuple[Tablet, Session]:
    """Return a tablet with the demo clinic and no server, and its prosthetist at work."""
    tablet = Tablet(folder, CHEAP)
    found_demo(tablet)
    return tablet, tablet.unlock(PROSTHETIST, PINS[PROSTHETIST])


def joined(folder: Path, address: str, code: str, name: str) -> tuple[Tablet, Session]:
    """Return a tablet that joined a server's clinic, with prosthetist and technician."""
    newcomers = {n.staff: n for n in demo_newcomers()}
    courier, key = Courier(), new_key()
    enrolment = courier.enrol(address, code, name, public_text(key))
    tablet = Tablet(folder, CHEAP)
    session = tablet.join(enrolment, courier.fetch_all(enrolment), key, newcomers[PROSTHETIST])
    tablet.add_person(session, newcomers[TECHNICIAN])
    return tablet, session


def open_fitting(session: Session, file_number: str) -> str:
    """Open a fitting for a fresh invented person; return its id."""
    form = NewFitting(session)
    for key, value in {**person.NEW_FITTING, "file_number": file_number}.items():
        form.edit(key, value)
    return form.save()


def record(session: Session, fitting: str, slot: str, **typed: Any) -> Entry:
    """Fill in the form of a slot and save it; what is not given is as in the rehearsal."""
    form = SlotForm(session, fitting, slot)
    answers = person.answers(slot, form.view, now_here().date())
    for key, value in {**answers, **typed}.items():
        form.edit(key, value)
    return form.save()


def correct(session: Session, fitting: str, slot: str, **typed: Any) -> Entry:
    """Correct what holds a slot."""
    form = SlotForm(session, fitting, slot, wrong=session.fitting(fitting).head(slot))
    for key, value in typed.items():
        form.edit(key, value)
    return form.save("mistyped")


def to_the_bench(session: Session, fitting: str) -> None:
    """Record everything up to where the knee's adjusters stand at the start."""
    for slot in ("body", "activity", "limb", "footwear", "consent"):
        record(session, fitting, slot)
    for place in ("socket", "upper_adapter", "knee", "tube", "foot"):
        record(session, fitting, f"component/{place}")
    record(session, fitting, "candidacy")
    for function in ("stance_threshold", "swing_flexion", "swing_extension", "stance_damping"):
        record(session, fitting, f"setting/{function}")


def sync(session: Session, courier: Courier | None = None):
    """Send and fetch, on this thread."""
    return (courier or Courier()).sync(
        session, lambda _words, _share: None, session.absorb, lambda: False
    )


def send_by(session: Session, address: str) -> None:
    """Reach the server at another address from now on."""
    state = session.entries.sync_state(session.clinic)
    session.entries.keep_sync_state(replace(state, access={**state.access, "address": address}))


def address_of(session: Session) -> str:
    """Return where this tablet reaches its server."""
    return session.entries.sync_state(session.clinic).access["address"]


def ask_server(session: Session, path: str, **params: Any) -> httpx.Response:
    """Ask the server of a tablet, with the tablet's token."""
    access = session.entries.sync_state(session.clinic).access
    return httpx.get(
        f"{access['address']}/exchange/{session.clinic}/{path}", params=params, timeout=20,
        headers={"Authorization": f"Bearer {access['token']}"},
    )


def server_digest(session: Session, fitting: str) -> str:
    """Return the digest of the server's own verdict on a fitting."""
    answer = ask_server(session, f"verdicts/{fitting}", day=session.verdict(fitting).day)
    assert answer.status_code == 200, answer.text
    return answer.json()["digest"]


def on_the_server(session: Session) -> list[str]:
    """Return the digests of this tablet's entries on the server, as often as they are there."""
    from shared_models.exchange import pull as pulls

    found, after, more = [], 0, True
    while more:
        page = pulls.decode(ask_server(session, "entries", after=after, limit=500).content)
        found += [e.digest for e in page.entries if e.tablet == session.tablet]
        after, more = page.next, page.more
    return found


def own(session: Session) -> list[str]:
    """Return the digests of this tablet's own chain, in order."""
    return [e.digest for e in session.entries.chain(session.clinic, session.tablet)]


def must_be_sound(session: Session) -> None:
    """Every chain of the store verifies, and the chain's end is the author's."""
    for name in {e.tablet for e in session.record.entries.values()}:
        assert verify_chain(rows_of(session.entries.chain(session.clinic, name))) is None
    end = session.author.end
    assert session.entries.chain_end(session.clinic, session.tablet) == (end.number, end.digest)
