"""The technician's sign-off: exactly what is signed, by a second person's own PIN."""

from __future__ import annotations

from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.forms import SlotForm
from mobile.flows.tuning import settings_strip
from mobile.screens.form_pane import FormPane
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.listing import ListRow
from mobile.widgets.pin_pad import PinPad


class SignOffPane:
    """Lists the torque entries, then takes the technician's PIN over them."""

    def __init__(self, page):
        self.page = page
        page.heading("Technician's sign-off")
        for screw in page.view.screws():
            page.body.add_widget(self._row(screw))
        form = SlotForm(page.session, page.fitting, "sign_off")
        self.technicians = ChoiceRow(
            test_name="field:technician", label="Technician", options=self._technicians(),
            value=str(form.typed.get("technician", "")),
        )
        self.technicians.fbind("on_edit", lambda _row, staff: form.edit("technician", staff))
        page.body.add_widget(self.technicians)
        self.pane = FormPane(form, page.body, page.keypad, leave_out=("technician",))
        self.pad = PinPad(
            test_name="pin_pad", label="The technician's own PIN", enter_words="sign",
            least_digits=6, most_digits=12,
        )
        self.pad.fbind("on_pin", lambda _pad, digits: self.sign(digits))
        page.has_side, page.side_share = True, 0.4
        page.side.add_widget(self.pad)
        page.strip(settings_strip(page.view))
        page.plain("Back", page.show_cards, "back")

    def _row(self, screw) -> ListRow:
        head = self.page.view.head(f"torque_final/{screw.key}")
        lowest, highest = screw.screw.window_nm(final=True)
        asked = f"asked {lowest.normalize():f} to {highest.normalize():f} N·m"
        if head is None:
            return ListRow(title=screw.screw.name, subtitle=asked, trailing="not recorded", row_state="open", pressable=False)
        body = head.body
        by = self.page.view.record.name_of(head.recorded_by)
        return ListRow(
            title=screw.screw.name,
            subtitle=f"{asked} · {body.get('wrench')}, calibrated {body.get('wrench_calibrated_on')} · by {by}",
            trailing=f"{body.get('reading_nm')} N·m", row_state="met", pressable=False,
            test_name=f"signs:{screw.key}",
        )

    def _technicians(self) -> list[tuple[str, str]]:
        """People with a PIN here who may sign: technicians other than the prosthetist."""
        record = self.page.session.record
        return [
            (staff, record.name_of(staff)) for staff in self.page.stage.tablet.people()
            if "technician" in (record.staff_body(staff).get("roles") or ())
            and staff != self.page.view.prosthetist
        ]

    def sign(self, pin: str) -> None:
        """Unlock the technician's own key and sign with it."""
        staff = self.technicians.value
        form = self.pane.form
        form.edit("technician", staff)
        if self.pane.refuse() or not staff:
            self.pad.message = "Choose who signs and how, then type the PIN."
            return
        missing = [s for s in self.page.view.screws() if self.page.view.head(f"torque_final/{s.key}") is None]
        if missing:
            self.pad.message = "Not every screw has its final torque yet."
            return
        try:
            keys = self.page.stage.tablet.unlock_beside(self.page.session, staff, pin)
        except Refusal as refusal:
            self.pad.message = refusal_sentence(refusal)
            return
        if self.pane.save(self.page.saved, signed_with=keys):
            self.page.go(self.page.step_key)
