"""Rules of bench and standing alignment."""

from __future__ import annotations

from decimal import Decimal
from typing import Mapping

from shared_models.calculations.alignment.weights import LEAST_SHARE_PERCENT, share_percent
from shared_models.catalogue.edition import Kind
from shared_models.checks.alignment_reading import (
    LINE_DIGITS,
    METHOD,
    AlignmentReading,
    read_alignment,
)
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import against, amount, kept, rule
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import text_of

#: Shortening of up to 10 mm is borne after above-knee amputation: Friberg O,
#: Prosthet Orthot Int 1984;8:124-129.
HEIGHT_TOLERANCE_MM = Decimal(10)
#: Socket flexion is contracture plus about five degrees; common practice.
SOCKET_FLEXION_BEYOND_CONTRACTURE_DEG = Decimal(5)
HEEL_HEIGHT_TOLERANCE_MM = Decimal(3)  # common practice


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
    return against(slot, entry, "reference_line_off", value, *target)


@rule
def load_line_on_target(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Standing, the load line passes in front of the knee as the sheet says.

    With two scales the line is worked out from them, and their own faults are
    remarked; a reading whose interval lies across the tolerance's edge is
    doubted, whichever side of it the figure lies on.
    """
    target, value = _knee_target(view, "load_line"), amount(entry, "load_line_offset_mm")
    reading = read_alignment(view, entry.kind, entry.body)
    remarks = _faults_of_scales(view, reading, entry, slot, value) if reading.by_scales else []
    remarks += _far_from_mass(reading, entry, slot) if entry.body.get(METHOD) else []
    if reading.by_scales:
        value = Decimal(str(reading.line.offset_mm)).quantize(LINE_DIGITS) if reading.line else None
    if target is None or value is None or reading.is_void:
        return remarks
    remarks += against(slot, entry, "load_line_off", value, *target)
    line = reading.line
    if line and line.half_width_95_mm and line.straddles(*map(float, target)):
        figures = {
            "value": text_of(value), "half": _tenth(line.half_width_95_mm),
            "target": text_of(target[0]), "tolerance": text_of(target[1]),
        }
        remarks.append(Remark("load_line_unsure", slot, entry.digest, figures, blocks=False))
    return remarks


def _faults_of_scales(
    view: FittingView, reading: AlignmentReading, entry: Entry, slot: str, stated: Decimal | None,
) -> list[Remark]:
    """What makes a two-scale reading say nothing, or something else than is recorded."""
    if reading.waits_for:
        kind = view.record.kind_of(entry)
        labels = ", ".join(f"'{_label(kind, key)}'" for key in reading.waits_for)
        return [Remark("scales_incomplete", slot, entry.digest, {"labels": labels})]
    if reading.refusal:
        figures = {"code_refused": reading.refusal.code, **_texts(reading.refusal.figures)}
        return [Remark("scales_impossible", slot, entry.digest, figures)]
    found = []
    if reading.is_void and reading.weights.share_percent is not None:
        figures = {"share": _tenth(reading.weights.share_percent), "least": text_of(LEAST_SHARE_PERCENT)}
        found.append(Remark("load_line_void", slot, entry.digest, figures, blocks=not kept(entry)))
    if reading.line and stated is not None:
        worked_out = Decimal(str(reading.line.offset_mm)).quantize(LINE_DIGITS)
        if abs(stated - worked_out) > LINE_DIGITS:
            figures = {"value": text_of(stated), "worked_out": text_of(worked_out)}
            found.append(Remark("load_line_not_as_scales", slot, entry.digest, figures))
    return found


def _far_from_mass(reading: AlignmentReading, entry: Entry, slot: str) -> list[Remark]:
    """Scales that can't be this person's, or only just."""
    weights = reading.weights
    if weights.refusal:
        figures = {"code_refused": weights.refusal.code, **_texts(weights.refusal.figures)}
        return [Remark("scales_far_from_mass", slot, entry.digest, figures, blocks=not kept(entry))]
    if not weights.doubted or weights.own_kg is None:
        return []
    total = weights.own_kg + (weights.other_kg or 0)
    return [Remark("scales_doubted", slot, entry.digest, {"total": _tenth(total)}, blocks=False)]


def _tenth(value: float | Decimal) -> str:
    return text_of(Decimal(str(value)).quantize(Decimal("0.1")))


def _texts(figures: Mapping[str, object]) -> dict[str, str]:
    return {name: str(value) for name, value in figures.items()}


def _label(kind: Kind | None, key: str) -> str:
    return kind.field(key).label if kind else key


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
    return [Remark("socket_flexion_short", slot, entry.digest, figures, blocks=not kept(entry))]


@rule
def heel_height_as_shoe(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The heel height built in is that of the shoe that will be worn."""
    shoe, built = amount(view.head("footwear"), "shoe_heel_height_mm"), amount(entry, "heel_height_mm")
    if shoe is None or built is None:
        return []
    return against(slot, entry, "heel_height_off", built, shoe, HEEL_HEIGHT_TOLERANCE_MM)


@rule
def height_within_tolerance(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The legs are of like length."""
    value = amount(entry, "height_difference_mm")
    if value is None:
        return []
    return against(slot, entry, "height_off", value, Decimal(0), HEIGHT_TOLERANCE_MM)


@rule
def weight_shared(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Enough weight on the prosthesis for the reading to mean anything."""
    own, other = amount(entry, "weight_on_prosthesis_kg"), amount(entry, "weight_on_sound_side_kg")
    if own is None or other is None:
        return []
    if read_alignment(view, entry.kind, entry.body).is_void:
        return []  # said by the load line's own rule
    if own + other <= 0:
        return [Remark("no_weight", slot, entry.digest)]
    share = share_percent(own, other)
    if share >= LEAST_SHARE_PERCENT:
        return []
    figures = {"share": text_of(share.quantize(Decimal("0.1"))), "least": text_of(LEAST_SHARE_PERCENT)}
    return [Remark("little_weight_on_prosthesis", slot, entry.digest, figures, blocks=not kept(entry))]
