"""A walking trial at the knee: where each adjuster stands, what to try next, why."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from shared_models.calculations.tuning import Suggestion, step_refused, turn_direction
from shared_models.catalogue.edition import Finding
from shared_models.catalogue.sheets import FUNCTIONS, Adjuster
from shared_models.checks.changed_since import BESIDES, second_change
from shared_models.checks.stopping import to_restore
from shared_models.catalogue.tuning_tables import disturbed_by
from shared_models.checks.tuning_advice import advice, bracket_of, passed_over
from shared_models.checks.tuning_course import course_of
from shared_models.drawings.adjuster import AdjusterShown
from shared_models.drawings.trial_course import CourseShown
from shared_models.drawings.trial_points import trial_points
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.wording.findings import findings_words, items_of
from shared_models.quantities.refusals import Refusal
from shared_models.wording.changes import second_change_words
from shared_models.wording.trials import big_words, outcome_words
from shared_models.wording.tuning import (
    known_words,
    passed_over_words,
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
        self._known: Suggestion | None = None

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
        return [
            Past(
                number, self.view.position_in(trial, self.function) or "", 
                tuple(findings_words(trial, self.view)),
                outcome_words(str(trial.body.get("outcome", ""))), trial,
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
        self._known = found
        return None if found.action == "walk" else found

    @property
    def known(self) -> Suggestion | None:
        """What the trials showed of the range, also once the adjuster was turned; None without any."""
        self.suggestion()
        return self._known

    @property
    def was_turned(self) -> bool:
        """Whether the adjuster stands elsewhere than in the latest trial."""
        trials = self.view.trials(self.slot)
        stood = _decimal(self.view.position_in(trials[-1], self.function)) if trials and self.function else None
        return stood is not None and self.position is not None and stood != self.position

    def suggestion_words(self) -> str:
        """Return the suggestion with its reason, as a sentence."""
        found = self.suggestion()
        if found is None or self.adjuster is None:
            return ""
        return suggestion_words(found, self.adjuster, self.position, self.offered())

    def big_words(self) -> str:
        """Return the suggested turn in the fewest words; '' where nothing is to be turned."""
        found = self.suggestion()
        return "" if found is None or self.adjuster is None else big_words(found, self.adjuster, self.position)

    def reason_said(self) -> str:
        """Return which finding led to the suggestion; '' for none."""
        found = self.suggestion()
        finding = next((f for f in self.offered() if found is not None and f.key == found.finding), None)
        return spoken("Found: {words}.", words=finding.words) if finding is not None else ""

    def reason_words(self) -> tuple[str, ...]:
        """Return what the trials showed, why this step, and what it passes over."""
        found = self.suggestion()
        if found is None or self.adjuster is None:
            return ()
        course = course_of(self.view, self.function)
        passed = passed_over_words(passed_over(self.view, self.function, course, found), self.offered())
        return tuple(filter(None, (*reason_words(found, self.adjuster, self.position), passed)))

    def known_words(self) -> str:
        """Return what the trials showed of the range, in one sentence; '' before a trial."""
        return known_words(self.known) if self.known is not None else ""

    def dial(self, restoring: bool = False) -> AdjusterShown | None:
        """Return the adjuster as its dial shows it; None for a trial without one.

        ``restoring``: it is to be put back after a stop, and nothing else is suggested.
        """
        adjuster, known, found = self.adjuster, self.known, self.suggestion()
        if adjuster is None:
            return None
        bracket = bracket_of(known) if known is not None else None
        there = found.position if found else None
        if restoring:
            there = _decimal(to_restore(self.view).get(self.function, ("", None))[1])
        return AdjusterShown(
            adjuster.name, adjuster.unit, adjuster.lowest, adjuster.highest, adjuster.smallest_step,
            adjuster.largest_step, adjuster.clockwise, self.position, there,
            bracket.low if bracket else None, bracket.high if bracket else None,
        )

    def chart(self, restoring: bool = False) -> CourseShown | None:
        """Return the trials as the chart shows them; None without an adjuster or a trial."""
        adjuster, trials = self.adjuster, self.view.trials(self.slot)
        if adjuster is None or not trials:
            return None
        found = self.suggestion()
        there = found.position if found is not None and found.action in ("turn", "restore") else None
        there = None if restoring else self.position if self.was_turned else there
        return CourseShown(
            adjuster.name, adjuster.lowest, adjuster.highest, adjuster.smallest_step,
            trial_points(self.view, self.function, trials), there,
        )

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

    def second_change(self, after: Decimal, reason: str = "trial") -> str:
        """Return why a turn would be a second change before the next walk, as a sentence; '' where it is none."""
        at_once = second_change(self.view, f"setting/{self.function}", self._turn(after, reason))
        return second_change_words(at_once, self.view)

    def _turn(self, after: Decimal, reason: str) -> dict[str, str]:
        return {"function": self.function, "position": _plain(after), "reason": reason}

    def direction(self, after: Decimal) -> str:
        """Return which way to turn to get to a position."""
        if self.adjuster is None or self.position is None:
            return ""
        return turn_direction(self.adjuster, self.position, after)

    def turned(self, after: Decimal, reason: str = "trial", override: str = "", besides: str = "") -> Entry:
        """Record that the adjuster was turned; durable when this returns.

        ``override``: why another step than advised; ``besides``: why a second change before the next walk.
        """
        body = self._turn(after, reason)
        if self.position is not None:
            body["position_before"] = _plain(self.position)
        if override:
            body["override_because"] = override
        if besides:
            body[BESIDES] = besides
        entry = self.session.save("setting", self.view.subject, body)
        self.view = self.session.fitting(self.fitting)
        self._advice = None
        return entry


@dataclass(frozen=True)
class PutBack:
    """One adjuster to put back after a stop: which way, from where, to where."""

    function: str
    name: str
    direction: str
    now: str
    wanted: str


def to_put_back(view: FittingView) -> list[PutBack]:
    """Return what is still to be put back after a stop."""
    found = []
    for function, (now, wanted) in to_restore(view).items():
        adjuster, before, after = view.adjuster(function), _decimal(now), _decimal(wanted)
        known = adjuster is not None and before is not None and after is not None
        direction = turn_direction(adjuster, before, after) if known else ""
        name = adjuster.name if adjuster is not None else view.edition.words("function", function)
        found.append(PutBack(function, name, direction, now, wanted))
    return found


def put_back(session: Session, fitting: str, function: str) -> list[Entry]:
    """Record that one adjuster was put back after a stop; [] when it stands there already."""
    view = session.fitting(fitting)
    return [
        session.save("setting", view.subject, {
            "function": function, "position": wanted, "position_before": now, "reason": "restored",
        })
        for each, (now, wanted) in to_restore(view).items() if each == function
    ]


def restore(session: Session, fitting: str, stopped: Entry, restored: bool, because: str = "") -> list[Entry]:
    """Record what was done after a stop: positions put back, then the answer."""
    view = session.fitting(fitting)
    entries: list[Entry] = []
    if restored:
        for function in to_restore(view):
            entries += put_back(session, fitting, function)
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
            figure = confirmed.get(function, spoken("not yet"))
            if function in confirmed:
                figure = spoken("{figure} of {plain}", figure=figure, plain=_plain(adjuster.highest))
            found.append((view.edition.words("function", function), figure))
    # One line says it where nothing is confirmed yet: the room is for the reading.
    return found if confirmed or not found else [(spoken("settings"), spoken("none yet"))]


def _decimal(text: object) -> Decimal | None:
    try:
        return Decimal(str(text)) if text not in (None, "") else None
    except InvalidOperation:
        return None


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
