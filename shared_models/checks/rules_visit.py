"""Rules of a visit after the first: what drifted, what is due, what is still open."""

from __future__ import annotations

from decimal import Decimal

from shared_models.calculations.service import OVERDUE
from shared_models.checks.drift import (
    Drift,
    drift_of_setting,
    drift_of_torque,
    drifts_of_alignment,
    mass_last_time,
)
from shared_models.checks.events import events_of, open_events
from shared_models.checks.parts_over_time import services
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import amount, kept, rule
from shared_models.checks.torque_reading import at_the_screw_nm
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import text_of
from shared_models.quantities.moments import day_of

#: A change of body mass after which socket and limits are looked at again: from memory.
MASS_CHANGE_KG = Decimal(5)


@rule
def setting_as_left(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """An adjuster stands where it was left; whoever finds it elsewhere is told, not stopped."""
    drift = drift_of_setting(view, str(entry.body.get("function", "")))
    return _drifted(drift, entry, slot) if drift else []


@rule
def alignment_as_left(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Load line and height as found lie where they were left."""
    return [remark for drift in drifts_of_alignment(view) for remark in _drifted(drift, entry, slot)]


def _drifted(drift: Drift, entry: Entry, slot: str) -> list[Remark]:
    if not drift.has_drifted or drift.difference is None or drift.left is None or drift.found is None:
        return []
    figures = {
        "name": drift.name, "left": text_of(drift.left), "found": text_of(drift.found), "unit": drift.unit,
        "off": text_of(abs(drift.difference)), "tolerance": text_of(drift.tolerance or Decimal(0)),
    }
    said = Remark("setting_drifted" if drift.is_position else "alignment_drifted", slot, entry.digest, figures, blocks=False)
    return [said]


@rule
def screw_has_held(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A screw that turned, or held below its window, is cleaned, locked and tightened again."""
    screw = view.screw(str(entry.body.get("screw", "")))
    reading = at_the_screw_nm(entry.body)
    if screw is None or reading is None:
        return []
    lowest, highest = screw.screw.window_nm(True)
    if entry.body.get("held") is True and lowest <= reading <= highest:
        return []
    figures = {"screw": screw.screw.name, "reading": text_of(reading), "lowest": text_of(lowest.normalize()), "highest": text_of(highest.normalize())}
    left = drift_of_torque(view, screw).left
    figures["left"] = text_of(left) if left is not None else "-"
    again = view.head(f"torque_final/{screw.key}") is not None
    too_high = entry.body.get("held") is True and reading > highest
    return [Remark("screw_checked_too_high" if too_high else "screw_worked_loose", slot, entry.digest, figures, blocks=not again)]


@rule
def difference_is_said(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Where a part is another one, or damaged, it is said what."""
    if entry.body.get("as_recorded") is True and entry.body.get("no_damage") is True:
        return []
    if not kept(entry, "differs"):
        return [Remark("difference_not_said", slot, entry.digest)]
    words = {"differs": str(entry.body.get("differs", "")).strip()}
    return [Remark("part_differs", slot, entry.digest, words, blocks=False)]


@rule
def falls_are_entries(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Falls that were said are entries of their own, so that somebody follows them up."""
    said = amount(entry, "falls") or Decimal(0)
    since = view.former.opened if view.former else None
    first = day_of(since.happened_at).isoformat() if since else ""
    recorded = sum(1 for e in events_of(view) if e.entry.body.get("what") == "fall" and e.happened_on >= first)
    if said <= recorded:
        return []
    return [Remark("falls_not_recorded", slot, entry.digest, {"said": text_of(said), "recorded": str(recorded)}, blocks=recorded == 0)]


@rule
def mass_as_before(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A changed body mass is a reason to look at socket and limits again."""
    before, now = amount(mass_last_time(view), "body_mass_kg"), amount(view.head("body"), "body_mass_kg")
    if before is None or now is None or abs(now - before) <= MASS_CHANGE_KG:
        return []
    figures = {"before": text_of(before), "now": text_of(now), "most": text_of(MASS_CHANGE_KG)}
    return [Remark("mass_changed", slot, entry.digest, figures, blocks=False)]


@rule
def service_is_in_time(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A service that was due before this visit is said; the maker's interval decides."""
    day = day_of(entry.happened_at)
    return [
        Remark("service_overdue", slot, s.part.component.digest, {
            "component": s.part.sheet.name if s.part.sheet else s.part.place,
            "due": str(s.due.due_on), "decided_by": s.due.decided_by,
        }, blocks=False)
        for s in services(view) if s.due.state(day) == OVERDUE
    ]


@rule
def events_are_closed(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """An event that is still open is looked at; a serious one stops the walking."""
    found = []
    for event in open_events(view):
        figures = {"date": event.happened_on, "event": str(event.entry.body.get("what", ""))}
        found.append(Remark(
            "serious_event_open" if event.is_serious else "event_open", slot, event.entry.digest, figures,
            blocks=event.is_serious,
        ))
    return found


@rule
def part_taken_out_was_in(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The part taken out is the one that this record knew there."""
    place, former = str(entry.body.get("place", "")), view.former
    was = former.head(f"component/{place}") if former else None
    said, known = str(entry.body.get("serial", "")).strip(), str(was.body.get("serial", "")).strip() if was else ""
    if was is None or said.casefold() == known.casefold():
        return []
    return [Remark("other_part_taken_out", slot, was.digest, {"said": said, "known": known}, blocks=False)]


@rule
def another_part_is_in(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Where a part came out another one goes in, or the leg has a hole."""
    place = str(entry.body.get("place", ""))
    if place in view.exchanged:
        return []
    return [Remark("nothing_built_in", slot, entry.digest, {"part": place})]
