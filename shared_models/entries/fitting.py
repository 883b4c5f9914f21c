"""One fitting read from the record: its components, settings, trials, proofs."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Iterable, Mapping

from shared_models.catalogue.edition import (
    GROUNDS,
    Edition,
    Kind,
    Step,
    load_edition,
    slot_matches,
)
from shared_models.catalogue.sheet_troubles import sheet_troubles
from shared_models.catalogue.sheets import (
    FUNCTIONS,
    PLACES,
    Adjuster,
    Cap,
    Screw,
    Sheet,
    sheet_from,
)
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.record import Record, edition_of
from shared_models.entries.slots import Slot
from shared_models.quantities.amounts import amount_from

#: What a visit has from the one before it until it records its own.
CARRIED_ON = ("component/", "restriction/")
#: What a visit compares with how it was left; there is no comparing a part that is new.
AS_LEFT = ("found/", "torque_check/")


@dataclass(frozen=True)
class PlacedScrew:
    """A screw of the chain; ``key`` is ``place.screw``."""

    key: str
    place: str
    sheet: Sheet
    screw: Screw


@dataclass(frozen=True)
class PlacedCap:
    """A cap of the chain; ``key`` is ``place.cap``."""

    key: str
    place: str
    cap: Cap


class FittingView:
    """What the record says of one fitting, or one later visit, at one moment.

    A reading: it changes nothing, and is made anew after the record has grown.
    ``later``: visits that lead here, so that no circle is followed.
    """

    def __init__(self, record: Record, fitting: str, later: tuple[str, ...] = ()) -> None:
        self.record = record
        self._later = (*later, fitting)
        self.id = fitting
        self.subject = Subject("fitting", fitting)
        self._sheets: dict[str, Sheet] | None = None
        self._screws: dict[str, PlacedScrew] | None = None
        self._heads: dict[str, tuple[Entry, ...]] = {}
        self._corrections: dict[str, tuple[set[str], Mapping[str, list[Entry]]]] = {}
        # While two openings are disputed either may lend its edition; which
        # one is settled by digest, never by a clock.
        self._openings = self.heads("opened")
        self.opened: Entry | None = min(self._openings, key=lambda e: e.digest, default=None)
        self.edition: Edition = (
            (edition_of(self.opened) if self.opened else None) or load_edition()
        )
        #: The fitting or visit that this visit comes after; "" for a fitting.
        self.after = self._agreed("after")
        if self.after and self.edition.visit:
            self.edition = self.edition.visit

    @property
    def person(self) -> Subject:
        """The person this fitting is for; nobody while that is disputed."""
        return Subject("person", self._agreed("person"))

    @property
    def prosthetist(self) -> str:
        """The member of staff whose fitting this is; "" while that is disputed."""
        return self._agreed("prosthetist")

    def _agreed(self, field: str) -> str:
        said = {str(e.body.get(field, "")) for e in self._openings}
        return said.pop() if len(said) == 1 else ""

    @cached_property
    def former(self) -> FittingView | None:
        """What this visit starts from; None for a fitting, and where it is not here or somebody else's."""
        if not self.after or self.after in self._later:
            return None
        found = FittingView(self.record, self.after, self._later)
        return found if found.opened and found.person == self.person else None

    def subject_of(self, kind: Kind) -> Subject:
        """Return whose slots a kind fills: the person's or the fitting's."""
        return self.person if kind.subject == "person" else self.subject

    def slot(self, name: str) -> Slot:
        """Return a slot of the fitting, or of its person for `identity`.

        A visit that has not recorded a part or a restriction anew has the one left last time.
        """
        if name == "identity":
            return self.record.slot(self.person, name)
        own = self.record.slot(self.subject, name)
        if own.heads() or not name.startswith(CARRIED_ON) or self.former is None or self.former.is_lifted(name):
            return own
        return self.former.slot(name)

    def own(self, pattern: str) -> list[str]:
        """Return the slots under a pattern that were filled here, not left by an earlier visit."""
        return sorted(
            name for name, slot in self.record.slots(self.subject).items()
            if slot_matches(pattern, name) and slot.heads()
        )

    @property
    def exchanged(self) -> frozenset[str]:
        """Places in the leg where this visit built in another part."""
        return frozenset(name.partition("/")[2] for name in self.own("component/*")) if self.after else frozenset()

    def is_lifted(self, restriction: str) -> bool:
        """Whether a confirmed trial made knowing it has lifted a restriction here."""
        sort, _, ground = restriction.partition("/")
        trial = self.head(f"trial/{ground}") if sort == "restriction" else None
        if trial is None or trial.body.get("outcome") != "confirmed":
            return False
        place = self.slot(restriction)
        return all(set(trial.rests_on) & {v.digest for v in place.versions(h)} for h in place.heads())

    def heads(self, name: str) -> tuple[Entry, ...]:
        """Return what holds a slot now."""
        if name not in self._heads:
            self._heads[name] = self.slot(name).heads()
        return self._heads[name]

    def head(self, name: str) -> Entry | None:
        """Return what holds a slot; None when open, disputed or not known here."""
        heads = self.heads(name)
        if len(heads) != 1 or self.record.kind_of(heads[0]) is None:
            return None
        return heads[0]

    def value(self, name: str, field: str) -> Any:
        """Return one field of what holds a slot, None when not there."""
        head = self.head(name)
        return head.body.get(field) if head else None

    def filled(self, pattern: str) -> list[str]:
        """Return the filled slots that fall under a pattern, sorted."""
        if "*" not in pattern:
            return [pattern] if self.slot(pattern).entries else []
        names = set(self.record.slots(self.subject))
        if self.former is not None and pattern.startswith(CARRIED_ON):
            names |= {n for n in self.former.filled(pattern) if self.slot(n).entries}
        return sorted(name for name in names if slot_matches(pattern, name))

    def entries(self) -> list[Entry]:
        """Every entry of the fitting in display order, each once, corrections among them."""
        found = {
            d: e for s in self.record.slots(self.subject).values() for d, e in s.entries.items()
        }
        # An entry of a newer form stands in the slot of what it replaces, too.
        found |= {e.digest: e for e in self.record.needs_newer(self.subject)}
        return sorted(found.values(), key=lambda e: e.order)

    # The chain of components ------------------------------------------------

    def sheet_of(self, component: Entry | None) -> Sheet | None:
        """Return the sheet version that a component entry names, if it is here."""
        if component is None:
            return None
        entry = self.record.entries.get(str(component.body.get("sheet_digest", "")))
        named = Subject("component_sheet", str(component.body.get("sheet", "")))
        if entry is None or entry.kind != "component_sheet" or entry.subject != named:
            return None
        known = self.record.sheets_read
        if entry.digest not in known:
            known[entry.digest] = None if sheet_troubles(entry.body) else sheet_from(entry.body)
        return known[entry.digest]

    def sheets(self) -> dict[str, Sheet]:
        """Return the sheet of each place that holds a component with one."""
        if self._sheets is None:
            found = {p: self.sheet_of(self.head(f"component/{p}")) for p in PLACES}
            self._sheets = {place: sheet for place, sheet in found.items() if sheet}
        return self._sheets

    def adjuster(self, function: str) -> Adjuster | None:
        """Return the adjuster of a function on the knee built in."""
        knee = self.sheets().get("knee")
        return knee.adjuster(function) if knee else None

    def screws(self) -> list[PlacedScrew]:
        """Return every screw of the chain, from the socket down."""
        return list(self._screws_by_key().values())

    def screw(self, key: str) -> PlacedScrew | None:
        """Return one screw of the chain."""
        return self._screws_by_key().get(key)

    def _screws_by_key(self) -> dict[str, PlacedScrew]:
        if self._screws is None:
            placed = (
                PlacedScrew(f"{place}.{screw.key}", place, sheet, screw)
                for place, sheet in self.sheets().items() for screw in sheet.screws
            )
            self._screws = {screw.key: screw for screw in placed}
        return self._screws

    def caps(self) -> list[PlacedCap]:
        """Return every cap of the chain, in the order they go on."""
        return [
            PlacedCap(f"{place}.{cap.key}", place, cap)
            for place, sheet in self.sheets().items() for cap in sheet.caps
        ]

    def _is_listed(self, slot: str) -> bool:
        """False for a screw, cap or valve that no component built in has any more.

        What belonged to a part since exchanged can't be done again, so no later
        proof may wait for it.
        """
        sort, _, key = slot.partition("/")
        place = "knee" if sort == "setting" else key.partition(".")[0]
        sheet = self.sheets().get(place)
        if sheet is None:
            return True
        if sort == "setting":
            return sheet.adjuster(key) is not None
        if sort in ("torque_interim", "torque_final"):
            return self.screw(key) is not None
        return sort != "cap" or any(c.key == key for c in self.caps())

    def expand(self, pattern: str) -> list[str]:
        """Return the slots that a step asks for under a pattern.

        A setting is asked for only where the knee built in has that adjuster.
        """
        if "*" not in pattern:
            sort, _, function = pattern.partition("/")
            lacks = sort == "setting" and "knee" in self.sheets() and not self.adjuster(function)
            return [] if lacks else [pattern]
        each = {
            "screw": lambda: [s.key for s in self.screws()],
            "cap": lambda: [c.key for c in self.caps()],
            "place": lambda: list(PLACES),
            "function": lambda: [f for f in FUNCTIONS if self.adjuster(f)],
        }[self.edition.kind_of_slot(pattern).for_each]
        return [pattern.replace("*", key) for key in each()]

    def slots_asked(self, step: Step) -> list[str]:
        """Return the slots that a step asks for here, in its order.

        A step with ``when`` asks nothing while nothing under it was recorded, and of
        each screw or place only what was touched.  What was exchanged is not looked at as it was left.
        """
        slots = [slot for pattern in step.asks for slot in self.expand(pattern)]
        if not self.after:
            return slots
        exchanged = self.exchanged
        if not step.when:
            return [s for s in slots if not (s.startswith(AS_LEFT) and self._place_in(s) in exchanged)]
        touched = {name for pattern in step.when for name in self.own(pattern)}
        not_cleared = {n for p in step.when if p.startswith("restriction/") for n in self.filled(p) if self.heads(n)}
        if not touched - not_cleared:
            grounds = {n.partition("/")[2] for n in not_cleared}
            return [s for s in slots if s.partition("/")[2] in grounds]
        each = {slot for p in step.asks if "*" in p for slot in self.expand(p)}
        done = {name for p in step.asks if "*" in p for name in self.own(p)}
        keys = {name.partition("/")[2] for name in touched}
        return [
            s for s in slots
            if s not in each or s in done or self._place_in(s) in exchanged or s.partition("/")[2] in keys
        ]

    def is_asked(self, slot: str) -> bool:
        """Whether any step asks for a slot here; a visit leaves alone what nobody touched."""
        return any(slot in self.slots_asked(step) for step in self.edition.steps)

    @staticmethod
    def _place_in(slot: str) -> str:
        """The place in the leg that a slot belongs to."""
        sort, _, key = slot.partition("/")
        return "knee" if sort in ("setting", "found") else key.partition(".")[0]

    # What an entry rests on -------------------------------------------------

    def rests(self, kind: Kind, body: Mapping[str, Any]) -> tuple[list[str], list[str], list[str]]:
        """Return filled slots that a body of this kind rests on.

        Three lists: by figure, by act, and only to be named.
        """
        return (
            self._fill(kind.rests_on, body),
            self._fill(kind.rests_on_act, body),
            self._fill((*kind.made_after, *kind.lifts), body),
        )

    def _fill(self, patterns: Iterable[str], body: Mapping[str, Any]) -> list[str]:
        found: list[str] = []
        for pattern in patterns:
            if pattern == "@component_of_screw":
                found.append("component/" + str(body.get("screw", "")).split(".")[0])
            elif pattern == "@covered_by_cap":
                found += self._covered(str(body.get("cap", "")))
            elif pattern == "@signed_under":
                found += self.filled(str(body.get("under", "")))
            elif pattern == "@whole_fitting":
                found += sorted(n for n in self.record.slots(self.subject) if n != "review")
                found.append("identity")
            elif not pattern.startswith("@"):
                for name, value in body.items():
                    if isinstance(value, str):
                        pattern = pattern.replace("{" + name + "}", value)
                filled = self.filled(pattern)
                found += [n for n in filled if self._is_listed(n)] if "*" in pattern else filled
        return list(dict.fromkeys(found))

    def _covered(self, key: str) -> list[str]:
        cap = next((c for c in self.caps() if c.key == key), None)
        if cap is None:
            return []
        found = [f"component/{cap.place}"]
        for place in cap.cap.over:
            sort, _, name = place.partition("/")
            if sort == "screw":
                found += [f"screw_moved/{cap.place}.{name}", f"torque_final/{cap.place}.{name}"]
            elif sort == "cap":
                found.append(f"cap/{cap.place}.{name}")
            else:
                found.append(place)
        return found

    # The course of tuning ---------------------------------------------------

    def trials(self, slot: str) -> list[Entry]:
        """Return the trials of one slot, oldest first, in their newest version."""
        return self.slot(slot).history()

    def settings(self) -> dict[str, str]:
        """Return the position of each adjuster that holds now."""
        found = {}
        for function in FUNCTIONS:
            position = self.value(f"setting/{function}", "position")
            if position is None and self.after:
                position = self.value(f"found/{function}", "position")
            if position is not None:
                found[function] = str(position)
        return found

    def last_confirmed(self) -> dict[str, str]:
        """Return per function the position of its latest confirmed trial, also of an earlier visit."""
        before = self.former if self.former and "knee" not in self.exchanged else None
        latest: dict[str, list[Entry]] = defaultdict(list)
        for kind in self.edition.kinds.values():
            if kind.group == "trial" and kind.function:
                latest[kind.function] += [
                    t for t in self.trials(kind.slot)
                    if t.body.get("outcome") == "confirmed" and self.was_on_this_knee(t)
                ]
        found = before.last_confirmed() if before else {}
        for function, trials in latest.items():
            for trial in sorted(trials, key=lambda t: self._place_key(t), reverse=True):
                position = self.position_in(trial, function)
                if position is not None:
                    found[function] = position
                    break
        return found

    def _place_key(self, entry: Entry) -> tuple:
        place = self.record.place_of(entry.digest)
        root = self.slot(place[1]).root(entry) if place else entry
        return root.order

    def was_on_this_knee(self, trial: Entry) -> bool:
        """Tell whether a trial was walked on the knee built in now: of one since exchanged nothing is known here."""
        knee = self.head("component/knee")
        if knee is None:
            return True
        same = self.slot("component/knee").same_fact(
            knee, lambda later, _: later.is_correction or later.because_code == "settled"
        )
        return bool(same & set(trial.rests_on))

    def position_in(self, trial: Entry, function: str) -> str | None:
        """Return the position of an adjuster that a trial was walked with.

        A correction is followed to its newest undisputed version; None when no
        position was recorded, or it was withdrawn.
        """
        slot = self.slot(f"setting/{function}")
        gone, corrections = self._corrected(slot)
        for digest in trial.rests_on:
            newest = slot.entries.get(digest)
            while newest and len(corrections.get(newest.digest, ())) == 1:
                newest = corrections[newest.digest][0]
            if newest and newest.digest not in gone:
                position = newest.body.get("position")
                return None if amount_from(position) is None else str(position)
        return None

    def _corrected(self, slot: Slot) -> tuple[set[str], Mapping[str, list[Entry]]]:
        """What was withdrawn from a setting's slot, and the corrections of each entry; read once."""
        if slot.name not in self._corrections:
            gone, found = slot.withdrawn(), defaultdict(list)
            for entry in slot.entries.values():
                if entry.is_correction and entry.kind == "setting" and entry.digest not in gone:
                    for digest in entry.replaces:
                        found[digest].append(entry)
            self._corrections[slot.name] = (gone, found)
        return self._corrections[slot.name]

    def unanswered_stops(self) -> list[Entry]:
        """Return stopped trials for which nobody said what was restored."""
        found = []
        for kind in self.edition.kinds.values():
            if kind.group != "trial":
                continue
            slot = self.slot(kind.slot)
            for trial in slot.history():
                if trial.body.get("outcome") != "stopped" or not self.record.kind_of(trial):
                    continue
                versions = {v.digest for v in slot.versions(trial)}
                if not any(self.heads(f"stop_answered/{d}") for d in versions):
                    found.append(trial)
        return sorted(found, key=lambda e: e.order)

    def restrictions(self) -> dict[str, Entry]:
        """Return what is not cleared, by ground."""
        found = {g: self.head(f"restriction/{g}") for g in GROUNDS}
        return {ground: entry for ground, entry in found.items() if entry}
