"""What a code on a part says, or the question that it leaves open."""

from __future__ import annotations

from dataclasses import dataclass

GS1, HIBC, PLAIN = "GS1", "HIBC", "plain"


@dataclass(frozen=True)
class PartCode:
    """One reading of a code; '' for what it does not say.

    ``issuer``: whose rules it follows, ``plain`` for the maker's own marking;
    ``device_identifier``: labeler and model (GTIN of 14 digits, or HIBC labeler,
    product and unit of measure); dates are ISO days, the last day of the month
    where the code gives a month only; ``further``: (name, value) of the rest.
    ``supplied``: how many separators were missing in this reading.
    """

    issuer: str
    device_identifier: str = ""
    lot: str = ""
    serial: str = ""
    manufactured_on: str = ""
    expires_on: str = ""
    further: tuple[tuple[str, str], ...] = ()
    supplied: int = 0

    @property
    def says(self) -> tuple[str, ...]:
        """What tells two readings apart, whichever way they were come by."""
        return (self.device_identifier, self.lot, self.serial, self.manufactured_on, self.expires_on)

    def stated(self) -> dict[str, str]:
        """Return what the code says, by name, without what it does not say."""
        names = ("device_identifier", "lot", "serial", "manufactured_on", "expires_on")
        return {name: value for name, value in zip(names, self.says) if value}


@dataclass(frozen=True)
class Question:
    """More than one reading is possible, or one only under an assumption.

    ``because``: ``separator_missing``, ``not_marked_as_gs1`` (it may be the
    maker's own number) or ``space_may_be_missing`` (the check character of an
    HIBC code may be a space that got lost).  The reading nearest to what was
    typed comes first.
    """

    readings: tuple[PartCode, ...]
    because: str
