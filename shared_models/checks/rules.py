"""Named rules: what must hold for an entry to prove anything.

Each rule takes the view and the entry and returns remarks.  The catalogue names
them per kind; the limits come from the component sheets built in.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Callable

from shared_models.calculations.torque import months_between
from shared_models.checks.fields import field_remarks
from shared_models.checks.remarks import Remark
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from, text_of
from shared_models.quantities.moments import day_of

Rule = Callable[[FittingView, Entry, str], list[Remark]]
RULES: dict[str, Rule] = {}

#: Shortening of up to 10 mm is borne after above-knee amputation: Friberg O,
#: Prosthet Orthot Int 1984;8:124-129.
HEIGHT_TOLERANCE_MM = Decimal(10)
#: Share of weight below which a standing reading says little; common practice.
LEAST_SHARE_PERCENT = Decimal(35)
#: Socket flexion is contracture plus about five degrees; common practice.
SOCKET_FLEXION_BEYOND_CONTRACTURE_DEG = Decimal(5)
HEEL_HEIGHT_TOLERANCE_MM = Decimal(3)  # common practice
#: Recheck of a torque tool where the user has no rule: ISO 6789-1:2017, from memory.
WRENCH_MONTHS = 12


def rule(function: Rule) -> Rule:
    """Offer a rule to the catalogue under its own name."""
    RULES[function.__name__] = function
    return function


def amount(entry: Entry | None, field: str) -> Decimal | None:
    """Return an amount of an entry; None when it is not recorded or no figure."""
    return amount_from(entry.body.get(field)) if entry else None


def _kept(entry: Entry, field: str = "kept_because") -> bool:
    return bool(str(entry.body.get(field, "")).strip())


def _against(
    slot: str, entry: Entry, code: str, value: Decimal, target: Decimal, tolerance: Decimal,
) -> list[Remark]:
    """One remark when a reading is off its target; kept with a reason it only doubts."""
    off = value - target
    if abs(off) <= tolerance:
        return []
    figures = {
        "value": text_of(value), "target": text_of(target),
        "tolerance": text_of(tolerance), "off": text_of(abs(off)),
        "sense": "above" if off > 0 else "below",
    }
    return [Remark(code, slot, entry.digest, figures, blocks=not _kept(entry))]


@rule
def sheet_is_known(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The component's sheet is here, sound, in the version the fitting remembers."""
    if view.sheet_of(entry):
        return []
    if str(entry.body.get("sheet_digest", "")) in view.record.entries:
        return [Remark("sheet_unsound", slot, entry.digest, {"sheet": str(entry.body.get("sheet", ""))})]
    return [Remark("sheet_not_here", slot, entry.digest, {"sheet": str(entry.body.get("sheet", ""))})]


@rule
def part_fits_place(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A knee sheet belongs to the knee, a foot sheet to the foot."""
    sheet = view.sheet_of(entry)
    if sheet and sheet.part != entry.body.get("place"):
        return [Remark("part_in_wrong_place", slot, entry.digest, {"part": sheet.part, "place": str(entry.body.get("place"))})]
    return []


@rule
def mass_within_every_limit(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Each component bears the person, on the basis its own sheet states."""
    bare, load = (amount(view.head("body"), f) for f in ("body_mass_kg", "carried_load_kg"))
    if bare is None:
        return [Remark("mass_not_known", slot, entry.digest)]
    found = []
    for place, sheet in view.sheets().items():
        mass = bare + (load or 0) if sheet.mass_basis == "with_carried_load" else bare
        if mass > sheet.mass_limit_kg:
            found.append(Remark("mass_above_limit", slot, view.head("body").digest, {
                "place": place, "component": sheet.name, "mass": text_of(mass),
                "limit": text_of(sheet.mass_limit_kg), "basis": sheet.mass_basis,
            }))
    return found


@rule
def level_within_every_range(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Each component is meant for how this person walks."""
    level = amount(view.head("activity"), "functional_level")
    if level is None:
        return [Remark("level_not_known", slot, entry.digest)]
    found = []
    for place, sheet in view.sheets().items():
        if not sheet.lowest_level <= level <= sheet.highest_level:
            found.append(Remark("level_outside_range", slot, view.head("activity").digest, {
                "place": place, "component": sheet.name, "level": str(level),
                "lowest": str(sheet.lowest_level), "highest": str(sheet.highest_level),
            }))
    return found


def candidacy_doubts(view: FittingView) -> list[str]:
    """Return codes of what asks for a stated reason before saying 'suitable'."""
    doubts = []
    if view.value("activity", "walks_at_two_paces") is False:
        doubts.append("one_pace_only")
    if view.value("limb", "sound_limb") == "not_bearing":
        doubts.append("sound_limb_not_bearing")
    if view.value("limb", "limb_state") in ("changing", "painful"):
        doubts.append("limb_not_settled")
    return doubts


@rule
def doubts_are_answered(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Where something speaks against it, the decision carries its reason."""
    answered = _kept(entry, "because")
    return [Remark(code, slot, entry.digest, blocks=not answered) for code in candidacy_doubts(view)]


def _knee_target(view: FittingView, name: str) -> tuple[Decimal, Decimal] | None:
    knee = view.sheets().get("knee")
    if not knee or f"{name}_target_mm" not in knee.alignment:
        return None
    return knee.alignment[f"{name}_target_mm"], knee.alignment.get(f"{name}_tolerance_mm", Decimal(0))


@rule
def reference_line_on_target(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """On the bench the reference line passes the knee centre as the sheet says."""
    target, value = _knee_target(view, "reference_line"), amount(entry, "reference_line_offset_mm")
    if target is None or value is None:
        return []
    return _against(slot, entry, "reference_line_off", value, *target)


@rule
def load_line_on_target(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Standing, the load line passes in front of the knee as the sheet says."""
    target, value = _knee_target(view, "load_line"), amount(entry, "load_line_offset_mm")
    if target is None or value is None:
        return []
    return _against(slot, entry, "load_line_off", value, *target)


@rule
def socket_flexion_covers_contracture(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The socket is flexed enough for a hip that does not extend."""
    contracture = amount(view.head("limb"), "hip_flexion_contracture_deg")
    flexion = amount(entry, "socket_flexion_deg")
    if contracture is None or flexion is None:
        return []
    wanted = contracture + SOCKET_FLEXION_BEYOND_CONTRACTURE_DEG
    if flexion >= wanted:
        return []
    figures = {"value": text_of(flexion), "wanted": text_of(wanted), "contracture": text_of(contracture)}
    return [Remark("socket_flexion_short", slot, entry.digest, figures, blocks=not _kept(entry))]


@rule
def heel_height_as_shoe(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The heel height built in is that of the shoe that will be worn."""
    shoe, built = amount(view.head("footwear"), "shoe_heel_height_mm"), amount(entry, "heel_height_mm")
    if shoe is None or built is None:
        return []
    return _against(slot, entry, "heel_height_off", built, shoe, HEEL_HEIGHT_TOLERANCE_MM)


@rule
def height_within_tolerance(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The legs are of like length."""
    value = amount(entry, "height_difference_mm")
    if value is None:
        return []
    return _against(slot, entry, "height_off", value, Decimal(0), HEIGHT_TOLERANCE_MM)


@rule
def weight_shared(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Enough weight on the prosthesis for the reading to mean anything."""
    own, other = amount(entry, "weight_on_prosthesis_kg"), amount(entry, "weight_on_sound_side_kg")
    if own is None or other is None:
        return []
    if own + other <= 0:
        return [Remark("no_weight", slot, entry.digest)]
    share = 100 * own / (own + other)
    if share >= LEAST_SHARE_PERCENT:
        return []
    figures = {"share": text_of(share.quantize(Decimal("0.1"))), "least": text_of(LEAST_SHARE_PERCENT)}
    return [Remark("little_weight_on_prosthesis", slot, entry.digest, figures, blocks=not _kept(entry))]


def _torque(view: FittingView, entry: Entry, slot: str, final: bool) -> list[Remark]:
    screw, reading = view.screw(str(entry.body.get("screw", ""))), amount(entry, "reading_nm")
    if screw is None:
        return [Remark("screw_not_in_chain", slot, entry.digest, {"screw": str(entry.body.get("screw", ""))})]
    lowest, highest = screw.screw.window_nm(final)
    if reading is None or lowest <= reading <= highest:
        return []
    return [Remark("torque_outside", slot, entry.digest, {
        "screw": screw.screw.name, "reading": text_of(reading), "lowest": text_of(lowest),
        "highest": text_of(highest), "off": text_of(lowest - reading if reading < lowest else reading - highest),
        "sense": "below" if reading < lowest else "above",
    })]


@rule
def torque_interim_within_tolerance(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The interim torque lies in the sheet's window."""
    return _torque(view, entry, slot, final=False)


@rule
def torque_final_within_tolerance(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The final torque lies in the sheet's window."""
    return _torque(view, entry, slot, final=True)


@rule
def locking_as_sheet(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The locking method is the one that the sheet states."""
    screw = view.screw(str(entry.body.get("screw", "")))
    if screw is None or entry.body.get("locking_method") == screw.screw.locking_method:
        return []
    return [Remark("locking_differs", slot, entry.digest, {"screw": screw.screw.name, "asked": screw.screw.locking_method})]


@rule
def wrench_in_calibration(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The wrench was calibrated not longer ago than its interval."""
    try:
        months = months_between(str(entry.body.get("wrench_calibrated_on", "")), day_of(entry.happened_at))
    except ValueError:
        return [Remark("field_missing", slot, entry.digest, {"field": "wrench_calibrated_on", "label": "Wrench calibrated on"})]
    figures = {"wrench": str(entry.body.get("wrench", "")), "date": str(entry.body.get("wrench_calibrated_on"))}
    if months < 0:
        return [Remark("calibration_ahead", slot, entry.digest, figures)]
    if months >= WRENCH_MONTHS:
        return [Remark("wrench_overdue", slot, entry.digest, figures)]
    return []


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
    return [Remark("threshold_not_low", slot, entry.digest, figures, blocks=not _kept(entry))]


@rule
def trial_is_confirmed(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The latest trial confirmed the settings, and nothing in it says otherwise."""
    outcome = entry.body.get("outcome")
    if outcome is None:
        return []
    if outcome != "confirmed":
        return [Remark("trial_" + str(outcome), slot, entry.digest, {"reason": str(entry.body.get("stop_reason", ""))})]
    found, kept = [], _kept(entry, "confirmed_although")
    for field in view.edition.kinds[entry.kind].fields:
        if field.must_when_confirmed is not None and entry.body.get(field.key) != field.must_when_confirmed:
            found.append(Remark("confirmed_without", slot, entry.digest, {"label": field.label}))
        should = field.should_when_confirmed
        if should is not None and entry.body.get(field.key) != should:
            found.append(Remark("confirmed_short_of", slot, entry.digest, {"label": field.label}, blocks=not kept))
    known = {f.key: f for f in view.edition.findings}
    for item in entry.body.get("findings") or ():
        finding = known.get(item.get("finding", ""))
        if finding and item.get("grade") == "marked":
            found.append(Remark("confirmed_with_finding", slot, entry.digest, {"finding": finding.words}, blocks=not kept))
    return found


@rule
def stops_are_answered(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """After every stop it was said what was restored."""
    return stop_remarks(view, slot)


def stop_remarks(view: FittingView, slot: str) -> list[Remark]:
    """Return remarks on stops of one trial slot that nobody answered properly."""
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
    return found


@rule
def restored_or_reason(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Not restoring after a stop needs its reason."""
    if entry.body.get("restored") is True or _kept(entry, "because"):
        return []
    return [Remark("reason_missing", slot, entry.digest)]


def has_role(view: FittingView, staff: str, role: str) -> bool:
    """Tell whether the staff list gives somebody a role."""
    roles = view.record.staff_body(staff).get("roles")
    return isinstance(roles, (list, tuple)) and role in roles


@rule
def signed_by_technician(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A second person with the technician's role signs, for themself."""
    technician = str(entry.body.get("technician", ""))
    name = view.record.name_of(technician)
    if technician != entry.recorded_by:
        return [Remark("signed_for_another", slot, entry.digest, {"name": name})]
    if technician == view.prosthetist:
        return [Remark("signed_by_prosthetist", slot, entry.digest, {"name": name})]
    if not has_role(view, technician, "technician"):
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
    if view.record.has_signed(entry, view.edition.kinds[entry.kind].signed_as):
        return []
    return [Remark("signature_missing", slot, entry.digest, {"name": view.record.name_of(entry.recorded_by)})]


@rule
def review_date_is_ahead(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The next review lies after the day it was planned on."""
    if str(entry.body.get("review_on", "")) > day_of(entry.happened_at).isoformat():
        return []
    return [Remark("review_not_ahead", slot, entry.digest, {"date": str(entry.body.get("review_on", ""))})]


@rule
def follow_up_is_ahead(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """What is not cleared is looked at again on a later day."""
    if str(entry.body.get("follow_up_on", "")) > day_of(entry.happened_at).isoformat():
        return []
    return [Remark("follow_up_not_ahead", slot, entry.digest, {"date": str(entry.body.get("follow_up_on", ""))})]
