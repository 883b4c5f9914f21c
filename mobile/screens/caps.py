"""Caps ticked one by one against their drawing: one tap each, in the sheet's order."""

from __future__ import annotations

from shared_models.drawings.component_map import Mark
from mobile.flows.closing import card_in, closed_before, drawn_parts, tick_cap
from mobile.flows.tuning import settings_strip
from mobile.screens.attached import photo_door
from mobile.screens.component_map import ComponentMap
from mobile.screens.correcting import show_last_saved
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import Answers, MainButton, PlainButton
from mobile.widgets.focus_order import bring_into_sight
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Column, Words
from shared_models.language import spoken

CAPS = "caps"
_PICTURE_SHARE = 0.44


def show_caps(page) -> None:
    """Show the step of the caps in place of its list."""
    CapsPane(page)
    page.scroll_to_top()


class CapsPane:
    """Every cap with its number in the drawing; 'Seated' saves it, 'Not seated' says so."""

    def __init__(self, page, slot: str = ""):
        self.page = page
        page.heading()
        self.parts = drawn_parts(page.view, page.verdict, "cap", slot or self._first_open())
        self.rows: dict[str, Column | ListRow] = {}
        for part in self.parts:
            for mark in part.marks:
                self.rows[mark.key] = self._row(mark)
                page.body.add_widget(self.rows[mark.key])
        if not self.parts:
            self._say_none()
        else:
            self._show_map()
        if page.view.screws():
            page.quiet(spoken("A screw was slackened or moved"), page.show_screws, "screw_moved", page.body)
        photo_door(page)
        page.strip(settings_strip(page.view))
        show_last_saved(page)
        page.main_next_step()

    def _say_none(self) -> None:
        for text in self.page._step_notes():
            self.page.body.add_widget(Banner(kind="doubt", text=text))

    def _show_map(self) -> None:
        page = self.page
        page.picture.add_widget(ComponentMap(self.parts, self.see))
        page.picture_share, page.has_picture = _PICTURE_SHARE, True

    def _first_open(self) -> str:
        marks = [m for part in drawn_parts(self.page.view, self.page.verdict, "cap") for m in part.marks]
        return next((m.key for m in marks if m.state not in ("met", "waived")), "")

    def _row(self, mark: Mark):
        found = card_in(self.page.view, self.page.verdict, mark.key)
        title = f"{mark.number}  {mark.name}"
        if found.is_done:
            row = ListRow(
                title=title, subtitle=found.recorded, trailing=spoken("seated"), row_state="met", test_name=f"card:{mark.key}",
            )
            row.fbind("on_release", lambda *_: self.page.open(mark.key))
            return row
        return self._asking(mark, title, found)

    def _asking(self, mark: Mark, title: str, found) -> Column:
        """A cap that is still to be seated, with its two answers."""
        state = {"open": spoken("to be seated"), "doubt": spoken("recorded as not seated")}.get(mark.state, found.state)
        column = Column(
            ground_tone="field", padding=[18, 12, 18, 12], spacing=8, test_name=f"cap_row:{mark.key}",
            bar_tone="working" if mark.in_hand else "hairline",
        )
        column.add_widget(Words(text=title, bold=True))
        column.add_widget(Words(text=state, tone="ink_soft"))
        before = closed_before(self.page.view, self.page.verdict, mark.key)
        said = [s for s in found.sentences if mark.state == "stale"]
        said += [spoken("Goes on over: {before}. Seat that first.", before=', '.join(before))] if before else []
        if said:
            column.add_widget(Words(text=" ".join(said)))
        answers = []
        if mark.state != "doubt":
            no = PlainButton(text=spoken("Not seated"), fit=True, test_name=f"not_seated:{mark.key}")
            no.fbind("on_release", lambda *_: self.tick(mark.key, False))
            answers.append(no)
        yes = MainButton(text=spoken("Seated"), fit=True, test_name=f"seated:{mark.key}")
        yes.fbind("on_release", lambda *_: self.tick(mark.key, True))
        answers.append(yes)
        column.add_widget(Answers(*answers))
        return column

    def see(self, key: str) -> None:
        """A mark in the drawing was pressed: its row comes into sight, and is the one in hand."""
        for other, row in self.rows.items():
            if isinstance(row, Column) and not isinstance(row, ListRow):
                row.bar_tone = "working" if other == key else "hairline"
        self.page.picture.children[0].show(drawn_parts(self.page.view, self.page.verdict, "cap", key))
        bring_into_sight(self.rows[key])

    def tick(self, slot: str, seated: bool) -> None:
        """Save one cap, and show the page as it then is."""
        page = self.page
        entry = page.attempt(lambda: tick_cap(page.session, page.fitting, slot, seated))
        if entry is not None:
            page.saved(entry)
            page.show_cards()
