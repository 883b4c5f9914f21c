"""The technician's sign-off: the tablet changes hands, and nothing but the list can be signed meanwhile."""

from __future__ import annotations

from typing import Iterator

from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording import signed_screws as words_of
from shared_models.wording.dates import clock_words
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.signed_screws import SignedScrew, signed_screws
from mobile.flows.forms import SlotForm
from mobile.flows.tuning import settings_strip
from mobile.screens.form_pane import FormPane
from mobile.widgets.banner import Banner
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.pin_pad import PinPad
from mobile.widgets.surface import Column, Row, Words
from mobile.widgets.marks import StateMark

_PAD_SHARE = 0.4
_ROWS_A_FRAME = 3


class SignOffPane:
    """First the prosthetist gives the tablet away; then it is the technician's; then it goes back.

    While the technician holds it there is no way to anything else: no rail, no
    way out of the fitting.  'Back' returns to the giving, without a PIN.
    """

    def __init__(self, page):
        self.page = page
        self.screws = signed_screws(page.view)
        self.form = SlotForm(page.session, page.fitting, "sign_off")
        self.pane: FormPane | None = None
        self.pad: PinPad | None = None
        self.technician = ""
        self.refused = Banner(kind="doubt", test_name="give:refused")
        page.in_parts(self._giving())

    # Giving it away -----------------------------------------------------------

    def give(self) -> None:
        """Who signs, and what they will sign."""
        for _ in self._giving():
            pass

    def _giving(self) -> Iterator[None]:
        page = self.page
        page.heading(spoken("Give the tablet to the technician"))
        yield
        options = self._technicians()
        if not options:
            page.body.add_widget(Banner(kind="doubt", text=spoken(words_of.NO_TECHNICIAN), test_name="no_technician"))
        known = str(self.form.typed.get("technician") or "")
        known = known if known in dict(options) else ""
        self.technicians = ChoiceRow(
            test_name="field:technician", label=spoken("Technician"), options=options,
            value=known or (options[0][0] if len(options) == 1 else ""),
        )
        self.technicians.fbind("on_edit", lambda _row, staff: self.form.edit("technician", staff))
        if options:
            page.body.add_widget(self.technicians)
        yield
        for number, screw in enumerate(self.screws, start=1):
            page.body.add_widget(_row(screw))
            if number % _ROWS_A_FRAME == 0:
                yield
        page.strip(settings_strip(page.view))
        page.plain(spoken("Back"), page.show_cards, "back")
        if options:
            page.main(spoken("Give the tablet away"), self.given, "give")

    def given(self) -> None:
        """The tablet is handed over, unless there is nothing to sign yet."""
        sentence = words_of.not_recorded(self.screws)
        if not self.technicians.value:
            sentence = spoken(words_of.CHOOSE_WHO)
        if sentence:
            self.refused.text = sentence
            if self.refused.parent is None:
                self.page.body.add_widget(self.refused, index=len(self.page.body.children) - 1)
            self.page.scroll_to_top()
            return
        self.technician = self.technicians.value
        self.form.edit("technician", self.technician)
        self._lock()
        self.held()

    def _technicians(self) -> list[tuple[str, str]]:
        """People with a PIN here who may sign: technicians other than the prosthetist."""
        record = self.page.session.record
        return [
            (staff, record.name_of(staff)) for staff in self.page.stage.tablet.people()
            if "technician" in (record.staff_body(staff).get("roles") or ())
            and staff != self.page.view.prosthetist
        ]

    def _list(self) -> None:
        for screw in self.screws:
            self.page.body.add_widget(_row(screw))

    # In the technician's hands ------------------------------------------------

    def held(self) -> None:
        """The list, how it is known, and the PIN; nothing else."""
        page, name = self.page, self._name()
        page.begin_content()
        page.head(spoken(words_of.HELD_TITLE, name=name), spoken(words_of.HELD_LEAD))
        self.pane = FormPane(self.form, page.body, page.keypad, leave_out=("technician",))
        self._list()
        self.pad = PinPad(
            test_name="pin_pad", label=spoken("PIN of {name}", name=name), enter_words=spoken("sign"), least_digits=6, most_digits=12,
        )
        self.pad.fbind("on_pin", lambda _pad, digits: self.sign(digits))
        page.has_side, page.side_share = True, _PAD_SHARE
        page.side.add_widget(self.pad)
        page.plain(spoken("Give it back, unsigned"), self.take_back, "back")
        page.scroll_to_top()

    def sign(self, pin: str) -> None:
        """Unlock the technician's own key and sign with it."""
        assert self.pane is not None and self.pad is not None
        if self.pane.refuse():
            self.pad.message = spoken(words_of.CHOOSE_HOW)
            return
        try:
            keys = self.page.stage.tablet.unlock_beside(self.page.session, self.technician, pin)
        except Refusal as refusal:
            self.pad.message = refusal_sentence(refusal)
            return
        entry = self.pane.save(self.page.saved, signed_with=keys)
        if entry is not None:
            self.signed(entry)

    def signed(self, entry) -> None:
        """It is signed: the tablet goes back before anything else is done with it."""
        page = self.page
        page.begin_content()
        lead = spoken(words_of.SIGNED_LEAD, name=self._name(), count=len(self.screws), time=clock_words(entry.recorded_at))
        page.head(spoken("Signed"), lead)
        back = spoken(words_of.GIVE_BACK, name=page.session.record.name_of(page.session.staff))
        page.body.add_widget(Banner(kind="info", lead=back))
        self._list()
        page.main(spoken("I have it back"), self.back_signed, "handed_back")
        page.scroll_to_top()

    # Back to the prosthetist ----------------------------------------------------

    def take_back(self) -> None:
        """Unsigned: the prosthetist's own step again."""
        self._unlock()
        self.page.begin_content()
        self.give()
        self.page.scroll_to_top()

    def back_signed(self) -> None:
        """Signed: the step as it now stands."""
        self._unlock()
        self.page.go_on("sign_off")

    def _lock(self) -> None:
        """No way to anything but the list: whoever holds the tablet is not who is at work."""
        self.page.has_rail = False
        self.page.header.leave_words = ""
        self.page.header.disabled = True

    def _unlock(self) -> None:
        self.page.has_rail = True
        self.page.header.leave_words = spoken("Fittings")
        self.page.header.disabled = False

    def _name(self) -> str:
        return self.page.session.record.name_of(self.technician)


def _row(screw: SignedScrew) -> Column:
    """One screw: what is asked, what was read, with which wrench, by whom and when."""
    column = Column(
        ground_tone="field", padding=[18, 10, 18, 10], spacing=2, test_name=f"signs:{screw.key}",
        bar_tone="hairline" if screw.is_within else "doubt",
    )
    first = Row(spacing=12)
    first.add_widget(Words(text=screw.name, bold=True))
    mark = StateMark(state="met" if screw.is_within else "open", fill_tone="field", size_hint=(None, None), size=(26, 26), pos_hint={"center_y": 0.5})
    first.add_widget(mark)
    column.add_widget(first)
    column.add_widget(Words(text=screw.reading or spoken("not recorded"), role="unit", bold=True))
    within = "" if screw.is_within or not screw.is_recorded else spoken(", outside of that")
    column.add_widget(Words(text=screw.asked + within))
    if screw.is_recorded:
        column.add_widget(Words(text=f"{screw.wrench} · {screw.by}"))
    return column
