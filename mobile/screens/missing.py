"""Nothing forgotten: what is still missing, what was set aside and why, what stands, and the review."""

from __future__ import annotations

import uuid6

from shared_models.language import spoken
from shared_models.wording import closing as words
from shared_models.wording.states import FIRST, VERDICT, restriction_line, review_word, state_words
from mobile.flows.board import Gap, gaps
from mobile.flows.forms import SlotForm
from mobile.flows.sheet_notes import sheet_notes
from mobile.flows.last_look import attached_words, doubted, set_aside, standing, unsent_words
from mobile.flows.tuning import settings_strip
from mobile.flows.visits import followed
from mobile.screens.attached import photo_door
from mobile.screens.correcting import show_last_saved
from mobile.screens.paper import PaperPane
from mobile.screens.stop_events import RECORD_IT, show_stop_events
from mobile.screens.visits import follow_rows, visit_door
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Column, Words
from mobile.widgets.text_field import TextField

REVIEW, REQUEST = "review", "review_requested"
_STATES = {"not applicable": "not_applicable"}


class MissingPane:
    """The verdict in words, every gap with its way there, and sending for review."""

    def __init__(self, page):
        self.page = page
        verdict = page.verdict
        missing = gaps(page.view, verdict)
        lead = spoken(words.CHOOSE) if missing else "" if verdict.review == "rejected" else spoken(words.ALL_THERE)
        page.head(spoken("This fitting is {verdict}", verdict=VERDICT[verdict.state]), lead)
        restricted = restriction_line(verdict.restrictions)
        if restricted:
            page.body.add_widget(Banner(kind="info", lead=restricted, test_name="restriction"))
        for said in sheet_notes(page.view):
            page.body.add_widget(Banner(kind="doubt", text=said, test_name="sheet_news"))
        self._review()
        visit_door(page)
        self._gaps(spoken(words.MISSING), missing, "gap")
        show_stop_events(page)
        if not missing:
            self._standing()
        self._gaps(spoken(words.DOUBTED), doubted(page.view, verdict), "doubted")
        self._gaps(spoken(words.SET_ASIDE), set_aside(page.view, verdict), "aside")
        self._beside()
        follow_rows(page, followed(page.session, page.view))
        page.body.add_widget(Words(text=spoken(FIRST), role="small", tone="ink_soft"))
        if missing:
            page.strip(settings_strip(page.view))
        page.plain(spoken(RECORD_IT), lambda: page.open(f"event/{uuid6.uuid7()}"), "event")
        show_last_saved(page)
        self._main(missing)

    def _main(self, missing: list[Gap]) -> None:
        page, verdict = self.page, self.page.verdict
        first = next((gap for gap in missing if gap.step), None)
        asks = verdict.is_complete and (verdict.review not in ("requested", "accepted") or verdict.changed_since_review)
        paper = page.plain if first or asks else page.main
        paper(spoken("The person's sheet"), lambda: PaperPane(page), "person_sheet")
        if asks:
            again = bool(verdict.review)
            page.main(spoken("Send for review again") if again else spoken("Send for review"), self.request, "request_review")
        elif first:
            page.main(spoken("Go on: {title}", title=first.title), lambda: page.go(first.step), "main")

    def _gaps(self, heading: str, found: list[Gap], name: str) -> None:
        """One row a step, with its sentences and the way there."""
        if not found:
            return
        self.page.body.add_widget(Words(text=heading, role="lead", bold=True))
        for gap in found:
            row = ListRow(
                title=gap.title, trailing=f"{state_words(gap.state)}, {spoken(words.GO_THERE)}" if gap.step else state_words(gap.state),
                row_state=_STATES.get(gap.state, gap.state), test_name=f"{name}:{gap.step}", pressable=bool(gap.step),
                subtitle="\n".join(gap.sentences), subtitle_role="body",
            )
            row.fbind("on_release", lambda *_, key=gap.step: self.page.go(key))
            self.page.body.add_widget(row)

    def _standing(self) -> None:
        """What was reached, calmly: nothing here asks for anything."""
        for found in standing(self.page.view, self.page.verdict):
            column = Column(ground_tone="field", padding=[18, 12, 18, 12], spacing=2, test_name=f"stands:{found.key}")
            column.add_widget(Words(text=found.title, tone="ink_soft"))
            column.add_widget(Words(text=found.figure, role="lead", bold=True))
            column.add_widget(Words(text=found.more))
            self.page.body.add_widget(column)

    def _beside(self) -> None:
        """What is attached, and what lies on this tablet only."""
        page = self.page
        attached = attached_words(page.view)
        if attached:
            page.body.add_widget(ListRow(title=spoken(words.ATTACHED), trailing=attached, pressable=False, test_name="attached"))
        if not page.session.is_practice:
            count, _since = page.session.unsent()
            row = ListRow(title=spoken(words.UNSENT_TITLE), trailing=unsent_words(count), test_name="unsent", pressable=bool(count))
            row.fbind("on_release", lambda *_: page.stage.go_sync())
            page.body.add_widget(row)
        photo_door(page)

    def _review(self) -> None:
        verdict, edition = self.page.verdict, self.page.view.edition
        if not verdict.review:
            return
        said = review_word(verdict.review, verdict.changed_since_review)
        kind = "doubt" if verdict.review == "rejected" else "info"
        self.page.body.add_widget(Banner(kind=kind, lead=spoken("Review: {said}.", said=said), test_name="review"))
        for step, text in verdict.review_remarks:
            titles = {s.key: s.title for s in edition.steps}
            row = ListRow(title=titles.get(step, step), subtitle=text, trailing=spoken("remark"), test_name=f"remark:{step}")
            row.fbind("on_release", lambda *_, key=step: self.page.go(key))
            self.page.body.add_widget(row)
        if verdict.review == "rejected" and verdict.is_complete:
            self._answer()

    def _answer(self) -> None:
        """Room to answer the remarks in words; sent with what is sent for review again."""
        form = SlotForm(self.page.session, self.page.fitting, REVIEW, self.page.view.edition.kinds[REQUEST])
        note = TextField(test_name="field:note", label=form.kind.field("note").label, text=str(form.typed.get("note", "")))
        note.fbind("on_edit", lambda _field, text: form.edit("note", text))
        self.page.body.add_widget(note)

    def request(self) -> None:
        """Ask the lead clinician for the review; signed by who asks."""
        page = self.page
        form = SlotForm(page.session, page.fitting, REVIEW, page.view.edition.kinds[REQUEST])
        note = str(form.typed.get("note", "")).strip()
        entry = page.attempt(lambda: page.session.save(
            REQUEST, page.view.subject, {"note": note} if note else {}, draft=form.draft_place,
        ))
        if entry is not None:
            page.saved(entry)
            page.show_missing()
