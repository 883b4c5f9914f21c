"""What a later visit adds to the pages of a fitting: tables, open events, doors to what was touched."""

from __future__ import annotations

import uuid6

from shared_models.checks.events import Event
from shared_models.language import spoken
from shared_models.quantities.moments import now_here
from shared_models.wording.dates import day_words
from shared_models.wording.visit_lines import (
    FOLLOW_UP, GO_TO_VISIT, OPEN_VISIT, STILL_OPEN, STILL_OPEN_SAY, drift_words, service_words,
)
from mobile.flows.visits import begin_visit, doors, followed, tables_at, visit_after
from mobile.screens.outcomes import OUTCOME, show_over_time
from mobile.screens.stop_events import RECORD_IT
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Words


#: So many open events stand above the cards, each by itself; more stand behind one row.
_EACH_BY_ITSELF = 2


def show_first(page) -> None:
    """Above a visit's cards: what drifted, what is due, and what is still open, before anything else is read."""
    if not page.view.after:
        return
    if page.step_key == "as_found":
        said, drifted = drift_words(page.view)
        if said:
            page.body.add_widget(Banner(kind="doubt" if drifted else "info", text=said, test_name="drifted"))
    if page.step_key == page.view.edition.steps[0].key:
        due = service_words(page.view, now_here().date())
        if due:
            page.body.add_widget(Banner(kind="doubt", text=due, test_name="service_due"))
        page.quiet(spoken(RECORD_IT), lambda: page.open(f"event/{uuid6.uuid7()}"), "event", page.body)
        events = followed(page.session, page.view)
        if len(events) <= _EACH_BY_ITSELF:
            return follow_rows(page, events)
        row = ListRow(title=spoken(STILL_OPEN), subtitle=spoken(STILL_OPEN_SAY), trailing=str(len(events)), row_state="stale", test_name="still_open")
        row.fbind("on_release", lambda *_: show_open(page))
        page.body.add_widget(row)


def show_open(page) -> None:
    """Every event still open, each with the way to follow it up."""
    page.begin_content()
    page.head(spoken(STILL_OPEN), spoken(STILL_OPEN_SAY))
    follow_rows(page, followed(page.session, page.view))
    page.plain(spoken("Back"), lambda: page.go(page.step_key), "back")
    page.scroll_to_top()


def show_visit(page) -> None:
    """Beneath a step's cards: what is compared there, and what may be begun."""
    for table in tables_at(page.session, page.view, page.step_key):
        page.body.add_widget(Words(text=table.title, role="lead", bold=True))
        for number, (row, mark) in enumerate(zip(table.rows, table.marks)):
            pairs = [f"{head}: {cell}" for head, cell in zip(table.head[1:], row[1:]) if cell]
            page.body.add_widget(ListRow(
                title=row[0], subtitle="\n".join(pairs), subtitle_role="body", pressable=False,
                row_state="not_applicable" if mark == "not applicable" else mark, test_name=f"{table.key}:{number}",
            ))
    if page.step_key == OUTCOME and page.view.after:
        show_over_time(page, page.session.others_of_person(page.view))
    for slot, words in doors(page.view, page.step):
        row = ListRow(title=words, trailing=spoken("record"), test_name=f"door:{slot}")
        row.fbind("on_release", lambda *_, slot=slot: page.open(slot))
        page.body.add_widget(row)


def follow_rows(page, events: list[Event]) -> None:
    """A way to follow up each event that is still open."""
    for event in events:
        what = page.view.edition.words("event_what", str(event.entry.body.get("what", "")))
        row = ListRow(
            title=spoken(FOLLOW_UP, what=what, day=day_words(event.happened_on)), subtitle=str(event.entry.body.get("during", "")),
            trailing=spoken("open"), row_state="stale", test_name=f"follow:{event.id}",
        )
        row.fbind("on_release", lambda *_, key=event.id: page.open(f"event_follow_up/{key}"))
        page.body.add_widget(row)


def visit_door(page) -> None:
    """On the last page of what is complete: begin the next visit, or go to the one begun."""
    if not page.verdict.is_complete or "prosthetist" not in page.session.roles or page.session.is_practice:
        return
    begun = visit_after(page.session, page.view)
    if begun:
        page.quiet(spoken(GO_TO_VISIT), lambda: page.stage.go_fitting(begun), "visit", page.body)
    else:
        page.quiet(spoken(OPEN_VISIT), lambda: _begin(page), "visit", page.body)


def _begin(page) -> None:
    visit = page.attempt(lambda: begin_visit(page.session, page.view))
    if visit is not None:
        page.stage.go_fitting(visit)

