"""A trial stopped for a fall: the way to record it as an event, or to say why it is none."""

from __future__ import annotations

from shared_models.checks.stop_events import StopEvent, remark_on, stops_without_event
from shared_models.entries.envelope import Entry
from shared_models.language import phrase, spoken
from shared_models.wording.sentences import sentence_of
from mobile.widgets.banner import Banner

RECORD_IT = phrase("Record a fall, pain or fault")
NO_EVENT = phrase("Say why it is no event")


def show_stop_events(page, after: Entry | None = None) -> None:
    """Show each stop whose fall is missing as an event; right ``after`` a stop, that one, also for a near fall."""
    shown = 0
    for stop in stops_without_event(page.view):
        wanted = stop.is_needed if after is None else stop.trial.digest == after.digest
        if wanted and stop.no_event is None:
            _show(page, stop, f":{shown}" if shown else "")
            shown += 1


def _show(page, stop: StopEvent, which: str) -> None:
    event, no_event = stop.slots
    banner = Banner(
        kind="doubt", text=sentence_of(remark_on(stop), page.view), button_words=spoken(RECORD_IT), test_name=f"stop_event{which}",
    )
    banner.fbind("on_act", lambda *_: page.open(event))
    page.body.add_widget(banner)
    page.quiet(spoken(NO_EVENT), lambda: page.open(no_event), f"no_event{which}", page.body)
