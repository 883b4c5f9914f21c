"""The Kivy app: the stage in its window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kivy.app import App
from kivy.clock import Clock

from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.screens.faults import FaultWatch
from mobile.screens.quiet_moments import QuietMoments
from mobile.screens.stage import Stage

if TYPE_CHECKING:
    from mobile.keeping.courier import Courier
    from mobile.keeping.tablet import Tablet


class StancebookApp(App):
    """Shows the stage of one open tablet."""

    title = "Stancebook"

    def __init__(self, tablet: Tablet, courier: Courier | None = None, on_saved=None, practise: bool = False, **kwargs):
        super().__init__(**kwargs)
        self.tablet = tablet
        self.courier = courier
        self.stage: Stage | None = None
        self._on_saved = on_saved
        self._practise = practise
        self.faults: FaultWatch | None = None
        self.quiet: QuietMoments | None = None

    def build(self):
        """Make the stage and show its first page."""
        self.stage = Stage(self.tablet, self.courier, self._on_saved)
        self.faults = FaultWatch(self.stage, self.stage.folder)
        self.stage.begin()
        if hasattr(type(self.tablet), "begin"):
            # After the first frame, so that reading what the store needs holds up no drawing.
            Clock.schedule_once(lambda _dt: self.tablet.begin(self._opening_failed), 0)
        if self._practise:
            self.stage.practising.enter()
        return self.stage

    def on_start(self) -> None:
        """The window is open: from now on garbage is looked for while nobody touches it."""
        self.quiet = QuietMoments(self.stage)

    def on_stop(self) -> None:
        """Whatever goes wrong after the last page is for the terminal."""
        if self.quiet is not None:
            self.quiet.close()
        if self.faults is not None:
            self.faults.close()

    def _opening_failed(self, error: BaseException) -> None:
        """Say on the page why the record can't be opened; on the opening's own thread."""
        if not isinstance(error, Refusal):
            raise error
        Clock.schedule_once(lambda _dt: self.stage.page.warn(refusal_sentence(error)), 0)

    def on_pause(self) -> bool:
        """A tablet put aside keeps its page; everything saved or typed is durable."""
        return True
