"""The form of a fall, pain or fault: one that stopped a trial begins with what is known of it."""

from __future__ import annotations

from typing import Any

from shared_models.checks.stop_events import stop_of_event
from shared_models.quantities.moments import day_of
from shared_models.wording.dates import clock_words
from shared_models.wording.sentences import place_words
from mobile.flows.forms import SlotForm


class EventForm(SlotForm):
    """Day, what it was and during which trial are filled in where a stop led here; each can be changed."""

    def _start(self) -> dict[str, Any]:
        start = super()._start()
        stop = stop_of_event(self.view, self.slot.partition("/")[2]) if self.wrong is None else None
        if stop is None or self.view.head(self.slot) is not None:
            return start
        trial = stop.trial
        number = self.view.trials(stop.slot).index(trial) + 1
        during = f"{place_words(stop.slot, self.view)} {number}, {clock_words(trial.happened_at)}"
        words = str(trial.body.get("stop_words") or "").strip()
        return {
            **start, "happened_on": day_of(trial.happened_at).isoformat(), "what": stop.what,
            "during": f"{during}: {words}" if words else during,
        }
