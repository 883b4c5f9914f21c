"""The stores that the states are shown on: each made once, and copied for every state."""

from __future__ import annotations

import copy
import shutil
from dataclasses import asdict
from pathlib import Path
from typing import Any, Callable

from shared_models.catalogue.sheets import demo_sheet
from shared_models.entries.clock import HybridClock
from shared_models.entries.composing import Author, ChainEnd
from shared_models.entries.envelope import Subject
from shared_models.entries.record import Record
from shared_models.quantities.moments import now_here
from shared_models.ledger.key_slots import Stretch
from mobile.demo import found_demo, shown_pin
from mobile.gallery.recording import PROSTHETIST, TECHNICIAN, Recording
from mobile.keeping.session import Session
from mobile.keeping.tablet import Tablet

FRESH, CLINIC, EARLY, WALKS, CLOSING, FULL, CROWD = "fresh", "clinic", "early", "walks", "closing", "full", "crowd"
#: Nobody's secret: the PINs of the invented staff are public.
QUICK = Stretch(memory_kib=64, passes=1, lanes=1)
MANY_FITTINGS, MANY_SCREWS, MANY_TRIALS = 2000, 20, 30
#: Invented; as long as the longest name a form takes.
LONG_NAME = ("Maximiliane-Theodora von und zu Beispielhausen-Musterlingen " * 4)[:200].strip()
ARABIC_NAME = {"family_name": "المثال", "given_name": "نور", "file_number": "D-7001"}
THAI_NAME = {"family_name": "ตัวอย่าง", "given_name": "ดอกไม้", "file_number": "D-7002"}
#: As much as somebody types who types much.
LONG_WORDS = (
    "The heel of the prosthesis rises higher than that of the sound side on every third or fourth step, "
    "most of all when she turns her head to talk, and it is worse downhill than on the level; the sound side "
    "comes down hard, she looks at the floor and holds the bar with her left hand, though she says she need not."
)


class Families:
    """Makes each family of stores once in a folder, and opens copies of it."""

    def __init__(self, folder: Path) -> None:
        self.folder, self._copies = folder, 0

    def opened(self, name: str) -> Tablet:
        """Return the tablet of a fresh copy of a family, locked."""
        template = self.folder / f"of-{name}"
        if not template.is_dir():
            tablet = Tablet(template, QUICK)
            if name != FRESH:
                session = found_demo(tablet)
                # One commit to the disk instead of hundreds.
                with tablet.store.together():
                    _MAKERS[name](tablet, session)
                # As the list of fittings leaves it: worked out once, not at every opening.
                session.summaries()
                session.work_out_summaries(20)
            tablet.close()
        self._copies += 1
        own = self.folder / f"copy-{self._copies}"
        shutil.copytree(template, own)
        return Tablet(own, QUICK)

    def put_away(self, tablet: Tablet) -> None:
        """Close a copy and take it away."""
        tablet.close()
        shutil.rmtree(tablet.path.parent, ignore_errors=True)


def _early(tablet: Tablet, session: Session) -> None:
    """Nobody has walked yet: just opened; asked and built; disputed between two tablets."""
    Recording(session, "new", {"family_name": "Example-Lark", "file_number": "D-2042"})
    Recording(session, "told", {"family_name": "Example-Finch", "file_number": "D-2043"}).told()
    Recording(session, "built", {"family_name": "Example-Wren", "file_number": "D-2044"}).told().built()
    Recording(session, "benched", {"family_name": "Example-Tern", "file_number": "D-2045"}).told().built().benched()
    apart = Recording(session, "apart", {"family_name": "Example-Rook", "file_number": "D-2046"}).told()
    _changed_apart(session, apart, "body", body_mass_kg="84.0")


def _changed_apart(session: Session, recording: Recording, slot: str, **changed: Any) -> None:
    """Two tablets record the same thing without knowing of each other."""
    other = Record()
    before = recording.view.entries()
    known = [e for e in before if e.digest != recording.view.head(slot).digest]
    other.add([*known, *(e for e in session.record.entries.values() if e.subject.type in ("clinic", "staff"))])
    clock = HybridClock(lambda: int(now_here().timestamp() * 1000))
    author = Author(other, ChainEnd(session.clinic, "tablet-apart"), clock)
    head = recording.view.head(slot)
    entry = author.record_fact(head.kind, head.subject, {**head.body, **changed}, "demo-lead")
    session.entries.add_all([entry])
    session.absorb([entry], [])


def _walks(tablet: Tablet, session: Session) -> None:
    """From the first walk to all trials confirmed."""
    Recording(session, "first", {"family_name": "Example-Lark", "file_number": "D-2042"}).told().built().benched().stood()
    turning = Recording(session, "turning", {"family_name": "Example-Finch", "file_number": "D-2043"}).told().built().benched().stood()
    turning.walk("stance_threshold")
    turning.walk("swing_flexion", "change", findings=[{"finding": "heel_rise_too_high", "grade": "marked", "perceived": "seen"}])
    timed = Recording(session, "walking", {"family_name": "Example-Wren", "file_number": "D-2044"}).told().built().benched().stood()
    timed.walk("stance_threshold")
    stopped = Recording(session, "stopped", {"family_name": "Example-Tern", "file_number": "D-2045"}).told().built().benched().stood()
    stopped.walk("stance_threshold")
    stopped.turn("swing_flexion", str(stopped.view.adjuster("swing_flexion").start + 2))
    stopped.walk("swing_flexion", "stopped", stop_reason="pain")
    for name, number in (("fell", "D-2048"), ("fell_before", "D-2049")):
        fell = Recording(session, name, {"family_name": "Example-Wren", "file_number": number}).told().built().benched().stood()
        fell.walk("stance_threshold")
        fell.turn("swing_flexion", str(fell.view.adjuster("swing_flexion").start + 2))
        stop = fell.walk("swing_flexion", "stopped", stop_reason="fall", stop_words="the toe caught on the mat")
        if name == "fell_before":
            fell.turn("swing_flexion", str(fell.view.adjuster("swing_flexion").start), "restored")
            fell.note("stop_answered", {"stopped": stop.digest, "restored": True})
    both = Recording(session, "both_turned", {"family_name": "Example-Lark", "file_number": "D-2047"}).told().built().benched().stood()
    both.walk("stance_threshold")
    both.walk("swing_flexion", "change", findings=[{"finding": "heel_rise_too_high", "grade": "marked", "perceived": "seen"}])
    both.turn("swing_extension", str(both.view.adjuster("swing_extension").start + 1))
    Recording(session, "tuned", {"family_name": "Example-Rook", "file_number": "D-2046"}).told().built().benched().stood().tuned()


def _closing(tablet: Tablet, session: Session) -> None:
    """Screws, caps, the sign-off, the handover, the review."""
    technician = tablet.unlock_beside(session, TECHNICIAN, shown_pin(TECHNICIAN))

    def tuned(fitting: str, name: str, file_number: str) -> Recording:
        return Recording(session, fitting, {"family_name": name, "file_number": file_number}).told().built().benched().stood().tuned()

    tuned("tightening", "Example-Finch", "D-2043").tightened(2)
    tuned("to_sign", "Example-Wren", "D-2044").tightened().capped()
    tuned("to_cap", "Example-Lark", "D-2045").tightened()
    tuned("complete", "Example-Rook", "D-2046").tightened().capped().signed(technician).handed_over()


def _full(tablet: Tablet, session: Session) -> None:
    """Everything there is much of: screws, trials, words, names of other scripts."""
    sheet = many_screws()
    session.save("component_sheet", Subject("component_sheet", sheet["sheet"]), sheet)
    longest = {"family_name": LONG_NAME, "given_name": LONG_NAME[:120], "file_number": "D-" + "7" * 30}
    full = Recording(session, "full", longest, helper="Bartholomew Example-Featherstone")
    full.told(goals=LONG_WORDS).built().benched().stood()
    full.walk("stance_threshold", own_words=LONG_WORDS)
    for number in range(MANY_TRIALS):
        found = [{"finding": key, "grade": "marked", "perceived": "seen"} for key in _seen(full)]
        full.walk("swing_flexion", "change", findings=found, own_words=LONG_WORDS if number % 3 == 0 else "")
        here = full.view.adjuster("swing_flexion").start + 1 + number % 2
        full.turn("swing_flexion", str(here))
    Recording(session, "arabic", ARABIC_NAME).told().built()
    Recording(session, "thai", THAI_NAME).told().built()
    done = Recording(session, "signing", longest, helper="Bartholomew Example-Featherstone")
    done.told(goals=LONG_WORDS).built().benched().stood().tuned().tightened()


def _seen(recording: Recording) -> list[str]:
    return [f.key for f in recording.view.edition.findings_of("swing_flexion") if f.trial == "swing_flexion"][:4]


def many_screws() -> dict[str, Any]:
    """Return the invented knee once more, in a version with twenty screws of long names."""
    body = copy.deepcopy(demo_sheet("knee_alder"))
    body["version"] = "9.9"
    own = body["screws"][0]
    body["screws"] = body["screws"] + [
        {**{k: v for k, v in own.items() if k not in ("opposes", "order")}, "key": f"extra_{n}", "name": f"Screw {n} of the lower half of the knee's frame, at the side towards the body"}
        for n in range(len(body["screws"]) + 1, MANY_SCREWS + 1)
    ]
    return body


def _crowd(tablet: Tablet, session: Session) -> None:
    """As many fittings as a clinic has after years, put in as a sync puts them in."""
    record, entries = Record(), []
    record.add(session.record.entries.values())
    author = Author(record, ChainEnd(session.clinic, "tablet-before"), HybridClock(lambda: int(now_here().timestamp() * 1000)))
    for number in range(MANY_FITTINGS):
        name = (LONG_NAME, ARABIC_NAME["family_name"], THAI_NAME["family_name"])[number] if number < 3 else f"Example-{number}"
        who = Subject("person", f"p-{number}")
        for kind, subject, body in (
            ("identity", who, {"family_name": name, "given_name": "Ash", "born_on": "1988-04-02", "file_number": f"D-{number}"}),
            ("opened", Subject("fitting", f"f-{number}"), {
                "person": who.id, "prosthetist": PROSTHETIST, "side": "left", "amputation_level": "transfemoral", "socket_stage": "definitive",
            }),
        ):
            entry = author.record_fact(kind, subject, body, PROSTHETIST)
            author.accepted(entry)
            record.add([entry])
            entries.append(entry)
    session.entries.add_all(entries)
    # All were just opened, so the list says the same of each but for who it is.
    says = asdict(session.summary_of("f-0"))
    identities = {e.subject.id.removeprefix("p-"): e.body for e in entries if e.kind == "identity"}
    for row in session.entries.summary_rows():
        number = row.fitting.removeprefix("f-")
        person = f"p-{number}"
        own = {key: identities[number][key] for key in identities[number] if key in says}
        session.entries.keep_summary(row, person, {**says, **own, "fitting": row.fitting, "person": person})


_MAKERS: dict[str, Callable[[Tablet, Session], None]] = {
    CLINIC: lambda _tablet, _session: None, EARLY: _early, WALKS: _walks, CLOSING: _closing, FULL: _full, CROWD: _crowd,
}
