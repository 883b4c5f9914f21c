"""Choosing the wrench from the clinic's list, each with its calibration by word and mark."""

from __future__ import annotations

from typing import Callable

from shared_models.language import spoken
from shared_models.wording.torque import CALIBRATION, CHANGE_WRENCH, OTHER_WRENCH, wrench_words
from mobile.flows.torque_form import TorqueForm
from mobile.flows.wrenches import Wrench
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Column, Words

#: In date is done, soon to be calibrated a broken ring, out of date and not known an open one.
_MARKS = {"in_date": "met", "due_soon": "stale", "out_of_date": "open", "": "open"}


class WrenchPart(Column):
    """One row with the wrench in hand; pressed, it opens the list of all of them."""

    def __init__(self, form: TorqueForm, take: Callable[[str], None], name: Callable[[], None], **kwargs):
        super().__init__(test_name="wrenches", spacing=4, **kwargs)
        self._form, self._take, self._name = form, take, name
        self._open = False
        self.show()

    def show(self) -> None:
        """Show the wrench in hand, or the list while none is."""
        self.clear_widgets()
        chosen = self._form.wrench if self._form.chooses_wrench else None
        label = spoken("Wrench")
        if chosen is not None and not self._open:
            self.add_widget(Words(text=label, bold=True))
            row = self._row(chosen, "wrench:chosen", spoken(CHANGE_WRENCH))
            row.fbind("on_release", lambda *_: self._unfold())
            self.add_widget(row)
            return
        self.add_widget(Words(text=label, bold=True))
        for number, wrench in enumerate(self._form.wrenches, 1):
            row = self._row(wrench, f"wrench:{number}", spoken("in hand") if wrench is chosen else "")
            row.fbind("on_release", lambda *_, w=wrench: self._choose(w))
            self.add_widget(row)
        other = ListRow(title=spoken(OTHER_WRENCH), test_name="wrench:other")
        other.fbind("on_release", lambda *_: self._other())
        self.add_widget(other)

    def _row(self, wrench: Wrench, test_name: str, more: str) -> ListRow:
        subtitle = " · ".join(part for part in (wrench_words(wrench.calibrated_on), more) if part)
        return ListRow(
            title=wrench.name, subtitle=subtitle, test_name=test_name,
            trailing=CALIBRATION[wrench.state], row_state=_MARKS[wrench.state],
        )

    def _unfold(self) -> None:
        self._open = True
        self.show()

    def _choose(self, wrench: Wrench) -> None:
        self._open = False
        self._take(wrench.name)

    def _other(self) -> None:
        self._open = True
        self._name()
