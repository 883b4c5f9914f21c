"""Alignment, torque and caps of a fitting in words, and whether each still stands."""

from __future__ import annotations

from dataclasses import dataclass, replace

from shared_models.checks.alignment_reading import read_alignment
from shared_models.checks.drift import last_torque
from shared_models.checks.freshness import Freshness
from shared_models.checks.rules_torque import calibration_state
from shared_models.checks.torque_reading import at_the_screw_nm, torque_reading
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView, PlacedScrew
from shared_models.language import figure_said, phrase, spoken
from shared_models.quantities.amounts import text_of
from shared_models.quantities.moments import day_of
from shared_models.wording.dates import day_of_words, day_words
from shared_models.wording.torque import CALIBRATION, reading_words
from shared_models.wording.alignment import alignment_notes
from shared_models.wording.alignment_figures import Note
from shared_models.wording.course_lines import anchor_of, field_words, stamp

#: What stands beside a figure that is history, or that something since made void.
HELD, TURNED = phrase("found to hold at {reading} N·m"), phrase("found to turn at {reading} N·m")
REPLACED, STALE = phrase("replaced since"), phrase("no longer stands")


@dataclass(frozen=True)
class TorqueLine:
    """One screw at one stage: what is asked, what the wrench said."""

    anchor: str
    screw: str
    asked: str
    reading: str
    outside: bool
    wrench: str
    calibrated: str
    locking: str
    by: str
    time: str
    standing: str = ""
    #: Whether the wrench was in calibration on that day, in words; '' without a reading.
    calibration: str = ""
    #: That a visit did not touch this screw, and what it was left at; '' for one that is asked for.
    untouched: str = ""


@dataclass(frozen=True)
class Reading:
    """One reading of an alignment: label, value with unit, what was asked."""

    label: str
    value: str
    asked: str


@dataclass(frozen=True)
class AlignmentColumn:
    """One alignment: its title, when, by whom, its readings, and what they come to."""

    anchor: str
    title: str
    time: str
    by: str
    readings: tuple[Reading, ...]
    standing: str
    notes: tuple[Note, ...] = ()
    #: The digest of its entry.
    entry: str = ""


@dataclass(frozen=True)
class CapLine:
    """One cap: what was said of it, when and by whom."""

    anchor: str
    name: str
    said: str
    when: str
    standing: str


def alignments_of(view: FittingView) -> list[AlignmentColumn]:
    """Return every alignment in the order of the fitting, with what is asked."""
    fresh, found = Freshness(view), []
    for slot in ("alignment/bench", "alignment/static", "alignment/recheck", "alignment/closing"):
        for entry in view.slot(slot).history():
            found.append(AlignmentColumn(
                anchor_of(slot), view.edition.kinds[entry.kind].title,
                stamp(entry.happened_at), view.record.name_of(entry.recorded_by),
                tuple(_readings(view, entry)),
                _standing(fresh, entry) if entry in view.heads(slot) else spoken(REPLACED),
                _notes(view, entry) if entry in view.heads(slot) else (), entry.digest,
            ))
    return found


def _notes(view: FittingView, entry: Entry) -> tuple[Note, ...]:
    """Return what the tablet says beside the same alignment."""
    return alignment_notes(read_alignment(view, entry.kind, entry.body), view.edition)


def _readings(view: FittingView, entry: Entry) -> list[Reading]:
    return [
        Reading(field.label, words, _asked(view, field.key))
        for field in view.edition.kinds[entry.kind].fields
        if (words := field_words(view, field, entry))
    ]


def _asked(view: FittingView, field: str) -> str:
    """Return the knee sheet's target for a reading, "" where it states none."""
    knee = view.sheets().get("knee")
    name = field.removesuffix("_offset_mm")
    if not knee or name == field or f"{name}_target_mm" not in knee.alignment:
        return ""
    tolerance = knee.alignment.get(f"{name}_tolerance_mm")
    target = text_of(knee.alignment[f"{name}_target_mm"])
    return spoken("{target} ± {tolerance} mm", target=target, tolerance=text_of(tolerance)) if tolerance is not None else spoken("{target} mm", target=target)


def torques_of(view: FittingView, stage: str) -> list[TorqueLine]:
    """Return every screw of the chain at a stage; a blank reading where none is.

    At a later visit a screw that nobody touched is not missing: what it was left at is said instead.
    """
    fresh, lines = Freshness(view), []
    for placed in view.screws():
        slot = f"torque_{stage}/{placed.key}"
        heads = view.heads(slot)
        lines += [_torque(view, slot, placed, head, stage, _standing(fresh, head)) for head in heads]
        left_alone = bool(view.after) and not heads and not view.is_asked(slot)
        if not heads and not (left_alone and stage == "interim"):
            line = _torque(view, slot, placed, None, stage)
            lines.append(replace(line, untouched=_untouched(view, placed)) if left_alone else line)
    return lines


def _nm(entry: Entry) -> str:
    at_the_screw = at_the_screw_nm(entry.body)
    return "-" if at_the_screw is None else figure_said(text_of(at_the_screw))


def _untouched(view: FittingView, placed: PlacedScrew) -> str:
    """What is known of a screw that a visit left alone: how it was left, and whether it was found to hold."""
    last, check = last_torque(view, placed), view.head(f"torque_check/{placed.key}")
    if last is None:
        said = spoken("not touched at this visit")
    else:
        said = spoken("not touched at this visit; last {reading} N·m, {day}", reading=_nm(last), day=day_of_words(last.happened_at))
    if check is None:
        return said
    words = HELD if check.body.get("held") is True else TURNED
    return f"{said}; {spoken(words, reading=_nm(check))}"


def _torque(
    view: FittingView, slot: str, placed: PlacedScrew, entry: Entry | None, stage: str,
    standing: str = "",
) -> TorqueLine:
    final = stage == "final"
    lowest, highest = placed.screw.window_nm(final)
    figure = placed.screw.final_nm if final else placed.screw.interim_nm
    asked = spoken("{figure} N·m ({lowest} to {highest})", figure=text_of(figure), lowest=text_of(lowest), highest=text_of(highest))
    if entry is None:
        return TorqueLine(anchor_of(slot), placed.screw.name, asked, "", False, "", "", "", "", "")
    read = torque_reading(entry.body)
    outside = read.true_nm is not None and not lowest <= read.true_nm <= highest
    words = reading_words(read, str(entry.body.get("reading_nm") or ""), view.edition.words("torque_unit", read.unit))
    return TorqueLine(
        anchor_of(slot), placed.screw.name, asked, words, outside,
        str(entry.body.get("wrench") or ""), day_words(str(entry.body.get("wrench_calibrated_on") or "")),
        view.edition.words("locking_method", str(entry.body.get("locking_method") or "")),
        view.record.name_of(entry.recorded_by), stamp(entry.happened_at), standing,
        _calibration(entry) if final else "",
    )


def _calibration(entry: Entry) -> str:
    state = calibration_state(str(entry.body.get("wrench_calibrated_on") or ""), day_of(entry.happened_at))
    return CALIBRATION[state]


def caps_of(view: FittingView) -> list[CapLine]:
    """Return every cap of the chain, in the order of the sheets."""
    fresh, found = Freshness(view), []
    for placed in view.caps():
        heads = view.heads(f"cap/{placed.key}")
        if not heads:
            found.append(CapLine(anchor_of(f"cap/{placed.key}"), placed.cap.name, "", "", ""))
        for head in heads:
            said = spoken("not seated")
            if head.body.get("seated") is True:
                said = spoken("seated") if view.after else spoken("refitted and seated")
            when = f"{stamp(head.happened_at)}, {view.record.name_of(head.recorded_by)}"
            found.append(CapLine(anchor_of(f"cap/{placed.key}"), placed.cap.name, said, when, _standing(fresh, head)))
    return found


def _standing(fresh: Freshness, head: Entry) -> str:
    return spoken(STALE) if fresh.causes(head) else ""
