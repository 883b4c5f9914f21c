"""A newcomer who practises: presses and types, and knows only what the screen shows."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from shared_models.catalogue.edition import load_edition
from mobile.device.finger import Finger
from mobile.rehearsal import course
from mobile.rehearsal.course import Course, LostOnTheWay
from mobile.screens.fitting import MISSING, FittingPage
from mobile.screens.home import HomePage
from mobile.screens.lock import LockPage
from mobile.screens.new_fitting import NewFittingPage
from mobile.screens.practice_people import PracticePeoplePage
from mobile.screens.stage import Stage
from mobile.widgets.walkway import Walkway

_GRADES = ("slight", "marked")


class FastClock:
    """A steady clock that runs ahead at each look, so that no test waits."""

    def __init__(self) -> None:
        self.moment_s = 1000.0

    def __call__(self) -> float:
        self.moment_s += 1.5
        return self.moment_s


class FromTheScreen:
    """In place of what the rehearsal knows of its person: everything is read off the screen."""

    REFUSED, STOP_AT, TIMED_AT, LOOSENED_AGAIN, TAPS = ("", "", ""), "", "", "", 0
    NEW_FITTING: dict[str, Any] = {"family_name": "", "file_number": ""}

    def __init__(self, newcomer: "Newcomer") -> None:
        self.newcomer = newcomer

    def answers(self, slot: str, _view, _today) -> dict[str, Any]:
        """What the panel tells for a slot."""
        return self.newcomer.told(load_edition().kind_of_slot(slot).fields)

    def trial_answers(self, slot: str, findings: list[dict[str, str]]) -> dict[str, Any]:
        """What the panel tells at the bars, and what was judged of the walk."""
        judged = _judged(self.newcomer.said, {f["finding"] for f in findings})
        return {**self.answers(slot, None, None), **judged}


class Newcomer(Course):
    """Practises on one of the invented people, reading every answer off the screen."""

    def __init__(self, stage: Stage, finger: Finger, person: str = "even") -> None:
        super().__init__(stage, finger, say=lambda _line: None, leg=self)  # type: ignore[arg-type]
        self.person, self.said = person, ""
        self.marked: set[str] = set()

    # Reading the screen ------------------------------------------------------------

    def lines(self) -> list[str]:
        """What the panel of practice says, line by line; where there is no room it is asked for."""
        asked = self.finger.is_there("practice:read") and not self._is_reading
        if asked:
            self.finger.tap("practice:read")
        found = [words.plain_text for words in self.finger.find_all("practice:line:")]
        if asked:
            self.finger.tap("practice:read")
        return found

    @property
    def _is_reading(self) -> bool:
        return self.finger.is_there("practice") and not self.finger.find("practice").hushed

    def told(self, fields) -> dict[str, Any]:
        """What instruments show and the person says, by the key of the field with that label."""
        found = {}
        # A label may hold a colon of its own, so the longest one that stands there is taken.
        known = sorted(fields, key=lambda f: -len(f.label))
        for line in self.lines():
            for part in line.split(" · "):
                field = next((f for f in known if f"{f.label}: " in part), None)
                if field is not None:
                    found[field.key] = _typed(field, part.partition(f"{field.label}: ")[2].strip())
        return found

    # Doing -------------------------------------------------------------------------

    def act(self) -> None:
        """Do the next thing; every page on the way must be marked."""
        page = self.stage.page
        if self.stage.tablet.is_practice:
            assert self.finger.find("practice:mark").text == "PRACTICE · nobody is being fitted", page
            self.marked.add(type(page).__name__)
        if isinstance(page, LockPage) and not self.stage.tablet.is_practice:
            self.finger.tap("practise")
        elif isinstance(page, HomePage):
            fittings = self.stage.session.fittings()
            self.finger.tap(f"fitting:{fittings[0]}" if fittings else "practice:begin")
        elif isinstance(page, PracticePeoplePage):
            self.finger.tap(f"practise:{self.person}")
        elif isinstance(page, NewFittingPage):
            kinds = load_edition().kinds
            self.hands.fill(self.told((*kinds["identity"].fields, *kinds["opened"].fields)))
            self.finger.tap("save")
        elif isinstance(page, FittingPage):
            self._fitting(page)
        else:
            raise LostOnTheWay(f"no way on from {type(page).__name__}")

    def _disturb(self, page: FittingPage) -> bool:
        return False

    def _sign_off(self) -> None:
        pin = re.search(r"PIN (\d{6})", " ".join(self.lines())).group(1)
        self.hands.fill({"way": "witnessed"})
        self.hands.pin(pin)

    def answer(self, function: str, _position) -> list[dict[str, str]]:
        """Let the person walk, be shown what there was to see, and take it off the panel."""
        panel = self.finger.find("practice")
        self.finger.tap("practice:walk")
        self.finger.wait_for(lambda: not panel.walking, most_s=30, what="the end of the walk")
        self.finger.tap("practice:show")
        self.said = " ".join(self.lines())
        self.finger.tap("practice:away")
        found = []
        for finding in load_edition().own_findings(function):
            grade = next((g for g in _GRADES if f"{finding.words}, {g}" in self.said), "")
            if grade:
                found.append({"finding": finding.key, "grade": grade, "perceived": "seen"})
        return found

    def finished(self) -> bool:
        """Whether the practice fitting is complete and its last page is shown."""
        page = self.stage.page
        return isinstance(page, FittingPage) and page.verdict.is_complete and page.step_key == MISSING


def _judged(said: str, shown: set[str]) -> dict[str, Any]:
    """What is answered of a walk, from what was said and shown."""
    descent = "drops" if "drops_on_descent" in shown else "slow" if "yields_too_slowly" in shown else "even"
    return {
        "damping_came_in": "does not hold" not in said, "damping_let_go": "damping_stays_in" not in shown,
        "descent": descent, "sound_side_landing": "hard" if descent == "drops" else "soft",
        "step_over_step": True, "half_foot_over_edge": True, "trunk_upright": True,
    }


def _typed(field, value: str) -> Any:
    """Return what is typed or chosen for a value that was read."""
    if field.type == "yes_no":
        return value == "yes"
    if field.type == "choice":
        return next((code for code, words in load_edition().choices[field.choices].items() if words == value), value)
    if field.type in ("amount", "count"):
        return value.split(" ")[0].rstrip("°")
    if field.type == "date" and re.fullmatch(r"\d{1,2} [A-Z][a-z]{2} \d{4}", value):
        # Read with its month in letters, typed as the field asks.
        return datetime.strptime(value, "%d %b %Y").date().isoformat()
    return value


def practising(stage: Stage, finger: Finger, monkeypatch, person: str = "even") -> Newcomer:
    """Return a newcomer before a stage; figures walk by a clock that runs ahead."""
    newcomer = Newcomer(stage, finger, person)
    monkeypatch.setattr(Walkway, "now_s", staticmethod(FastClock()))
    monkeypatch.setattr(course, "person", FromTheScreen(newcomer))
    return newcomer
