"""A walking trial at the knee: where each adjuster stands, what to try next, why."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from shared_models.calculations.tuning import Suggestion, step_refused, turn_direction
from shared_models.catalogue.edition import Finding
from shared_models.catalogue.sheets import FUNCTIONS, Adjuster
from shared_models.checks.stopping import to_restore
from shared_models.catalogue.tuning_tables import disturbed_by
from shared_models.checks.tuning_advice import advice
from shared_models.checks.tuning_course import course_of
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.wording.findings import findings_words, items_of
from shared_models.quantities.refusals import Refusal
from shared_models.wording.tuning import (
    RangeShown,
    range_shown,
    reason_words,
    recheck_words,
    suggestion_words,
)
from mobile.keeping.session import Session

#: Trouble with a step, beside those of `step_refused`; worded in `wording.tuning.step_words`.
DAMPING_MISSING = "missing"


@dataclass(frozen=True)
class Past:
    """One trial of the course: its number, position, what was found, outcome."""

    number: int
    position: str
    found: tuple[str, ...]
    outcome: str
    entry: Entry


class Tuning:
    """The tuning of one function by trials of one kind."""

    def __init__(self, session: Session, fitting: str, slot: str) -> None:
        self.session = session
        self.fitting = fitting
        self.slot = slot
        self.view: FittingView = session.fitting(fitting)
        self.kind = self.view.edition.kind_of_slot(slot)
        self.function = self.kind.function
        self._advice: tuple[Suggestion | None] | None = None

    @property
    def adjuster(self) -> Adjuster | None:
        """The adjuster turned between trials; None for the final walk."""
        return self.view.adjuster(self.function) if self.function else None

    @property
    def position(self) -> Decimal | None:
        """Where the adjuster stands as recorded."""
        return _decimal(self.view.value(f"setting/{self.function}", "position"))

    def offered(self) -> tuple[Finding, ...]:
        """Return the findings that these trials offer."""
        return self.view.edition.findings_of(self.function)

    def course(self) -> list[Past]:
        """Return the trials so far, oldest first."""
        words = self.view.edition.words
        return [
            Past(
                number, self.view.position_in(trial, self.function) or "", 
                tuple(findings_words(trial, self.view)),
                words("outcome", str(trial.body.get("outcome", ""))), trial,
            )
            for number, trial in enumerate(self.view.trials(self.slot), 1)
        ]

    def suggestion(self) -> Suggestion | None:
        """Return the next step after the latest trial; None without one to go by.

        Also None once the adjuster was turned after that trial, and where the
        recorded position does not exist on it.
        """
        if self._advice is None:
            self._advice = (self._suggest(),)
        return self._advice[0]

    def _suggest(self) -> Suggestion | None:
        trials, adjuster, position = self.view.trials(self.slot), self.adjuster, self.position
        if not trials or adjuster is None or position is None:
            return None
        try:
            found = advice(
                self.view, self.function, position, course_of(self.view, self.function), items_of(trials[-1]),
            )
        except Refusal:
            return None
        return None if found.action == "walk" else found

    def suggestion_words(self) -> str:
        """Return the suggestion with its reason, as a sentence."""
        found = self.suggestion()
        if found is None or self.adjuster is None:
            return ""
        return suggestion_words(found, self.adjuster, self.position, self.offered())

    def reason_words(self) -> tuple[str, ...]:
        """Return two sentences: what the trials showed, and why this step."""
        found = self.suggestion()
        if found is None or self.adjuster is None:
            return ()
        return reason_words(found, self.adjuster, self.position)

    def range_shown(self) -> RangeShown | None:
        """Return what is known of the range, to be drawn as a bar; None before a trial."""
        found = self.suggestion()
        if found is None or self.adjuster is None or self.position is None:
            return None
        return range_shown(found, self.adjuster, self.position)

    def recheck_words(self) -> str:
        """Return what is walked again because this adjuster was turned; '' for nothing."""
        disturbed = [
            self.view.edition.words("function", function) for function in disturbed_by(self.function)
            if function in self.view.last_confirmed()
        ]
        return recheck_words(disturbed)

    def step_trouble(self, after: Decimal) -> str:
        """Return why a step should not be taken so: outside, too_large, missing or ''.

        ``missing``: at that threshold or below it stance damping was missing.
        """
        if self.adjuster is None:
            return ""
        found = self.suggestion()
        if found is not None and found.missing_from is not None and after >= found.missing_from:
            return DAMPING_MISSING
        return step_refused(self.adjuster, self.position, after)

    def direction(self, after: Decimal) -> str:
        """Return which way to turn to get to a position."""
        if self.adjuster is None or self.position is None:
            return ""
        return turn_direction(self.adjuster, self.position, after)

    def turned(self, after: Decimal, reason: str = "trial", override: str = "") -> Entry:
        """Record that the adjuster was turned; durable when this returns."""
        body = {
            "function": self.function, "position": _plain(after), "reason": reason,
        }
        if self.position is not None:
            body["position_before"] = _plain(self.position)
        if override:
            body["override_because"] = override
        entry = self.session.save("setting", self.view.subject, body)
        self.view = self.session.fitting(self.fitting)
        self._advice = None
        return entry


def restore(session: Session, fitting: str, stopped: Entry, restored: bool, because: str = "") -> list[Entry]:
    """Record what was done after a stop: positions put back, then the answer."""
    view = session.fitting(fitting)
    entries = []
    if restored:
        for function, (now, wanted) in to_restore(view).items():
            entries.append(session.save("setting", view.subject, {
                "function": function, "position": wanted, "position_before": now,
                "reason": "restored",
            }))
    body = {"stopped": stopped.digest, "restored": restored}
    if because:
        body["because"] = because
    entries.append(session.save("stop_answered", view.subject, body))
    return entries


def settings_strip(view: FittingView) -> list[tuple[str, str]]:
    """Return (name, figure) of the last confirmed settings, for the strip."""
    confirmed, found = view.last_confirmed(), []
    for function in FUNCTIONS:
        adjuster = view.adjuster(function)
        if adjuster:
            figure = confirmed.get(function, "not yet")
            if function in confirmed:
                figure = f"{figure} of {_plain(adjuster.highest)}"
            found.append((view.edition.words("function", function), figure))
    # One line says it where nothing is confirmed yet: the room is for the reading.
    return found if confirmed or not found else [("settings", "none yet")]


def _decimal(text: object) -> Decimal | None:
    try:
        return Decimal(str(text)) if text not in (None, "") else None
    except InvalidOperation:
        return None


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
