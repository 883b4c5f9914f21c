"""Before a first walk: the caution and who stands by; afterwards who and which aid, changed at a press."""

from __future__ import annotations

from typing import Callable

from shared_models.language import spoken
from shared_models.wording import trials as words
from mobile.flows.forms import SlotForm
from mobile.flows.trial_notes import known_helpers
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import PlainButton
from mobile.widgets.choices import ChoiceRow, FieldGrid
from mobile.widgets.sheet import Sheet
from mobile.widgets.surface import Words
from mobile.widgets.text_field import TextField

STANDS_BY, AID = "stands_by", "aid"


class BeginPart:
    """The caution of a first walk, and who stands by: asked before anything is walked.

    ``on_begin`` is called once both are said.
    """

    def __init__(self, page, form: SlotForm, on_begin: Callable[[], None]):
        self.page, self.form, self.on_begin = page, form, on_begin
        page.body.add_widget(Banner(kind="caution", text=" ".join(page.step.cautions), test_name="caution"))
        self.aid = None
        if not form.typed.get(AID):
            self.aid = aid_field(form, lambda *_: None)
            page.body.add_widget(self.aid)
        page.body.add_widget(Words(text=spoken(words.WHO), bold=True))
        grid = FieldGrid()
        known = known_helpers(page.view)
        for number, name in enumerate(known, 1):
            button = PlainButton(text=name, test_name=f"stands_by:{number}")
            button.fbind("on_release", lambda *_, who=name: self.choose(who))
            grid.add_widget(button)
        page.body.add_widget(grid)
        said = str(form.typed.get(STANDS_BY, ""))
        self.who = TextField(
            test_name=f"field:{STANDS_BY}", label=spoken(words.WHO_OTHER) if known else spoken(words.WHO_NAME), text="" if said in known else said,
        )
        self.who.fbind("on_edit", lambda _w, text: form.edit(STANDS_BY, text))
        page.body.add_widget(self.who)

    def choose(self, who: str) -> None:
        """Somebody known stands by: go on at once."""
        self.form.edit(STANDS_BY, who)
        self.who.text = who
        self.go_on()

    def go_on(self) -> None:
        """Begin, once it is said who stands by and which aid is used."""
        if not str(self.form.typed.get(STANDS_BY, "")).strip():
            self.who.message, self.who.message_kind = spoken(words.NOBODY), "refusal"
            return
        if self.aid is not None and not self.form.typed.get(AID):
            self.aid.message, self.aid.message_kind = spoken(words.SAY_AID), "refusal"
            return
        self.on_begin()


def aid_field(form: SlotForm, on_choose: Callable[[str], None]) -> ChoiceRow:
    """Return the question for the aid; an answer is kept at once, then handed on."""
    field = form.kind.field(AID)
    row = ChoiceRow(
        test_name=f"field:{AID}", label=field.label, value=str(form.typed.get(AID, "")),
        options=list(form.view.edition.choices[field.choices].items()),
    )

    def chosen(_row, value: str) -> None:
        form.edit(AID, value)
        row.message = row.message_kind = ""
        on_choose(value)

    row.fbind("on_edit", chosen)
    return row


class WhoSheet(Sheet):
    """Another person stands by: one press on a known name, or a name is typed."""

    def __init__(self, form: SlotForm, then: Callable[[], None]):
        super().__init__(test_name="who_sheet", title=spoken(words.WHO), main_words=spoken(words.TAKE), plain_words=spoken(words.LEAVE_SO))
        self.form, self.then = form, then
        for number, name in enumerate(known_helpers(form.view), 1):
            button = PlainButton(text=name, test_name=f"stands_by:{number}")
            button.fbind("on_release", lambda *_, who=name: self.take(who))
            self.content.add_widget(button)
        self.who = TextField(test_name="field:stands_by", label=spoken(words.WHO_OTHER))
        self.content.add_widget(self.who)

    def on_confirm(self) -> None:
        """Take the name that was typed."""
        name = self.who.text.strip()
        if not name:
            self.who.message, self.who.message_kind = spoken(words.NOBODY), "refusal"
            return
        self.take(name)

    def take(self, who: str) -> None:
        """Somebody stands by from now on."""
        self.form.edit(STANDS_BY, who)
        self.dismiss()
        self.then()


class AidSheet(Sheet):
    """Another aid is used: one press."""

    def __init__(self, form: SlotForm, then: Callable[[], None]):
        super().__init__(test_name="aid_sheet", title=spoken(words.AID_USED), main_words=spoken(words.TAKE), plain_words=spoken(words.LEAVE_SO))
        self.then = then
        self.content.add_widget(aid_field(form, lambda _value: self.on_confirm()))

    def on_confirm(self) -> None:
        """Go on with what is chosen."""
        self.dismiss()
        self.then()
