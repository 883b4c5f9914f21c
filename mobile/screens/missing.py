"""Nothing forgotten: what is still missing, the review, and what came back."""

from __future__ import annotations

import uuid6

from shared_models.wording.states import FIRST, VERDICT, restriction_line, review_word
from mobile.flows.board import gaps
from mobile.flows.tuning import settings_strip
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Words


class MissingPane:
    """The verdict in words, every gap with its way there, and sending for review."""

    def __init__(self, page):
        self.page = page
        verdict = page.verdict
        missing = gaps(page.view, verdict)
        lead = "Everything is there." if not missing else "Choose one to go there."
        page.head(f"This fitting is {VERDICT[verdict.state]}", lead)
        restricted = restriction_line(verdict.restrictions)
        if restricted:
            page.body.add_widget(Banner(kind="info", lead=restricted, test_name="restriction"))
        self._review()
        for gap in missing:
            row = ListRow(
                title=gap.title, subtitle="\n".join(gap.sentences), trailing=gap.state,
                row_state=gap.state, test_name=f"gap:{gap.step}", pressable=bool(gap.step),
            )
            row.fbind("on_release", lambda *_, key=gap.step: page.go(key))
            page.body.add_widget(row)
        page.body.add_widget(Words(text=FIRST, role="small", tone="ink_soft"))
        page.strip(settings_strip(page.view))
        page.plain("Record a fall, pain or fault", lambda: page.open(f"event/{uuid6.uuid7()}"), "event")
        if verdict.is_complete and verdict.review not in ("requested", "accepted"):
            page.main("Send for review", self.request, "request_review")
        elif verdict.is_complete and verdict.changed_since_review:
            page.main("Send for review again", self.request, "request_review")

    def _review(self) -> None:
        verdict, edition = self.page.verdict, self.page.view.edition
        if not verdict.review:
            return
        words = review_word(verdict.review, verdict.changed_since_review)
        kind = "doubt" if verdict.review == "rejected" else "info"
        self.page.body.add_widget(Banner(kind=kind, lead=f"Review: {words}.", test_name="review"))
        for step, text in verdict.review_remarks:
            titles = {s.key: s.title for s in edition.steps}
            row = ListRow(title=titles.get(step, step), subtitle=text, trailing="remark", test_name=f"remark:{step}")
            row.fbind("on_release", lambda *_, key=step: self.page.go(key))
            self.page.body.add_widget(row)

    def request(self) -> None:
        """Ask the lead clinician for the review; signed by who asks."""
        page = self.page
        entry = page.attempt(
            lambda: page.session.save("review_requested", page.view.subject, {})
        )
        if entry is not None:
            page.saved(entry)
            page.show_missing()
