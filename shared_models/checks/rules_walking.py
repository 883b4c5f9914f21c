"""Rules of settings and walking trials."""

from __future__ import annotations

from shared_models.checks.fields import field_remarks
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import amount, kept, rule
from shared_models.checks.stop_events import stop_event_remarks
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from, text_of
from shared_models.quantities.moments import day_of


@rule
def position_within_range(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The position exists on this adjuster."""
    adjuster, position = view.adjuster(str(entry.body.get("function", ""))), amount(entry, "position")
    if adjuster is None or position is None or adjuster.lowest <= position <= adjuster.highest:
        return []
    return [Remark("position_outside", slot, entry.digest, {
        "adjuster": adjuster.name, "position": text_of(position),
        "lowest": text_of(adjuster.lowest), "highest": text_of(adjuster.highest),
    })]


@rule
def threshold_started_low(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The guarded yield was made with the threshold at its low end."""
    adjuster, position = view.adjuster("stance_threshold"), view.position_in(entry, "stance_threshold")
    if adjuster is None or (position is not None and amount_from(position) == adjuster.lowest):
        return []
    figures = {"position": position or "not recorded", "lowest": text_of(adjuster.lowest)}
    return [Remark("threshold_not_low", slot, entry.digest, figures, blocks=not kept(entry))]


@rule
def trial_is_confirmed(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The latest trial confirmed the settings, and nothing in it says otherwise."""
    outcome = entry.body.get("outcome")
    if outcome is None:
        return []
    if outcome != "confirmed":
        return [Remark("trial_" + str(outcome), slot, entry.digest, {"reason": str(entry.body.get("stop_reason", ""))})]
    found, answered = [], kept(entry, "confirmed_although")
    for field in view.edition.kinds[entry.kind].fields:
        if field.must_when_confirmed is not None and entry.body.get(field.key) != field.must_when_confirmed:
            found.append(Remark("confirmed_without", slot, entry.digest, {"label": field.label}))
        should = field.should_when_confirmed
        if should is not None and entry.body.get(field.key) != should:
            found.append(Remark("confirmed_short_of", slot, entry.digest, {"label": field.label}, blocks=not answered))
    known = {f.key: f for f in view.edition.findings}
    for item in entry.body.get("findings") or ():
        finding = known.get(item.get("finding", ""))
        if finding and item.get("grade") == "marked":
            found.append(Remark("confirmed_with_finding", slot, entry.digest, {"finding": finding.words}, blocks=not answered))
    return found


@rule
def stops_are_answered(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """After every stop it was said what was restored."""
    return stop_remarks(view, slot)


def stop_remarks(view: FittingView, slot: str) -> list[Remark]:
    """Return remarks on stops of one trial slot that nobody answered properly, or recorded as the event they were."""
    found = [
        Remark("stop_unanswered", slot, stop.digest, {"reason": str(stop.body.get("stop_reason", ""))})
        for stop in view.unanswered_stops()
        if view.edition.kinds[stop.kind].slot == slot
    ]
    trials = view.slot(slot).entries
    for name in view.filled("stop_answered/*"):
        answer = view.head(name)
        if answer and name.partition("/")[2] in trials:
            kind = view.edition.kinds[answer.kind]
            unread = field_remarks(kind, answer, slot)
            found += unread or restored_or_reason(view, answer, slot)
    return found + stop_event_remarks(view, slot)


@rule
def restored_or_reason(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Not restoring after a stop needs its reason."""
    if entry.body.get("restored") is True or kept(entry, "because"):
        return []
    return [Remark("reason_missing", slot, entry.digest)]


@rule
def follow_up_is_ahead(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """What is not cleared is looked at again on a later day."""
    if str(entry.body.get("follow_up_on", "")) > day_of(entry.happened_at).isoformat():
        return []
    return [Remark("follow_up_not_ahead", slot, entry.digest, {"date": str(entry.body.get("follow_up_on", ""))})]
