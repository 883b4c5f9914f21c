"""A newcomer who practises: presses and types, and knows only what the screen shows."""

from __future__ import annotations

import re
from typing import Any

from mobile.device.finger import Finger
from mobile.rehearsal.course import Course, LostOnTheWay
from mobile.screens.fitting import MISSING, FittingPage
from mobile.screens.home import HomePage
from mobile.screens.lock import LockPage
from mobile.screens.new_fitting import NewFittingPage
from mobile.screens.practice_people import PracticePeoplePage
from mobile.screens.stage import Stage
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.figure_field import FigureField
from mobile.widgets.walkway import Walkway

_GRADES = ("slight", "marked")
MOST_FRAMES = 4000


class FastClock:
    """A steady clock that runs a tenth of a second at each look, so that no test waits."""

    def __init__(self) -> None:
        self.moment_s = 1000.0

    def __call__(self) -> float:
        self.moment_s += 0.1
        return self.moment_s


class Newcomer(Course):
    """Practises on one of the invented people, reading every answer off the screen."""

    def __init__(self, stage: Stage, finger: Finger, person: str = "even", hints: bool = True) -> None:
        super().__init__(stage, finger, say=lambda _line: None)
        self.person, self.hints = person, hints
        self.feedback: list[str] = []
        self.marked: set[str] = set()

    # Reading the screen ------------------------------------------------------------

    def lines(self) -> list[str]:
        """What the panel of practice says, line by line."""
        return [words.plain_text for words in self.finger.find_all("practice:line:")]

    def told(self) -> dict[str, str]:
        """What instruments show and the person says, by label."""
        found = {}
        for line in self.lines():
            # The title in front ends with a colon of its own.
            body = re.sub(r"^[A-Z][^:·]*: (?=[^·]*: )", "", line)
            for part in body.split(" · "):
                label, colon, value = part.partition(": ")
                if colon:
                    found[label.strip()] = value.strip()
        return found

    def fill_as_told(self) -> None:
        """Fill every field on the page that the panel names."""
        told = self.told()
        for widget in self.finger.find_all("field:"):
            label = str(getattr(widget, "label", ""))
            if label in told and isinstance(widget.test_name, str) and "=" not in widget.test_name:
                self.hands.enter(widget.test_name.removeprefix("field:"), _typed(widget, told[label]))

    # Doing -------------------------------------------------------------------------

    def act(self) -> None:
        """Do the next thing; every page on the way must be marked."""
        page = self.stage.page
        self.at(" ".join(filter(None, (type(page).__name__, getattr(page, "step_key", ""), getattr(page, "slot", "")))))
        if self.stage.tablet.is_practice:
            self._must_be_marked(page)
        if isinstance(page, LockPage) and not self.stage.tablet.is_practice:
            self.finger.tap("practise")
        elif isinstance(page, HomePage):
            fittings = self.stage.session.fittings()
            self.finger.tap(f"fitting:{fittings[0]}" if fittings else "practice:begin")
        elif isinstance(page, PracticePeoplePage):
            self.finger.tap(f"practise:{self.person}")
        elif isinstance(page, NewFittingPage):
            self.fill_as_told()
            self.finger.tap("save")
        elif isinstance(page, FittingPage):
            self._fitting(page)
        else:
            raise LostOnTheWay(f"no way on from {type(page).__name__}")

    def _must_be_marked(self, page: Any) -> None:
        assert self.finger.find("practice:mark").text == "PRACTICE · nobody is being fitted", page
        assert page.header.unsent == "never sent" or self.stage.session is None
        self.marked.add(type(page).__name__)

    def _disturb(self, page: FittingPage) -> bool:
        return False

    def _form(self, page: FittingPage) -> None:
        slot = page.slot
        self.fill_as_told()
        self.finger.tap("save")
        self._must_have_moved_on(page, slot)

    def _sign_off(self) -> None:
        said = " ".join(self.lines())
        pin = re.search(r"PIN (\d{6})", said).group(1)
        name = re.search(r"Choose (.+?) and type", said).group(1)
        row = self.finger.find("field:technician")
        self.hands.enter("technician", next(code for code, words in row.options if words == name))
        self.fill_as_told()
        self.hands.pin(pin)

    # Walking -----------------------------------------------------------------------

    def walk(self) -> str:
        """Let the person walk to the end, and return what was said and shown."""
        panel = self.finger.find("practice")
        self.finger.tap("practice:walk")
        for _ in range(MOST_FRAMES):
            if not panel.walking:
                break
            self.finger.pump(1)
        else:
            raise LostOnTheWay("the walk never ended")
        if self.hints:
            self.finger.tap("practice:show")
            if self.finger.is_there("practice:away"):
                self.finger.tap("practice:away")
        return " ".join(self.lines())

    def _trial(self, page: FittingPage) -> None:
        if self.finger.is_there("suggestion:act"):
            self.finger.tap("suggestion:act")
            return
        slot, function = page.slot, page.view.edition.kind_of_slot(page.slot).function
        said = self.walk()
        findings = self.findings_in(said)
        self.fill_as_told()
        shown = {f["finding"] for f in findings}
        self.hands.fill(_judged(said, shown))
        for finding in findings if function else ():
            self.hands.found(finding)
        if "does not hold" in said:
            self.finger.tap("stop")
            self.finger.tap("field:stop_reason=stumble")
            self.finger.tap("stopping:confirm")
        else:
            self.finger.tap("change" if findings else "confirm")
        self.feedback += self.lines()[:1]
        assert (slot, page.slot) and not any("was not saved" in line for line in self.lines())

    def findings_in(self, said: str) -> list[dict[str, str]]:
        """What the panel names of the findings that the page offers."""
        found = []
        for widget in self.finger.find_all("finding:"):
            key, label = widget.test_name.removeprefix("finding:"), str(getattr(widget, "label", ""))
            if "=" in key or not label:
                continue
            words = label[:1].lower() + label[1:]
            grade = next((g for g in _GRADES if f"{words}, {g}" in said), "")
            if grade:
                found.append({"finding": key, "grade": grade, "perceived": "seen"})
        return found

    def finished(self) -> bool:
        """Whether the practice fitting is complete and its last page is shown."""
        page = self.stage.page
        self.at(" ".join(filter(None, (type(page).__name__, getattr(page, "step_key", ""), getattr(page, "slot", "")))))
        return isinstance(page, FittingPage) and page.verdict.is_complete and page.step_key == MISSING


def _judged(said: str, shown: set[str]) -> dict[str, Any]:
    """What is answered of a walk, from what was said and shown."""
    descent = "drops" if "drops_on_descent" in shown else "slow" if "yields_too_slowly" in shown else "even"
    return {
        "damping_came_in": "does not hold" not in said, "damping_let_go": "damping_stays_in" not in shown,
        "descent": descent, "sound_side_landing": "hard" if descent == "drops" else "soft",
        "step_over_step": True, "half_foot_over_edge": True, "trunk_upright": True,
    }


def _typed(widget: Any, value: str) -> Any:
    """Return what is typed or chosen for a value that was read."""
    if isinstance(widget, ChoiceRow):
        return next((code for code, words in widget.options if words == value), value)
    if isinstance(widget, FigureField):
        return value.split(" ")[0].rstrip("°")
    return value


def fast(monkeypatch) -> None:
    """Let every figure walk by a clock that runs ahead."""
    monkeypatch.setattr(Walkway, "now_s", staticmethod(FastClock()))
