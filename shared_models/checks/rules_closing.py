"""Rules of the sign-off and the next review."""

from __future__ import annotations

from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import rule
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.entries.roles import had_role
from shared_models.quantities.moments import day_of


@rule
def signed_by_technician(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A second person with the technician's role signs, for themself."""
    technician = str(entry.body.get("technician", ""))
    name = view.record.name_of(technician)
    if technician != entry.recorded_by:
        return [Remark("signed_for_another", slot, entry.digest, {"name": name})]
    if technician == view.prosthetist:
        return [Remark("signed_by_prosthetist", slot, entry.digest, {"name": name})]
    if not had_role(view.record, technician, "technician", entry):
        return [Remark("not_a_technician", slot, entry.digest, {"name": name})]
    recorders = {
        e.recorded_by for n in view.expand("torque_final/*") for e in view.heads(n)
    }
    if recorders == {technician}:
        return [Remark("technician_alone", slot, entry.digest, {"name": name})]
    return []


@rule
def signature_is_there(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The sign-off carries a valid signature of its author."""
    meaning = view.edition.kinds[entry.kind].signed_as
    if view.record.has_signed(entry, meaning):
        return []
    name = {"name": view.record.name_of(entry.recorded_by)}
    if view.record.has_signed_unvouched(entry, meaning):
        return [Remark("signature_unvouched", slot, entry.digest, name)]
    return [Remark("signature_missing", slot, entry.digest, name)]


@rule
def review_date_is_ahead(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The next review lies after the day it was planned on."""
    if str(entry.body.get("review_on", "")) > day_of(entry.happened_at).isoformat():
        return []
    return [Remark("review_not_ahead", slot, entry.digest, {"date": str(entry.body.get("review_on", ""))})]
