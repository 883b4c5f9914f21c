"""What a technician signs, screw by screw, in words; the same on the screen and on paper."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.checks.rules_torque import FINAL, calibration_state
from shared_models.checks.torque_reading import torque_reading
from shared_models.entries.fitting import FittingView, PlacedScrew
from shared_models.language import phrase, spoken
from shared_models.quantities.moments import day_of
from shared_models.wording.dates import moment_words
from shared_models.wording.torque import CALIBRATION, reading_words, wrench_words

NO_TECHNICIAN = (
    phrase("Nobody with the technician's role, other than the prosthetist of this fitting, has a PIN on this tablet. A lead clinician or the server adds one.")
)
NOT_EVERY_SCREW = phrase("Not every screw has its final torque yet: {names}. Tighten and record them first.")
GIVE_LEAD = phrase("Give the tablet to {name}. They see exactly this list, and sign it with their own PIN.")
HELD_TITLE = phrase("For {name}: what you sign")
HELD_LEAD = phrase("Your PIN says that these screws hold as listed. Nothing else opens while you hold the tablet.")
SIGNED_LEAD = phrase("{name} signed {count} screws at {time}.")
GIVE_BACK = phrase("Give the tablet back to {name}.")
CHOOSE_HOW = phrase("Choose how you know it, then type your PIN.")
CHOOSE_WHO = phrase("Choose the technician who signs.")


@dataclass(frozen=True)
class SignedScrew:
    """One screw as it is signed; every text '' where nothing is recorded."""

    key: str
    name: str
    asked: str
    reading: str
    is_within: bool
    wrench: str
    by: str

    @property
    def is_recorded(self) -> bool:
        """Whether there is a final torque to sign."""
        return bool(self.reading)


def signed_screws(view: FittingView) -> list[SignedScrew]:
    """Return every screw of the leg with its final torque, from the socket down."""
    return [_signed(view, screw) for screw in view.screws()]


def _signed(view: FittingView, placed: PlacedScrew) -> SignedScrew:
    lowest, highest = placed.screw.window_nm(final=True)
    asked = spoken("asked {figure:f} N·m, {lowest:f} to {highest:f}", figure=placed.screw.final_nm.normalize(), lowest=lowest.normalize(), highest=highest.normalize())
    head = view.head(f"{FINAL}/{placed.key}")
    if head is None:
        return SignedScrew(placed.key, placed.screw.name, asked, "", False, "", "")
    body, read = head.body, torque_reading(head.body)
    reading = reading_words(read, str(body.get("reading_nm") or ""), view.edition.words("torque_unit", read.unit))
    calibrated, day = str(body.get("wrench_calibrated_on") or ""), day_of(head.happened_at)
    state = CALIBRATION[calibration_state(calibrated, day)]
    wrench = ", ".join(part for part in (spoken("wrench {name}", name=body.get("wrench")), wrench_words(calibrated), state if calibrated else "") if part)
    return SignedScrew(
        placed.key, placed.screw.name, asked, reading or spoken("not readable"),
        read.true_nm is not None and lowest <= read.true_nm <= highest, wrench,
        spoken("by {by}, {time}", by=view.record.name_of(head.recorded_by), time=moment_words(head.happened_at)),
    )


def not_recorded(screws: list[SignedScrew]) -> str:
    """Return the sentence that keeps a list from being signed; '' when nothing does."""
    names = "; ".join(s.name for s in screws if not s.is_recorded)
    return spoken(NOT_EVERY_SCREW, names=names) if names else ""
