"""Why each step stands as it does, over the page one is on: nothing is left to look it up."""

from __future__ import annotations

from shared_models.language import phrase, spoken
from shared_models.wording import closing as words
from shared_models.wording.states import state_words
from mobile.flows.board import Gap, gaps
from mobile.flows.last_look import doubted, set_aside
from mobile.widgets.listing import ListRow
from mobile.widgets.sheet import Sheet

_MARKS = {"not applicable": "not_applicable"}
NOTHING = phrase("Nothing is open, stale or disputed, and nothing was set aside.")
LEAD = phrase("Press a step to go there; any order will do, and each says itself what usually comes first.")


def reasons(view, verdict, first: str) -> list[Gap]:
    """Return each step of which there is something to say, the one called ``first`` on top."""
    found = [g for g in (*gaps(view, verdict), *doubted(view, verdict), *set_aside(view, verdict)) if g.step]
    return sorted(found, key=lambda gap: gap.step != first)


class WhySheet(Sheet):
    """One row a step: its title, its state, every sentence about it; pressing it goes there."""

    def __init__(self, page):
        found = reasons(page.view, page.verdict, page.step_key)
        super().__init__(
            title=spoken("Where each step stands, and why"), lead=spoken(LEAD) if found else spoken(NOTHING), test_name="rail_why",
            main_words=spoken("What this step asks for"), plain_words=spoken("Back"),
        )
        self.page = page
        for gap in found:
            row = ListRow(
                title=gap.title, subtitle="\n".join(gap.sentences), subtitle_role="body",
                trailing=f"{state_words(gap.state)}, {spoken('you are here') if gap.step == page.step_key else spoken(words.GO_THERE)}",
                row_state=_MARKS.get(gap.state, gap.state), test_name=f"rail_why:{gap.step}",
            )
            row.fbind("on_release", lambda _row, key=gap.step: self._go(key))
            self.content.add_widget(row)

    def on_confirm(self) -> None:
        """Show the step one is at from its beginning."""
        self._go(self.page.step_key)

    def _go(self, step: str) -> None:
        self.dismiss()
        self.page.go(step)
