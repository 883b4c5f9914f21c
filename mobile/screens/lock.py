"""Who is working: choose yourself, then type your PIN."""

from __future__ import annotations

from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.screens.frame import StagePage
from mobile.widgets.listing import ListRow
from mobile.widgets.pin_pad import PinPad
from mobile.widgets.surface import Words


def lock_name(staff: str) -> str:
    """Return what the locked screen calls somebody: the short name, no full name."""
    stem = staff.rpartition("-")[0] if staff.startswith("p-") else staff
    return stem.removeprefix("p-").replace("-", " ")


class LockPage(StagePage):
    """Nothing is readable until somebody's PIN fits."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False, has_side=True)
        self.header.who = "Stancebook"
        self.header.detail = "locked"
        self.head("Who is working?", "Choose yourself, then type your PIN.")
        self.staff = ""
        self.rows = {}
        for staff in stage.tablet.people():
            row = ListRow(title=lock_name(staff), test_name=f"person:{staff}")
            row.fbind("on_release", lambda _row, s=staff: self.choose(s))
            self.rows[staff] = row
            self.body.add_widget(row)
        self.pad = PinPad(test_name="pin_pad", enter_words="unlock", least_digits=6, most_digits=12)
        self.pad.fbind("on_pin", lambda _pad, digits: self.unlock(digits))
        self.side.add_widget(self.pad)
        self.foot.add_widget(Words(text="Nothing on this tablet can be read while it is locked."))
        self.choose(next(iter(self.rows), ""))

    def choose(self, staff: str) -> None:
        """Take somebody as the one who will type."""
        self.staff = staff
        self.pad.forget()
        self.pad.message = ""
        self.pad.label = f"PIN of {lock_name(staff)}" if staff else ""
        for name, row in self.rows.items():
            row.trailing = "chosen" if name == staff else ""
            row.ground_tone = "panel" if name == staff else "field"

    def unlock(self, pin: str) -> None:
        """Try the PIN; say what is wrong when it does not fit."""
        try:
            session = self.stage.tablet.unlock(self.staff, pin)
        except Refusal as refusal:
            self.pad.message = refusal_sentence(refusal)
            return
        self.stage.unlocked(session)
