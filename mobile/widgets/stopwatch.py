"""A stopwatch for one field: a press starts it, the next stops it and writes the seconds."""

import time

from kivy.clock import Clock
from kivy.properties import StringProperty

from mobile.widgets.buttons import PlainButton
from shared_models.language import spoken


class Stopwatch(PlainButton):
    """Dispatches ``on_stop(seconds)`` with the seconds as decimal text, to a tenth.

    Both ends are taken as the finger comes down, by the touch's own time stamp. A watch that runs
    when the page is left, or the app is ended, is lost: nothing was typed by it yet.
    """

    __events__ = ("on_stop",)
    start_words = StringProperty()
    _SHOWN_EVERY_S = 0.1

    def __init__(self, **kwargs):
        kwargs.setdefault("start_words", spoken("Start the watch"))
        super().__init__(fit=True, **kwargs)
        self.text = self.start_words
        self._began = None
        self._shows = None

    def on_press(self):
        waited_s = max(0.0, time.time() - self.last_touch.time_start)
        moment_s = time.monotonic() - waited_s
        if self._began is None:
            self._began = moment_s
            self._shows = Clock.schedule_interval(self._show, self._SHOWN_EVERY_S)
            self._show()
            return
        seconds = moment_s - self._began
        self._end()
        self.dispatch("on_stop", f"{seconds:.1f}")

    def on_stop(self, seconds: str) -> None:
        """The watch was stopped after so many seconds."""

    def _show(self, *_args):
        if self.get_parent_window() is None:
            self._end()
            return
        self.text = spoken("End the watch: {monotonic:.0f} s", monotonic=time.monotonic() - self._began)

    def _end(self):
        self._began = None
        if self._shows is not None:
            self._shows.cancel()
            self._shows = None
        self.text = self.start_words
