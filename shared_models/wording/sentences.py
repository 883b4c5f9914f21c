"""The sentences that remarks become.

One place: tablet, review page and papers all read a remark here.  A sentence
says what is wrong and what would mend it.
"""

from __future__ import annotations

from shared_models.checks.as_typed import typed_words
from shared_models.checks.remarks import Remark
from shared_models.checks.strokes import strokes_from
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.language import Phrases, figure_said, filled, spoken, within
from shared_models.quantities.refusals import Refusal
from shared_models.wording import alignment, attachments, changes, part_codes, timing_lines, torque, visits
from shared_models.wording.dates import clock_words, day_words, moment_words
from shared_models.wording.figures import Figures
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.states import GROUND
from shared_models.wording.units import unit_behind

BASIS = Phrases({"bare": "body mass alone", "with_carried_load": "body mass with carried load"})

#: Remarks whose sentence needs only the slot's name ({place}) and figures.
SENTENCES = Phrases({
    "not_recorded": "{place}: not recorded yet.",
    "field_missing": "{place}: '{label}' is missing.",
    "must_be": "{place}: '{label}' is answered no. It must be yes before going on.",
    "typed_disagrees": "{place}: {label} is recorded as {recorded} {unit}, and was typed as {typed}, which is another figure. Correct it.",
    "not_good_enough": "{place}: {label} is '{words}'. That must be mended first.",
    "components_first": "Record the components first; their sheets say what there is to do.",
    "sheets_list_none": "The component sheets list none of these.",
    "sheet_not_here": "{place}: its component sheet is not on this machine yet.",
    "sheet_unsound": "{place}: its component sheet contradicts itself. Have the sheet corrected, then choose it again.",
    "part_in_wrong_place": "{place}: the sheet is for {part}. Choose a sheet for this place.",
    "mass_not_known": "The body mass is not recorded, so no limit can be checked.",
    "mass_above_limit": "{mass} kg ({basis}) is above the {limit} kg limit of {component}. Choose a component that bears it.",
    "level_not_known": "How the person walks is not recorded, so no range can be checked.",
    "level_outside_range": "{component} is meant for level {lowest} to {highest}, the person is recorded at level {level}.",
    "one_pace_only": "Seen walking at one pace only; this knee is meant for changing pace. Say why it suits.",
    "sound_limb_not_bearing": "The sound limb can't bear full weight. Say why this knee suits.",
    "limb_not_settled": "The residual limb is not settled. Say why to go on now.",
    "reference_line_off": "Reference line {value} mm, asked {target} ± {tolerance} mm: {off} mm too far {direction}. Shift it, or say why it is kept.",
    "load_line_off": "Load line {value} mm in front of the knee centre, asked {target} ± {tolerance} mm: {off} mm too far {direction}. Bring it in, or say why it is kept.",
    "heel_height_off": "Heel height built in is {value} mm, the shoe has {target} mm. Match them, or say why it is kept.",
    "height_off": "The prosthesis is {off} mm {length} than the sound side, up to {tolerance} mm is tolerated. Change the height, or say why it is kept.",
    "socket_flexion_short": "Socket flexion {value}°, with a contracture of {contracture}° about {wanted}° is usual. Add flexion, or say why it is kept.",
    "no_weight": "No weight on either side: read the scales again.",
    "little_weight_on_prosthesis": "Only {share} % of the weight stands on the prosthesis, at least {least} % makes the reading worth having. Let the person load it and read again, or say why it is kept.",
    "screw_not_in_chain": "{place}: no component built in lists this screw.",
    "torque_outside": "{screw}: {reading} N·m, the sheet takes {lowest} to {highest} N·m: {off} N·m {sense}. Set it again.",
    "locking_differs": "{screw}: the sheet asks for '{asked_words}'. Renew the locking as stated.",
    "wrench_overdue": "Wrench {wrench} was calibrated on {date}, a year ago or more. Use one in calibration and tighten again.",
    "calibration_ahead": "Wrench {wrench}: calibration on {date} lies after the tightening. Correct the date.",
    "position_outside": "{adjuster}: position {position} does not exist, it runs from {lowest} to {highest}.",
    "threshold_not_low": "The guarded yield was made with the threshold at {position}, not at its low end {lowest}. Repeat it there, or say why.",
    "trial_change": "{place}: the latest trial asks for a change. Change one thing and walk again.",
    "trial_stopped": "{place}: the latest trial was stopped ({reason_words}). Walk it again once it is safe.",
    "trial_None": "{place}: the latest trial has no outcome.",
    "confirmed_without": "{place}: confirmed although '{label}' is answered no. Tune further, or correct the answer.",
    "confirmed_short_of": "{place}: confirmed although '{label}' is answered no. Walk it again, or say why it is confirmed.",
    "confirmed_with_finding": "{place}: confirmed although marked: {finding}. Tune further, or say why it is confirmed.",
    "stop_unanswered": "{place}: after the stop ({reason_words}) it was not said what was restored.",
    "fall_without_event": "{place}: stopped for a fall ({date}, {time}), and the fall is not recorded as an event. Record it, so that somebody follows it up, or say why it is none.",
    "near_fall_without_event": "{place}: stopped ({reason_words}; {date}, {time}), and no near fall is recorded. Record it if it was one.",
    "stop_is_no_event": "{place}: stopped ({reason_words}; {date}, {time}), and not recorded as an event, because: {stated}",
    "reason_missing": "{place}: not restored, and no reason given.",
    "signed_for_another": "The sign-off names {name}, but another person recorded it. The technician signs in person.",
    "signed_by_prosthetist": "{name} is the prosthetist of this fitting; a second person must sign off.",
    "not_a_technician": "{name} is not on the staff list as a technician.",
    "technician_alone": "{name} recorded every torque and signed alone. Another person must witness or read again.",
    "signature_unvouched": "{name} signed with a key that nobody has vouched for. The signature counts once the lead clinician does, or {name} on a tablet they have worked on.",
    "signature_missing": "The sign-off of {name} carries no valid signature. Sign again.",
    "review_not_ahead": "The next review ({date}) does not lie ahead. Agree a later day.",
    "follow_up_not_ahead": "{place}: the follow-up ({date}) does not lie ahead. Agree a later day.",
    "not_cleared": "Not cleared: {ground} ({because_words}). Follow-up on {follow_up_on}.",
    "set_aside": "Set aside by {by}: {because}.",
    "walked_before": "{place}: walked before '{step}' was recorded. Walk it again, or correct the trial and say why.",
    "needs_newer_version": "Holds an entry ({place}) that needs a newer version of Stancebook; it is kept.",
    "photo_not_sent_yet": "{place}: its picture has not arrived at the server. It is still on the tablet that took it; let that tablet send.",
    "changed_apart": "{place}: changed apart on two tablets; {by} recorded {what} at {time}. Choose which one stands.",
    "body_unreadable": "{place}: the entry can't be read as it should be. Record it again.",
    **torque.REMARKS,
    **timing_lines.REMARKS,
    **alignment.REMARKS,
    **part_codes.REMARKS,
    **visits.REMARKS,
    **changes.REMARKS,
})

_STALE = Phrases({
    "stale_replaced": "{place}: since then {cause}.",
    "stale_filled": "{place}: since then {cause}.",
    "stale_corrected": "{place}: a figure it rests on was corrected: {cause}.",
    "stale_taken_away": "{place}: it rests on something that was withdrawn ({rests_place}).",
    "stale_changed_apart": "{place}: it rests on something that is disputed ({rests_place}).",
    "stale_not_here": "{place}: it rests on an entry that is not on this machine yet.",
})


def sentence_of(remark: Remark, view: FittingView) -> str:
    """Return the sentence for a remark; unknown codes are named, never hidden."""
    template = SENTENCES.get(remark.code) or _STALE.get(remark.code)
    if template is None:
        return f"{place_words(remark.slot, view)}: {remark.code.replace('_', ' ')}."
    figures = {**remark.figures, **_looked_up(remark, view)}
    text = filled(template, _Bare(figures))
    return text[:1].upper() + text[1:]


class _Bare(Figures):
    """A figure that a newer program names is shown by its name."""

    def __missing__(self, key: str) -> str:
        return key


#: Figures of remarks that are days of the record.
_DAYS = ("date", "follow_up_on", "due")


def _looked_up(remark: Remark, view: FittingView) -> dict[str, str]:
    """Figures that are words of the edition or facts of the cause."""
    figures, words = remark.figures, view.edition.words
    cause = view.record.entries.get(remark.cause)
    above = figures.get("sense") == "above"
    behind = spoken("back") if not above else spoken("forward")
    return {
        "place": place_words(remark.slot, view),
        "rests_place": place_words(figures.get("rests_on", ""), view),
        "cause": _cause_words(cause, view) if cause else spoken("something changed"),
        "by": figures.get("by", ""),
        "what": said(cause, view) if cause else "",
        "time": clock_words(cause.happened_at) if cause else "",
        **{key: day_words(figures[key]) for key in _DAYS if key in figures},
        "basis": BASIS.get(figures.get("basis", ""), figures.get("basis", "")),
        "words": words(figures.get("choices", ""), figures.get("value", "")),
        "asked_words": words("locking_method", figures.get("asked", "")),
        "reason_words": words("stop_reason", figures.get("reason", "")) or spoken("no reason given"),
        "because_words": words("restricted_because", figures.get("because", "")),
        "ground": GROUND.get(ground := remark.slot.rpartition("/")[2], ground),
        "direction": behind,
        **({"unit": unit_behind(figures["found"], figures["unit"])} if remark.code == "setting_drifted" else {}),
        "length": spoken("longer") if above else spoken("shorter"),
        "part": words("place", figures.get("part", "")),
        **({"name": visits.LINES[figures["name"]]} if figures.get("name") in visits.LINES else {}),
        "event_words": words("event_what", figures.get("event", "")),
        **({"besides_words": changes.besides_words(figures["besides"], view)} if "besides" in figures else {}),
        "decided_words": visits.DECIDED.get(figures.get("decided_by", ""), ""),
        "refused_words": alignment.refused_words(figures),
        "sense": {"above": spoken("too high"), "below": spoken("too low")}.get(figures.get("sense", ""), ""),
        "trouble": refusal_sentence(Refusal(figures["refused"], **figures)) if "refused" in figures else "",
    }


def place_words(slot: str, view: FittingView) -> str:
    """Return a slot as people name it: 'Final torque, Foot screw, front'."""
    if not slot:
        return spoken("This")
    try:
        kind = view.edition.kind_of_slot(slot)
    except KeyError:
        return slot
    name = _name_in(slot, view)
    if not name:
        return kind.title
    # A part is called by its name alone, but for where all of them are meant.
    return name if kind.key == "component" and not slot.endswith("/*") else f"{kind.title}, {name}"


def _name_in(slot: str, view: FittingView) -> str:
    """Which one of its kind a slot is: the name of a screw, a cap, a place; '' for a kind there is one of."""
    try:
        kind = view.edition.kind_of_slot(slot)
    except KeyError:
        return ""
    key = kind.slot.partition("{")[2].partition("}")[0]
    if not key or kind.field(key).type in ("own_id", "digest"):
        return ""
    return _instance(slot.partition("/")[2], kind.for_each or kind.slot, view)


def _instance(key: str, sort: str, view: FittingView) -> str:
    if key == "*":
        return spoken("each")
    for screw in view.screws():
        if "screw" in sort and screw.key == key:
            return screw.screw.name
    for cap in view.caps():
        if sort == "cap" and cap.key == key:
            return cap.cap.name
    if sort.endswith("{step}"):
        return next((step.title for step in view.edition.steps if step.key == key), key)
    if key in GROUND:
        return GROUND[key]
    for choices in ("place", "function"):
        if key in view.edition.choices[choices]:
            return view.edition.words(choices, key)
    return key.replace("_", " ")


#: Said by the title already, or meant for programs.
_UNSAID = ("screw", "cap", "function", "place", "ground", "digest", "person")


def said(entry: Entry, view: FittingView) -> str:
    """Return the heart of an entry in a few words: the figures it states."""
    kind = view.edition.kinds.get(entry.kind)
    if kind is None:
        return spoken("withdrawn") if entry.kind == "withdrawn" else entry.kind
    parts = []
    for field in kind.fields:
        value = entry.body.get(field.key)
        if not (field.bears or field.required) or field.type in _UNSAID:
            continue
        if field.brief:
            parts += filter(None, [_brief(field, value, entry, view)])
            continue
        words = value_words(field, value, view)
        words += as_typed_words(entry.body, field.key) if words else ""
        if words and field.type in ("choice", "text", "staff", "sheet"):
            parts.append(words)
        elif words:
            parts.append(f"{within(field.label)} {words}")
    return ", ".join(parts if any(f.brief for f in kind.fields) else parts[:4])


def _brief(field, value, entry: Entry, view: FittingView) -> str:
    """A field as its edition says it in few words; '' where nothing is recorded, or a no is not worth a word."""
    if isinstance(value, bool):
        return field.brief if value else field.brief_no
    words = value_words(field, value, view)
    if not words or isinstance(value, dict):
        return words
    adjuster = view.adjuster(str(entry.body.get("function", ""))) if field.unit == "@adjuster" else None
    words += f" {unit_behind(value, adjuster.unit)}" if adjuster else ""
    return filled(field.brief, {"value": words + as_typed_words(entry.body, field.key), "figure": value})


def value_words(field, value, view: FittingView) -> str:
    """Return a field's value as people read it, with its unit."""
    if value in (None, "", []):
        return ""
    if isinstance(value, dict):
        return spoken("not applicable: {reason}", reason=value.get('not_applicable', ''))
    if field.type == "yes_no":
        return spoken("yes") if value is True else spoken("no")
    if field.type == "date":
        return day_words(str(value))
    if field.type == "choice":
        return view.edition.words(field.choices, str(value))
    if field.type == "strokes":
        return attachments.strokes_words(len(strokes_from(value)))
    if field.type == "several":
        return ", ".join(view.edition.words(field.choices, str(v)) for v in value)
    if field.type in ("screw", "cap", "function", "place", "ground"):
        return _instance(str(value), field.type, view)
    if field.type == "sheet":
        head = view.record.head(Subject("component_sheet", str(value)), "sheet")
        return str(head.body.get("name", value)) if head else str(value)
    if field.type == "staff":
        return view.record.name_of(str(value))
    if field.type in ("findings", "remarks", "people", "digest", "own_id", "fitting"):
        return ""
    unit = "" if field.unit.startswith("@") else spoken(field.unit)
    figure = figure_said(value) if field.type in ("amount", "count") else value
    return f"{figure}{unit}" if unit == "°" else f"{figure} {unit}".strip()


def as_typed_words(body, field: str) -> str:
    """Return what stands behind a figure that was typed in another unit; '' for any other."""
    return typed_as_words(typed_words(body, field))


def typed_as_words(words: str) -> str:
    """Return what was typed in another unit as it stands behind the figure; '' for nothing."""
    return spoken(" (typed as {words})", words=words) if words else ""


def _cause_words(cause: Entry, view: FittingView) -> str:
    """Return what a cause did, by whom and when."""
    place = view.record.place_of(cause.digest)
    slot = place[1] if place else ""
    kind = view.edition.kinds.get(cause.kind)
    stamp = f"({view.record.name_of(cause.recorded_by)}, {moment_words(cause.happened_at)})"
    if kind is None or not kind.says:
        title = place_words(slot, view) if slot else cause.kind
        return spoken("{title} was recorded {stamp}", title=within(title), stamp=stamp)
    figures = {
        f.key: view.edition.words(f.choices, str(cause.body.get(f.key, ""))) for f in kind.fields
    }
    name = _name_in(slot, view) if slot else ""
    return f"{kind.says.format_map(_Bare({**figures, 'name': name}))} {stamp}"
