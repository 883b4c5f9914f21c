"""The course of the rehearsal: looks at the screen, then does the next thing.

It keeps no plan of its own: what to do follows from the page that is shown and
from what is recorded, so a rehearsal that was cut off goes on where it stopped.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Callable

from shared_models.calculations.rehearsal_leg import RehearsalLeg, demo_leg
from shared_models.catalogue.sheets import demo_people
from shared_models.quantities.moments import now_here
from mobile.device.finger import Finger
from mobile.flows.board import next_step
from mobile.rehearsal import person
from mobile.rehearsal.hands import Hands
from mobile.screens.fitting import MISSING, FittingPage
from mobile.screens.home import HomePage
from mobile.screens.lock import LockPage
from mobile.screens.new_fitting import NewFittingPage
from mobile.screens.stage import Stage

MOST_ACTIONS = 600
LAST_GAP = "review_plan"


class LostOnTheWay(AssertionError):
    """The rehearsal does not know what to do with what is on the screen."""


class Course:
    """Drives one fitting from an unlocked or locked stage.

    ``say`` prints what is happening; ``typed`` hears of each field typed, and
    ``at`` where something is about to be done.
    """

    def __init__(
        self, stage: Stage, finger: Finger, say: Callable[[str], None] = print,
        typed: Callable[[str, Any], None] | None = None, leg: RehearsalLeg | None = None,
        at: Callable[[str], None] = lambda _where: None,
    ) -> None:
        self.stage, self.finger, self.say, self.at = stage, finger, say, at
        self.hands = Hands(finger, typed)
        self.leg = leg or demo_leg()
        self.people = {p["id"]: p for p in demo_people()["staff"]}

    def run_until(self, is_there: Callable[[], bool]) -> None:
        """Act until something is reached; raise LostOnTheWay when it never is."""
        for _ in range(MOST_ACTIONS):
            self.finger.settle()
            if is_there():
                return
            self.act()
        raise LostOnTheWay("the rehearsal goes round in circles")

    def own_fitting(self) -> str:
        """Return the rehearsal's own fitting, '' before it is opened; never somebody else's."""
        session = self.stage.session
        for fitting in session.fittings():
            identity = session.fitting(fitting).head("identity")
            if identity and all(
                identity.body.get(key) == person.NEW_FITTING[key] for key in ("family_name", "file_number")
            ):
                return fitting
        return ""

    # What is reached --------------------------------------------------------

    def only_last_gap(self) -> bool:
        """Whether everything but the next review is recorded."""
        page = self.stage.page
        return isinstance(page, FittingPage) and next_step(page.verdict) == LAST_GAP

    def complete(self) -> bool:
        """Whether the fitting is complete and its last page is shown."""
        page = self.stage.page
        return isinstance(page, FittingPage) and page.verdict.is_complete and page.step_key == MISSING

    # The next thing ----------------------------------------------------------

    def act(self) -> None:
        """Do the next thing that the page asks for."""
        page = self.stage.page
        self.at(" ".join(filter(None, (type(page).__name__, getattr(page, "slot", "")))))
        if isinstance(page, LockPage):
            self.unlock("demo-prosthetist")
        elif isinstance(page, HomePage):
            fitting = self.own_fitting()
            self.finger.tap(f"fitting:{fitting}" if fitting else "main")
        elif isinstance(page, NewFittingPage):
            self.hands.fill(person.NEW_FITTING)
            self.finger.tap("save")
            if self.finger.is_there("same"):
                self._say_who()
        elif isinstance(page, FittingPage):
            self._fitting(page)
        else:
            raise LostOnTheWay(f"no way on from {type(page).__name__}")

    def _say_who(self) -> None:
        """The same person when a rehearsal was cut off after recording it; else somebody else."""
        own = f"file {person.NEW_FITTING['file_number']}"
        known = [button for button in self.finger.find_all("same_as:") if button.text.endswith(own)]
        self.finger.tap(known[0] if known else "same:confirm")

    def unlock(self, staff: str) -> None:
        """Choose somebody on the locked screen and type their PIN."""
        self.finger.tap(f"person:{staff}")
        self.hands.pin(self.people[staff]["pin"])

    def _fitting(self, page: FittingPage) -> None:
        if self.finger.is_there("handed_back"):
            return self.finger.tap("handed_back")
        if self._disturb(page):
            return
        wanted = next_step(page.verdict) or MISSING
        if page.step_key != wanted:
            self.finger.tap(f"step_rail:{wanted}")
        elif page.step_key == MISSING:
            raise LostOnTheWay("nothing is left to do")
        elif self.finger.is_there("restored"):
            self._restore()
        elif self.finger.is_there("stopping:withdraw"):
            self.finger.tap("field:stop_reason=stumble")
        elif self.finger.is_there("begin"):
            self._begin(page)
        elif seats := [n for c in page.view.caps() if self.finger.is_there(n := f"seated:cap/{c.key}")]:
            self.finger.tap(seats[0])
        elif self.finger.is_there("give"):
            self.hands.fill({"technician": "demo-technician"})
            self.finger.tap("give")
        elif self.finger.is_there("pin_pad"):
            self._sign_off()
        elif self.finger.is_there("stop"):
            self._trial(page)
        elif self.finger.is_there("save"):
            self._form(page)
        elif self.finger.is_there("anew"):
            self.finger.tap("anew")
        else:
            self.finger.tap("main")

    # Forms -------------------------------------------------------------------

    def _form(self, page: FittingPage) -> None:
        slot = page.slot
        refused_slot, key, wrong = person.REFUSED
        if slot == refused_slot and not page.view.slot(slot).entries:
            self.hands.enter(key, wrong)
            self.finger.tap("save")
            field = self.finger.find(f"field:{key}")
            if field.message_kind != "refusal":
                raise LostOnTheWay(f"{wrong} was not refused")
            self.say(f"  refused: {field.message}")
        if self.finger.is_there("wrench:1"):  # the clinic has wrenches, and none is in hand yet
            self.finger.tap("wrench:1")
        self.hands.fill(person.answers(slot, page.view, now_here().date()))
        self.finger.tap("save")
        self._must_have_moved_on(page, slot)

    def _must_have_moved_on(self, page: FittingPage, slot: str) -> None:
        if page.slot == slot and self.finger.is_there("save"):
            shown = [w.message for w in self.finger.find_all("field:") if getattr(w, "message", "")]
            raise LostOnTheWay(f"{slot} was not saved: {shown}")

    # Trials ------------------------------------------------------------------

    def _trial(self, page: FittingPage) -> None:
        slot, view = page.slot, page.view
        history = view.trials(slot)
        if self.finger.is_there("suggestion:act"):
            self.finger.tap("suggestion:act")
            return
        function = view.edition.kind_of_slot(slot).function
        findings: list[dict[str, str]] = []
        if function:
            position = Decimal(view.settings()[function])
            findings = self.leg.answer(function, position)
        if slot == person.STOP_AT and len(history) == 1:
            self._stop(slot)
            return
        words = "; ".join(f"{f['finding'].replace('_', ' ')}, {f['grade']}" for f in findings)
        at = f" at {view.settings().get(function, '')}" if function else ""
        self.say(f"  {slot.partition('/')[2].replace('_', ' ')}, trial {len(history) + 1}{at}: {words or 'right'}")
        if slot == person.TIMED_AT and not history and not self._is_timed(page):
            self._time()
        for finding in findings:
            self.hands.found(finding)
        if self.finger.is_there("nothing_else"):
            self.finger.tap("nothing_else")
        self.hands.fill(person.trial_answers(slot, findings))
        self.finger.tap("change" if findings else "confirm")

    @staticmethod
    def _is_timed(page: FittingPage) -> bool:
        return not page.trial.timing.timing.is_empty

    def _time(self) -> None:
        """Time the walk by taps on both halves, a foot after the other."""
        self.finger.tap("time_walk")
        for number in range(person.TAPS):
            self.finger.tap(f"tap:{('left', 'right')[number % 2]}")
        self.say(f"  timed by {person.TAPS} taps on the two halves")
        self.finger.tap("done")
        self.finger.tap("keep")

    def _stop(self, slot: str) -> None:
        self.say(f"  {slot.partition('/')[2].replace('_', ' ')}: STOP, a stumble")
        self.finger.tap("stop")
        self.finger.tap("field:stop_reason=stumble")

    def _restore(self) -> None:
        """Each setting is put back and said so, then the whole."""
        while waiting := self.finger.find_all("restore:"):
            self.finger.tap(waiting[0])
        self.say("  after the stop: last confirmed settings restored")
        self.finger.tap("restored")

    def _begin(self, page: FittingPage) -> None:
        """The first walk, the ramp, the steps: who stands by, before anything is walked."""
        self.hands.fill({"aid": person.trial_answers(page.slot, [])["aid"]})
        self.finger.tap("begin")

    # Closing -----------------------------------------------------------------

    def _sign_off(self) -> None:
        self.hands.fill({"way": "witnessed"})
        self.hands.pin(self.people["demo-technician"]["pin"])
        self.say("  the technician signed off with their own PIN")

    def _disturb(self, page: FittingPage) -> bool:
        """Once, after the sign-off: tighten one screw again, which voids it."""
        slot = f"torque_final/{person.LOOSENED_AGAIN}"
        if page.verdict.step("sign_off").state != "met" or len(page.view.slot(slot).entries) != 1:
            return False
        if page.step_key != "torque":
            self.finger.tap("step_rail:torque")
        elif page.slot != slot:
            self.finger.tap(f"card:{slot}") if self.finger.is_there(f"card:{slot}") else self.finger.tap("back")
        elif self.finger.is_there("anew"):
            self.finger.tap("anew")
        else:
            self.say("  one foot screw tightened again, on purpose")
            self._form(page)
            states = {s.key: s.state for s in page.verdict.steps if s.state == "stale"}
            self.say(f"  stale now: {', '.join(states)}")
        return True
