"""Rules of the order of screws and of their locking compound."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from shared_models.calculations.torque import Place, cure_of, shown, skipped_before
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import rule
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView, PlacedScrew
from shared_models.quantities.moments import moment_from

COMPOUND = "compound"


def places_of(view: FittingView, part: str) -> list[Place]:
    """Return the screws of one part with order and opposite, as its sheet states them."""
    return [
        Place(s.key, s.screw.order, f"{part}.{s.screw.opposes}" if s.screw.opposes else "")
        for s in view.screws() if s.place == part
    ]


@rule
def tightened_in_order(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """Screws of a part are tightened in the sheet's order, opposing ones one after the other."""
    screw, stage = view.screw(str(entry.body.get("screw", ""))), slot.partition("/")[0]
    if screw is None:
        return []
    places = places_of(view, screw.place)
    begun = view.slot(slot).root(entry).order
    done = {
        place.key for place in places if place.key != screw.key
        and any(view.slot(f"{stage}/{place.key}").root(e).order < begun for e in view.slot(f"{stage}/{place.key}").history())
    }
    skipped = skipped_before(places, screw.key, done)
    if not skipped:
        return []
    names = {s.key: s.screw.name for s in view.screws()}
    figures = {"screw": screw.screw.name, "others": " and ".join(names[key] for key in skipped)}
    return [Remark("tightened_before_opposite", slot, entry.digest, figures, blocks=False)]


@rule
def compound_not_broken(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """A screw whose compound has set is not turned again without cleaning and renewing it."""
    screw = view.screw(str(entry.body.get("screw", "")))
    if screw is None or entry.body.get("cleaned_and_renewed") is True:
        return []
    fresh = _last_fresh(view, entry, slot)
    if fresh is None:
        return []
    minutes = _minutes(fresh.happened_at, entry.happened_at)
    figures = {"screw": screw.screw.name, "minutes": shown(minutes, 0)}
    if minutes < 0:
        return [Remark("compound_times_disagree", slot, entry.digest, figures, blocks=False)]
    cure = cure_of(minutes, screw.screw.locking_sets_min, screw.screw.locking_cures_min)
    if cure.is_set is None:
        return [Remark("compound_set_unknown", slot, entry.digest, figures, blocks=False)]
    if not cure.is_set:
        return []
    sets = screw.screw.locking_sets_min or screw.screw.locking_cures_min
    return [Remark("compound_had_set", slot, entry.digest, {**figures, "sets": f"{sets}"})]


def _last_fresh(view: FittingView, entry: Entry, slot: str) -> Entry | None:
    """The tightening before ``entry`` at which the compound that now holds was put on."""
    place, fresh = view.slot(slot), None
    for fact in place.history():
        if place.root(fact) == place.root(entry):
            break
        if fact.body.get("locking_method") != COMPOUND or not _on_same_part(view, fact, entry):
            continue
        if fresh is None or fact.body.get("cleaned_and_renewed") is True:
            fresh = fact
    return fresh


def _on_same_part(view: FittingView, earlier: Entry, later: Entry) -> bool:
    """Tell whether the part was not exchanged between two tightenings."""
    slot = view.slot("component/" + str(later.body.get("screw", "")).partition(".")[0])
    parts = [
        {slot.root(slot.entries[d]).digest for d in entry.rests_on if d in slot.entries}
        for entry in (earlier, later)
    ]
    return not all(parts) or bool(parts[0] & parts[1])


def _minutes(earlier: str, later: str) -> Fraction:
    passed = moment_from(later) - moment_from(earlier)
    return Fraction(round(passed.total_seconds()), 60)


@dataclass(frozen=True)
class Curing:
    """Which compounds have not cured at a moment.

    ``early``: (minutes left, screw's name, minutes since tightening, minutes to
    cure, digest of the tightening); ``unknown``: screws whose sheet lacks the time.
    """

    early: tuple[tuple[Fraction, str, Fraction, Decimal, str], ...]
    unknown: tuple[str, ...]


def curing_at(view: FittingView, moment: str) -> Curing:
    """Return what is still curing at a moment (ISO text with its offset)."""
    early, unknown = [], []
    for screw, tightened in compounds(view):
        minutes, cures = _minutes(tightened.happened_at, moment), screw.screw.locking_cures_min
        if cures is None:
            unknown.append(screw.screw.name)
        elif minutes < 0 or not cure_of(minutes, None, cures).is_cured:
            early.append((Fraction(cures) - minutes, screw.screw.name, minutes, cures, tightened.digest))
    return Curing(tuple(early), tuple(unknown))


@rule
def walked_after_cure(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """The final walk waits for each compound to cure; one remark names all that did not."""
    curing, found = curing_at(view, entry.happened_at), []
    if curing.early:
        # The one that needs longest speaks for the others.
        _, _, minutes, cures, cause = max(curing.early)
        screws = "; ".join(name for _, name, *_ in curing.early)
        figures = {"screws": screws, "minutes": shown(minutes, 0), "cures": f"{cures}"}
        found.append(Remark("walked_before_cured", slot, cause, figures, blocks=False))
    if curing.unknown:
        found.append(Remark("cure_not_available", slot, entry.digest, {"screws": "; ".join(curing.unknown)}, blocks=False))
    return found


def compounds(view: FittingView) -> list[tuple[PlacedScrew, Entry]]:
    """Return each screw that was last tightened into a compound, with that tightening."""
    found = []
    for screw in view.screws():
        head = view.head(f"torque_final/{screw.key}")
        if head is not None and head.body.get("locking_method") == COMPOUND:
            found.append((screw, head))
    return found
