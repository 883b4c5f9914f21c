"""Timing a walk: taps (or a file of contacts) as a draft, then an entry beside its trial.

A walk is timed before its trial is recorded, so the timing waits as a durable
draft and is saved together with the trial; a walk whose trial is recorded
already can be timed from a file afterwards.
"""

from __future__ import annotations

import hashlib
import time
import uuid
from pathlib import Path
from typing import Any

import uuid6

from shared_models.calculations.timing.contacts import Contact
from shared_models.calculations.timing.contacts_file import LARGEST_BYTES, ContactsFile, read_contacts
from shared_models.calculations.timing.figures import INITIAL_CONTACT, THUMB_TAPS
from shared_models.checks.contacts_text import contacts_from, contacts_text, landings_in
from shared_models.checks.as_typed import AS_TYPED
from shared_models.checks.entering import Reading, read_field
from shared_models.checks.walk_timing import (
    DOWN, LEVEL, SLOPING, TimingFigures, figures_of, prosthesis_side_of,
)
from shared_models.entries.envelope import Entry
from shared_models.language import spoken
from shared_models.quantities.moments import now_here
from shared_models.quantities.refusals import Refusal
from shared_models.wording.trials import TAPS_RESTARTED
from mobile.keeping.session import Session

KIND = "walk_timing"
FROM_FILE = "recorded in a file by another instrument"
#: Names this run of the app: a steady time of another run is not compared with this one's.
RUN = uuid.uuid4().hex
#: Decimal places kept of a tap: no thumb and no screen resolves more.
_TAP_PLACES = 3
#: Taps this close may reach the program in the wrong order.
_TOGETHER_S = 0.05
#: Fields of the timing that a person fills in.
ASKED = ("distance_m", "instrument", "event", "contact_sd_s", "way")


class WalkTiming:
    """The timing under way for one trial slot; each change is a durable draft at once."""

    def __init__(self, session: Session, fitting: str, slot: str) -> None:
        self.session, self.fitting, self.slot = session, fitting, slot
        self.view = session.fitting(fitting)
        self.kind = self.view.edition.kinds[KIND]
        self.kind_of_trial = self.view.edition.kind_of_slot(slot)
        self.side = prosthesis_side_of(self.view)
        self.place = f"fitting/{fitting}/{slot}/timing"
        kept = session.draft(self.place)
        self.contacts: list[Contact] = list(contacts_from(kept.get("contacts")))
        self.landings: set[int] = set(landings_in(kept.get("contacts")))
        self.typed: dict[str, Any] = {k: v for k, v in kept.items() if k != "contacts"} or self._fresh()
        self._zero: float | None = None

    def _fresh(self) -> dict[str, Any]:
        return {
            "way": DOWN if self.slot in SLOPING else LEVEL, "distance_m": "",
            "instrument": THUMB_TAPS.instrument, "event": THUMB_TAPS.event,
            "after_trials": str(len(self.view.trials(self.slot))), "walked_with": self._position(),
        }

    # Whose it is ------------------------------------------------------------------

    @property
    def is_empty(self) -> bool:
        """Whether nothing was tapped or read yet."""
        return not self.contacts

    @property
    def trial(self) -> Entry | None:
        """The recorded trial that this timing belongs to; None while it is still to be recorded."""
        trials = self.view.trials(self.slot)
        if self.typed.get("trial"):
            return next((t for t in trials if t.digest == self.typed["trial"]), None)
        number = int(self.typed["after_trials"])
        return trials[number] if number < len(trials) else None

    @property
    def walked_otherwise(self) -> str:
        """Where the trial's adjuster stood in that trial, or stands now; "" when as it was timed."""
        if self.is_empty or not self.kind_of_trial.function:
            return ""
        trial = self.trial
        stood = self._position() if trial is None else self.view.position_in(trial, self.kind_of_trial.function) or ""
        return "" if stood == self.typed["walked_with"] else stood or spoken("not recorded")

    def take_for_next(self) -> None:
        """Say that this is the walk at the setting of now."""
        self.typed["walked_with"] = self._position()
        self._keep()

    def _position(self) -> str:
        return self.view.settings().get(self.kind_of_trial.function, "")

    # Taps ---------------------------------------------------------------------------

    def tap(self, side: str, moment_s: float) -> None:
        """Take a tap; ``moment_s`` is the tablet's own steady clock when the finger came down.

        Raises Refusal ``tap_before_last`` when it lies before the tap before it.
        """
        if self._zero is None:
            self._zero = self._zero_of(moment_s)
        at_s = round(moment_s - self._zero, _TAP_PLACES)
        last_s = (self.contacts[-1].time_s if self.contacts else 0.0) or 0.0
        if last_s - _TOGETHER_S < at_s < last_s:
            at_s = last_s  # two thumbs at once are told one after the other, in either order
        if at_s < last_s:
            raise Refusal("tap_before_last", time_s=at_s, last_s=last_s)
        if not self.contacts:
            self.typed.update(begun=f"{time.time():.3f}", run=RUN, zero=f"{self._zero:.4f}")
        self.contacts.append(Contact(side, at_s))
        self._keep()

    def _zero_of(self, moment_s: float) -> float:
        """Return the steady moment of the first tap, so that taps go on where they were left.

        After the app was started again the steady clock may have begun anew: the
        wall clock bridges the gap then, and the timing says so.
        """
        if not self.contacts:
            return moment_s
        if self.typed.get("run") == RUN:
            return float(self.typed["zero"])
        self.typed["note"] = TAPS_RESTARTED
        return moment_s - max(0.0, time.time() - float(self.typed.get("begun", time.time())))

    def undo(self) -> None:
        """Take the last tap back."""
        if self.contacts:
            self.contacts.pop()
            self.landings.discard(len(self.contacts))
            self._keep()

    def start_over(self) -> None:
        """Forget all taps; the distance stays."""
        distance = self.typed.get("distance_m", "")
        self.contacts, self.landings, self._zero = [], set(), None
        self.typed = {**self._fresh(), "distance_m": distance}
        self._keep()

    def mark_landing(self) -> bool:
        """Say that the last contact stood on a landing, or take that back; return which."""
        last = len(self.contacts) - 1
        if last >= 0:
            self.landings ^= {last}
            self._keep()
        return last in self.landings

    def doubled(self) -> tuple[int, ...]:
        """Return which contacts are perhaps one tap made twice, counted from 0."""
        try:
            return tuple(d.last for d in self.figures().doubts if d.code == "doubled")
        except Refusal:
            return ()

    def take_doubled_away(self) -> None:
        """Take the second of each doubled tap away; what was taken away is recorded."""
        gone = set(self.doubled())
        taken = [*contacts_from(self.typed.get("taken_away")), *(self.contacts[at] for at in sorted(gone))]
        stay = [at for at in range(len(self.contacts)) if at not in gone]
        self.landings = {new for new, old in enumerate(stay) if old in self.landings}
        self.contacts = [self.contacts[at] for at in stay]
        self.typed["taken_away"] = contacts_text(taken)
        self._keep()

    def edit(self, key: str, value: Any) -> Reading:
        """Take an edit of a field of the timing; a durable draft when this returns."""
        self.typed[key] = value
        self._keep()
        return self.judge(key)

    def judge(self, key: str) -> Reading:
        """Judge one field as it is typed now."""
        return read_field(
            self.kind.field(key), self.typed.get(key), self.view.edition.choices, now_here().date()
        )

    # A file -------------------------------------------------------------------------

    def take_file(self, path: Path, trial: Entry | None) -> ContactsFile:
        """Read a file of contacts for a recorded trial, or for the one to come (None).

        Raises Refusal as `read_contacts`, and contacts_file_unreadable.
        """
        data = read_bytes(path)
        found = read_contacts(data)
        self.contacts, self.landings, self._zero = list(found.contacts), set(), None
        self.typed = {
            **self._fresh(), "instrument": FROM_FILE, "event": INITIAL_CONTACT,
            "final_contacts": contacts_text(found.finals), "file_name": path.name,
            "file_sha256": hashlib.sha256(data).hexdigest(), "trial": trial.digest if trial else "",
        }
        self._keep()
        return found

    # Figures and saving ---------------------------------------------------------------

    def figures(self) -> TimingFigures:
        """Return the figures of what is tapped or read so far; raises Refusal as `figures_of`."""
        return figures_of(self._body(), self.side)

    def refused(self) -> dict[str, Reading]:
        """Return what is typed and can't be taken, by field."""
        found = {key: self.judge(key) for key in ASKED}
        return {key: reading for key, reading in found.items() if reading.refusal}

    def can_be_saved(self) -> bool:
        """Whether there are figures, and nothing typed is refused."""
        try:
            self.figures()
        except Refusal:
            return False
        return not self.refused()

    def save(self, trial: Entry) -> Entry:
        """Record the timing of a trial; durable when this returns.

        Raises Refusal as `figures_of` for what has no figures.
        """
        self.figures()
        body = {"timing": str(uuid6.uuid7()), "trial": trial.digest, **self._body()}
        return self.session.save(KIND, self.view.subject, body, draft=self.place)

    def set_aside(self) -> None:
        """Throw away what is tapped or read; nothing saved is touched."""
        self.session.drop_draft(self.place)
        self.contacts, self.landings, self._zero, self.typed = [], set(), None, self._fresh()

    def _body(self) -> dict[str, Any]:
        stated = {
            key: str(self.typed[key]).strip() for key in
            ("way", "instrument", "event", "final_contacts", "taken_away", "file_name", "file_sha256", "note")
            if str(self.typed.get(key, "")).strip()
        }
        as_typed: dict[str, str] = {}
        for key in ("distance_m", "contact_sd_s"):
            reading = self.judge(key)
            if reading.value is not None and not reading.refusal:
                stated[key] = reading.value
                if reading.as_typed:
                    as_typed[key] = reading.as_typed
        if as_typed:
            stated[AS_TYPED] = as_typed
        return {**stated, "contacts": contacts_text(self.contacts, self.landings)}

    def _keep(self) -> None:
        self.session.keep_draft(
            self.place, {**self.typed, "contacts": contacts_text(self.contacts, self.landings)}
        )


def read_bytes(path: Path) -> bytes:
    """Return a file's bytes, no more than a file of contacts may have.

    Raises Refusal contacts_file_unreadable.
    """
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise Refusal("contacts_file_unreadable", file=path.name, reason=error.strerror or "not there") from error


def files_in(folder: Path) -> list[Path]:
    """Return the CSV files of a folder, the newest first; [] where there is none."""
    try:
        found = [p for p in folder.iterdir() if p.suffix.lower() == ".csv" and p.is_file()]
        return sorted(found, key=lambda p: (-p.stat().st_mtime, p.name))
    except OSError:
        return []
