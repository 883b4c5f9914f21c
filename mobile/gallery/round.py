"""One round through the catalogue in one window: every state shown, looked over, and drawn where wanted."""

from __future__ import annotations

import gc
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import Callable, Iterable, Iterator, NamedTuple

from kivy.animation import Animation
from kivy.clock import Clock

from mobile.device.finger import Finger
from mobile.gallery.families import Families
from mobile.gallery.findings import Finding
from mobile.gallery.looking import look_over
from mobile.gallery.states import Showing, State
from mobile.widgets.theme import theme


class Way(NamedTuple):
    """One way of holding and reading the tablet: size in pixels, theme, size of type from 1 to 1.5."""

    words: str
    size: tuple[int, int]
    theme: str = "sun"
    font: float = 1.0


LYING, UPRIGHT = Way("lying", (1280, 800)), Way("upright", (800, 1280))
LARGE_UPRIGHT = Way("upright in the dim at 150 %", UPRIGHT.size, "dim", 1.5)
LARGE_LYING = Way("lying in the dim at 150 %", LYING.size, "dim", 1.5)
_MOST_FRAMES = 40
#: A few pages outlive the quick look for what nobody needs; looking through everything takes long.
_COLLECTED_AFTER = 8
_FADING = {"_bar_color", "_kheight"}


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
        self.families, self._shown = Families(Path(self._folder.name)), 0

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

    def let_lay_out(self) -> None:
        """Let frames pass until nothing moves any more."""
        for _ in range(_MOST_FRAMES):
            self.finger.pump(1)
            if not any(event.timeout <= 0 and not _only_fades(event) for event in Clock.get_events()):
                break
        self.finger.pump(1)

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

    def in_ways(self, state: State, ways: Iterable[Way]) -> list[str]:
        """Look one and the same page over, turned and dressed as each way says; return what was found."""
        first, *others = ways
        said: list[str] = []

        def look(way: Way) -> None:
            said.extend(f"{state.name}, {way.words}: {finding}" for finding in look_over(self.window))

        def look_at_all() -> None:
            look(first)
            for way in others:
                self._turn_to(way)
                self.let_lay_out()
                look(way)

        self._turn_to(first)
        with _soon_collected():
            self.show(state, look_at_all)
        self._shown += 1
        if self._shown % _COLLECTED_AFTER == 0:
            gc.collect()
        return said

    def _turn_to(self, way: Way) -> None:
        theme.name, theme.font_scale = way.theme, way.font
        if (self.window.width, self.window.height) != way.size:
            self.window.set_size(*way.size)


def _only_fades(event) -> bool:
    """Whether an event only moves what nobody reads or presses: a bar that fades, Kivy's keyboard."""
    animation = getattr(event.get_callback(), "__self__", None)
    return isinstance(animation, Animation) and set(animation.animated_properties) <= _FADING


@contextmanager
def _soon_collected() -> Iterator[None]:
    """Take away at the end what was made within, and look through nothing older for it.

    Pages left lying about would all follow each later change of theme.
    """
    gc.collect(0)
    gc.disable()
    try:
        yield
    finally:
        gc.collect(0)
        gc.enable()
