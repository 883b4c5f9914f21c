"""Rules of bench and standing alignment."""

from __future__ import annotations

from decimal import Decimal

from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import against, amount, kept, rule
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import text_of

#: Shortening of up to 10 mm is borne after above-knee amputation: Friberg O,
#: Prosthet Orthot Int 1984;8:124-129.
HEIGHT_TOLERANCE_MM = Decimal(10)
#: Share of weight below which a standing reading says little; common practice.
LEAST_SHARE_PERCENT = Decimal(35)
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
    """Standing, the load line passes in front of the knee as the sheet says."""
    target, value = _knee_target(view, "load_line"), amount(entry, "load_line_offset_mm")
    if target is None or value is None:
        return []
    return against(slot, entry, "load_line_off", value, *target)


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
    if own + other <= 0:
        return [Remark("no_weight", slot, entry.digest)]
    share = 100 * own / (own + other)
    if share >= LEAST_SHARE_PERCENT:
        return []
    figures = {"share": text_of(share.quantize(Decimal("0.1"))), "least": text_of(LEAST_SHARE_PERCENT)}
    return [Remark("little_weight_on_prosthesis", slot, entry.digest, figures, blocks=not kept(entry))]
