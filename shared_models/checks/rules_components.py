"""Rules of the person and the components: do they suit each other."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from shared_models.catalogue.sheets import Sheet
from shared_models.checks.as_typed import exact_figure
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import amount, kept, rule
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import text_of
from shared_models.quantities.units import in_tenths


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
    borne = loads_borne(view)
    if borne is None:
        return [Remark("mass_not_known", slot, entry.digest)]
    return [Remark("mass_above_limit", slot, view.head("body").digest, b.figures) for b in borne if b.left_kg < 0]


@dataclass(frozen=True)
class Borne:
    """What one part of the chain is to bear, held against its own sheet; both in kg."""

    place: str
    sheet: Sheet
    mass_kg: Fraction

    @property
    def left_kg(self) -> Fraction:
        """How far the person stays below the limit; less than nothing above it."""
        return Fraction(self.sheet.mass_limit_kg) - self.mass_kg

    @property
    def figures(self) -> dict[str, str]:
        """The figures as they are said."""
        limit = self.sheet.mass_limit_kg
        return {
            "place": self.place, "component": self.sheet.name, "mass": in_tenths(self.mass_kg, [limit]),
            "limit": text_of(limit), "basis": self.sheet.mass_basis,
        }


def loads_borne(view: FittingView) -> list[Borne] | None:
    """Return what each part is to bear, on the basis of its sheet; None while no mass is known."""
    body = view.head("body")
    bare, load = (exact_figure(body.body if body else {}, f, "kg") for f in ("body_mass_kg", "carried_load_kg"))
    if bare is None:
        return None
    return [
        Borne(place, sheet, bare + (load or 0) if sheet.mass_basis == "with_carried_load" else bare)
        for place, sheet in view.sheets().items()
    ]


def weakest_member(view: FittingView) -> Borne | None:
    """Return the part whose limit the person comes nearest to; None while that is not known."""
    return min(loads_borne(view) or [], key=lambda b: b.left_kg, default=None)


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
    answered = kept(entry, "because")
    return [Remark(code, slot, entry.digest, blocks=not answered) for code in candidacy_doubts(view)]


def before_deciding(view: FittingView, slot: str) -> list[Remark]:
    """Return what stands against the components before anybody has decided, as it would be judged after."""
    body, activity = view.head("body"), view.head("activity")
    found: list[Remark] = []
    if body is not None:
        found += mass_within_every_limit(view, body, slot)
    if activity is not None:
        found += level_within_every_range(view, activity, slot)
    return found + [Remark(code, slot) for code in candidacy_doubts(view)]
