"""One round through the catalogue in one window: every state shown, looked over, and drawn where wanted."""

from __future__ import annotations

import gc
import tempfile
from pathlib import Path
from typing import Callable, Iterable, NamedTuple

from mobile.device.finger import Finger
from mobile.gallery.families import Families
from mobile.gallery.findings import Finding
from mobile.gallery.looking import look_at_colours, look_over
from mobile.gallery.states import Showing, State
from mobile.widgets.theme import theme


class Seen(NamedTuple):
    """A state as it was shown: where its picture lies ("" where none was drawn) and what was found."""

    state: State
    way: str
    picture: str
    findings: tuple[Finding, ...]


class Round:
    """Shows states one after the other in a window; the theme and size of type are the caller's."""

    def __init__(self, window) -> None:
        self.window, self.finger = window, Finger(window)
        self._folder = tempfile.TemporaryDirectory(prefix="stancebook-gallery-")
        self.families = Families(Path(self._folder.name))

    def close(self) -> None:
        """Take the stores away."""
        self._folder.cleanup()

    def show(self, state: State, then: Callable[[], object]) -> None:
        """Bring a state about, let ``then`` look at it, and put everything away again."""
        at = Showing(self.families, self.finger, state.family, state.staff)
        try:
            state.show(at)
            self.let_lay_out()
            then()
        finally:
            at.close()
            self.finger.pump(1)

    def let_lay_out(self) -> None:
        """Let frames pass until nothing moves any more."""
        self.finger.settle()
        self.finger.pump(3)

    def draw(self, wanted: Path) -> None:
        """Save what the window shows."""
        from kivy.base import EventLoop

        self.window.canvas.ask_update()
        EventLoop.idle()
        # Kivy puts a number of its own behind the name it is given.
        Path(self.window.screenshot(name=str(wanted))).replace(wanted)

    def pictures(self, states: Iterable[State], folder: Path, way: str) -> Iterable[Seen]:
        """Draw and look over each state as the theme is now."""
        for state in states:
            found: list[Seen] = []

            def look(state: State = state, found: list[Seen] = found) -> None:
                name = f"{state.name}-{way}.png"
                self.draw(folder / name)
                found.append(Seen(state, way, name, tuple(look_over(self.window))))

            self.show(state, look)
            yield found[0]

    def all_ways(self, state: State) -> list[str]:
        """Look a state over in both themes and at 100 % and 150 %, on one and the same page."""
        said: list[str] = []

        def look() -> None:
            said.extend(str(f) for f in look_over(self.window))
            theme.name = "dim"
            self.finger.pump(1)
            said.extend(f"in the dim theme, {f}" for f in look_at_colours(self.window))
            theme.font_scale = 1.5
            self.let_lay_out()
            said.extend(f"in the dim theme at 150 %, {f}" for f in look_over(self.window))

        try:
            self.show(state, look)
        finally:
            theme.name, theme.font_scale = "sun", 1.0
            gc.collect(0)
        return said
