"""Rules of the code on a part: what it says against what is recorded."""

from __future__ import annotations

from shared_models.calculations.part_codes import PartCode, Question, read_part_code
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import kept, rule
from shared_models.checks.sheet_taking import gtin_of
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import day_of
from shared_models.quantities.refusals import Refusal

#: What is compared, and the remark where it differs.
COMPARED = {"serial": "serial_differs", "lot": "lot_differs", "device_identifier": "device_identifier_differs"}


@rule
def part_not_expired(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A part past the day on its label is not built in without a reason."""
    expires = str(entry.body.get("expires_on") or "")
    if not expires or expires >= day_of(entry.happened_at).isoformat():
        return []
    return [Remark("part_expired", slot, entry.digest, {"date": expires}, blocks=not kept(entry))]


@rule
def code_agrees(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Serial, lot and identifier are what the code recorded beside them says."""
    code = str(entry.body.get("part_code") or "")
    if not code:
        return []
    try:
        found = read_part_code(code, day_of(entry.happened_at))
    except Refusal as refusal:
        figures = {"refused": refusal.code, **{k: str(v) for k, v in refusal.figures.items()}}
        return [Remark("part_code_unreadable", slot, entry.digest, figures, blocks=False)]
    typed = {key: str(entry.body.get(key) or "") for key in COMPARED}
    return [
        Remark(COMPARED[key], slot, entry.digest, {"coded": coded, "typed": typed[key]}, blocks=False)
        for key, coded in differences(found, typed).items()
    ]


@rule
def label_is_of_sheet(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The device identifier on the label is the one that the component's sheet states, where both are of one issuer."""
    sheet, marked = view.sheet_of(entry), str(entry.body.get("device_identifier") or "")
    stated = sheet.device_identifier if sheet else ""
    if not stated or not marked or stated.isdigit() != marked.isdigit() or stated == gtin_of(marked):
        return []
    figures = {"stated": stated, "marked": marked, "component": sheet.name if sheet else ""}
    return [Remark("label_of_another_part", slot, entry.digest, figures, blocks=False)]


def differences(found: PartCode | Question, typed: dict[str, str]) -> dict[str, str]:
    """Return what the code says otherwise than what is typed.

    Of several readings the one counts that contradicts least and agrees most.
    """
    readings = found.readings if isinstance(found, Question) else (found,)
    compared = [
        {key: value for key, value in reading.stated().items() if typed.get(key)} for reading in readings
    ]
    each = [{k: v for k, v in stated.items() if v != typed[k]} for stated in compared]
    nearest = min(range(len(each)), key=lambda n: (len(each[n]), -len(compared[n])))
    return each[nearest]
