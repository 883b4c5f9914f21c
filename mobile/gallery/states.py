"""The catalogue: every screen in its typical, empty, error and full state, and how each comes about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Callable

from kivy.animation import Animation
from kivy.clock import Clock
from kivy.uix.scrollview import ScrollView

from mobile.demo import shown_pin
from mobile.device import finding
from mobile.gallery.families import CLINIC, FRESH, Families
from mobile.gallery.recording import PROSTHETIST
from mobile.keeping.courier import Courier
from mobile.screens.stage import Stage

TYPICAL, EMPTY, ERROR, FULL = HOWS = ("typical", "empty", "error", "full")


class Showing:
    """One state being shown: a stage on a copy of its family's store, and hands to bring it about."""

    def __init__(self, families: Families, finger, family: str, staff: str = PROSTHETIST) -> None:
        self.families, self.finger, self.window = families, finger, finger.window
        self.tablet = families.opened(family)
        self.session: Any = None
        self._waited_before = set(Clock.get_events())
        self.stage = Stage(self.tablet, Courier())
        self.window.add_widget(self.stage)
        if family == FRESH:
            self.stage.begin()
        else:
            self.session = self.tablet.unlock(staff, shown_pin(staff))
            self.stage.session = self.session
            self.session.on_draft = self.stage._draft_kept

    def close(self) -> None:
        """Take everything off the window and away."""
        panes = [w for child in self.window.children for w in child.walk() if isinstance(w, ScrollView)]
        for child in self.window.children[:]:
            if hasattr(child, "dismiss"):
                child.dismiss()
            self.window.remove_widget(child)
        self.stage.close()
        # What was still to be drawn is drawn before its widgets are gone.
        self.finger.pump(1)
        # Nobody waits for a cursor to blink or a bar to fade any more; each would keep its page.
        # The keyboard remembers whom it typed for last.
        self.window.request_keyboard(lambda: None, None).release()
        for pane in panes:
            Animation.cancel_all(pane)
        for event in Clock.get_events():
            if event not in self._waited_before:
                event.cancel()
        self.families.put_away(self.tablet)

    @property
    def page(self):
        """The page on the stage."""
        return self.stage.page

    def go(self, fitting: str, step: str = "", slot: str = "") -> Any:
        """Show a fitting at a step, or at a slot of it: then the step may be left out."""
        found = self.session.fitting(fitting).edition.step_of_slot(slot) if slot and not step else None
        step = found.key if found else step
        self.stage.go_fitting(fitting, step, slot)
        return self.page

    def find(self, name: str) -> Any:
        """The widget of this name on the window."""
        return finding.find(self.window, name)

    def press(self, name: str) -> None:
        """Press what bears this name."""
        self.finger.settle()
        self.find(name).dispatch("on_release")

    def type(self, name: str, text: Any) -> None:
        """Put this into a field, as if it had been typed."""
        field = self.find(f"field:{name}")
        setattr(field, "value" if hasattr(field, "value") else "text", text)
        field.dispatch("on_edit", text)

    def pin(self, digits: str) -> None:
        """Type a PIN on the pad in sight."""
        self.find("pin_pad").dispatch("on_pin", digits)

    def wait_for(self, condition, what: str) -> None:
        """Let work on another thread come to its end."""
        self.finger.wait_for(condition, what=what)


@dataclass(frozen=True)
class State:
    """One state of a screen; ``show`` brings it about."""

    screen: str
    how: str
    family: str
    show: Callable[[Showing], Any]
    name: str
    staff: str = PROSTHETIST


STATES: list[State] = []
#: Why a screen has no such state: (screen, how) to the reason.
WITHOUT: dict[tuple[str, str], str] = {}


def state(screen: str, how: str, family: str = CLINIC, staff: str = PROSTHETIST):
    """Put a function into the catalogue as a state of a screen; its name names the picture."""
    def put(show: Callable[[Showing], Any]) -> Callable[[Showing], Any]:
        STATES.append(State(screen, how, family, show, f"{screen}-{how}-{show.__name__.strip('_')}", staff))
        return show
    return put


def without(screen: str, how: str, because: str) -> None:
    """Say why a screen has no such state."""
    WITHOUT[screen, how] = because


def catalogue() -> list[State]:
    """Return every state, in the order in which a fitting meets the screens."""
    from mobile.gallery import (  # noqa: F401 (each puts its states in)
        states_of_setting_up,
        states_of_keys,
        states_of_people,
        states_of_the_tablet,
        states_of_carrying,
        states_of_steps,
        states_of_readings,
        states_of_walks,
        states_of_closing,
        states_of_visits,
        states_of_attached,
    )
    return list(STATES)
