"""The Kivy app: the stage in its window."""

from __future__ import annotations

from kivy.app import App

from mobile.keeping.courier import Courier
from mobile.keeping.tablet import Tablet
from mobile.screens.stage import Stage


class StancebookApp(App):
    """Shows the stage of one open tablet."""

    title = "Stancebook"

    def __init__(self, tablet: Tablet, courier: Courier | None = None, on_saved=None, practise: bool = False, **kwargs):
        super().__init__(**kwargs)
        self.tablet = tablet
        self.courier = courier or Courier()
        self.stage: Stage | None = None
        self._on_saved = on_saved
        self._practise = practise

    def build(self):
        """Make the stage and show its first page."""
        self.stage = Stage(self.tablet, self.courier, self._on_saved)
        self.stage.begin()
        if self._practise:
            self.stage.practising.enter()
        return self.stage

    def on_pause(self) -> bool:
        """A tablet put aside keeps its page; everything saved or typed is durable."""
        return True
