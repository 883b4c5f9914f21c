"""A stopwatch over a marked distance: its start is durable, so a running watch outlives the app.

Intervals are taken on the tablet's steady clock.  That clock may begin anew when
the tablet does, so a watch found running after the app was started again is read
from the wall clock instead, and says so.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from decimal import Decimal
from typing import Callable

from shared_models.checks.entering import Reading
from shared_models.checks.walk_timing import walked_speed
from shared_models.entries.envelope import Entry
from shared_models.language import spoken
from shared_models.quantities.amounts import amount_from
from shared_models.wording.trials import WATCH_BY_STEADY, WATCH_BY_WALL, watched_words
from mobile.flows.forms import SlotForm
from mobile.flows.tuning import Tuning
from mobile.flows.walk_timing import RUN
from mobile.keeping.session import Session

DISTANCE, TIME, BY = "marked_distance_m", "marked_time_s", "marked_time_by"
#: Where the adjuster stood when the watch was stopped; kept in the form's draft, no field of it.
STOOD = "marked_time_at"
_PLACES = Decimal("0.1")


@dataclass(frozen=True)
class Stopped:
    """What the watch measured; ``seconds`` None where the clock was set back meanwhile."""

    seconds: str | None
    by_wall: bool


class WalkWatch:
    """The stopwatch of one trial slot; ``steady`` and ``wall`` give seconds."""

    def __init__(
        self, session: Session, form: SlotForm, run: str = RUN,
        steady: Callable[[], float] = time.monotonic, wall: Callable[[], float] = time.time,
    ) -> None:
        self.session, self.form = session, form
        self._run, self._steady, self._wall = run, steady, wall
        self._place = f"fitting/{form.fitting}/{form.slot}/watch"
        self._kept = session.draft(self._place)

    @property
    def is_running(self) -> bool:
        """Whether the watch runs."""
        return bool(self._kept)

    @property
    def was_restarted(self) -> bool:
        """Whether the app was started again while the watch ran."""
        return self.is_running and self._kept.get("run") != self._run

    def start(self, waited_s: float = 0.0) -> None:
        """Start it, ``waited_s`` ago; durable when this returns."""
        self._kept = {
            "run": self._run, "steady": f"{self._steady() - waited_s:.3f}", "wall": f"{self._wall() - waited_s:.3f}",
        }
        self.session.keep_draft(self._place, self._kept)

    def elapsed_s(self, waited_s: float = 0.0) -> float | None:
        """Return the seconds since the start; None where the wall clock went back over a restart."""
        if not self.is_running:
            return 0.0
        if self.was_restarted:
            passed_s = self._wall() - waited_s - float(self._kept["wall"])
            return passed_s if passed_s >= 0 else None
        return max(0.0, self._steady() - waited_s - float(self._kept["steady"]))

    def stop(self, waited_s: float = 0.0) -> Stopped:
        """Stop it; what it measured is in the trial's draft when this returns."""
        passed_s, by_wall = self.elapsed_s(waited_s), self.was_restarted
        self._kept = {}
        if passed_s is None:
            self.session.drop_draft(self._place)
            return Stopped(None, by_wall)
        seconds = str(Decimal(str(passed_s)).quantize(_PLACES))
        self.form.typed[BY] = WATCH_BY_WALL if by_wall else WATCH_BY_STEADY
        self.form.typed[STOOD] = self._position()
        self.form.edit(TIME, seconds)
        self.session.drop_draft(self._place)
        return Stopped(seconds, by_wall)

    def forget(self) -> None:
        """Throw the measured time away; the distance stays."""
        for key in (TIME, BY, STOOD):
            self.form.typed.pop(key, None)
        self.session.drop_draft(self._place)
        self._kept = {}
        self.form.edit(DISTANCE, self.form.typed.get(DISTANCE, ""))

    # The distance ---------------------------------------------------------------------------

    def distance(self) -> str:
        """Return the marked distance: as typed, or as it was last in this fitting."""
        if DISTANCE in self.form.typed:
            return str(self.form.typed[DISTANCE])
        for entry in reversed(self.form.view.entries()):
            if entry.body.get(DISTANCE):
                return str(entry.body[DISTANCE])
        return ""

    def mark(self, distance: str) -> Reading:
        """Take the distance; a durable draft when this returns."""
        return self.form.edit(DISTANCE, distance)

    # With the trial -------------------------------------------------------------------------

    @property
    def walked_otherwise(self) -> str:
        """Where the adjuster stands now, when the watch was stopped at another position; '' otherwise."""
        if not self.form.typed.get(TIME):
            return ""
        now = self._position()
        return "" if now == str(self.form.typed.get(STOOD, "")) else now or spoken("not recorded")

    def leave_out_of_another_walk(self) -> None:
        """Keep a time that was taken at another position out of the trial about to be recorded."""
        if self.walked_otherwise or not self.form.typed.get(TIME):
            for key in (TIME, BY, STOOD, DISTANCE):
                self.form.typed.pop(key, None)
        elif DISTANCE not in self.form.typed and self.distance():
            self.form.typed[DISTANCE] = self.distance()

    def words(self) -> str:
        """Return what was measured for the trial to come; '' for nothing."""
        return _words(str(self.form.typed.get(TIME, "")), self._distance_m())

    def _distance_m(self) -> str:
        """The distance in metres, in whatever unit it was typed."""
        if DISTANCE in self.form.typed:
            return str(self.form.judge(DISTANCE).value or "")
        return self.distance()

    def _position(self) -> str:
        position = Tuning(self.session, self.form.fitting, self.form.slot).position
        return f"{position.normalize():f}" if position is not None else ""


def words_of(trial: Entry) -> str:
    """Return what the stopwatch measured in a recorded trial; '' for nothing."""
    return _words(str(trial.body.get(TIME) or ""), str(trial.body.get(DISTANCE) or ""))


def _words(seconds: str, distance: str) -> str:
    if not seconds:
        return ""
    return watched_words(seconds, distance, walked_speed(amount_from(distance), amount_from(seconds)))
