"""An edition: what may be recorded, in which order, and what is enough.

An edition is data in TOML, written so that a prosthetist can read and correct
it.  This module loads it and checks it against itself; a badly written edition
is a fault of the edition (`BadEdition`), never of somebody's record.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from importlib.resources import files
from typing import Any, Mapping

from shared_models.catalogue.changes import Change, changes_from
from shared_models.catalogue.findings import (
    FINDING_FILES,
    Cause,
    Contradiction,
    Finding,
    SearchStage,
    joined,
    tables_from,
)
from shared_models.language import Phrases, Worded

NEWEST = "2026.1"
_FOLDERS = {"2026.1": "edition_2026_1"}
_KIND_FILES = (
    "kinds_person.toml", "kinds_components.toml", "kinds_walking.toml",
    "kinds_closing.toml", "kinds_timing.toml", "kinds_attached.toml", "kinds_visit.toml",
)
FIELD_TYPES = (
    "amount", "count", "text", "yes_no", "choice", "several", "date",
    "findings", "remarks", "people", "person", "staff", "place", "sheet",
    "digest", "screw", "cap", "function", "ground", "own_id", "step", "contacts",
    "strokes", "fitting", "telephone",
)
#: Slots that an edition may rest on by a rule in code instead of by a pattern.
NAMED_RESTS = (
    "@sheet", "@component_of_screw", "@covered_by_cap", "@whole_fitting",
    "@signed_under",
)
GROUNDS = ("ramp", "low_steps", "stairs")


class BadEdition(ValueError):
    """The edition contradicts itself; ``places`` lists each contradiction."""

    def __init__(self, places: list[str]) -> None:
        super().__init__("; ".join(places))
        self.places = places


class UnknownEdition(LookupError):
    """This program does not know the edition of that name."""


@dataclass(frozen=True)
class Field:
    """One field of a kind: what is asked, with its unit and its limits.

    ``lowest``/``highest`` bound what is possible (outside: refused);
    ``likely_from``/``likely_to`` what is likely (outside: kept, with a doubt).
    Amounts are decimal text in ``unit``.  ``bears``: whether a later proof may
    rest on it.  ``must``: the value without which it proves nothing;
    ``must_when_confirmed``: the same for a confirmed trial only;
    ``should_when_confirmed``: as that, but a stated reason may stand instead.
    ``may_not_apply``: whether a stated reason may stand instead of the value.
    ``fold``: words of the button behind which a form keeps it until it is wanted.
    ``brief``: how it is said in the few words of an entry, with ``{value}`` (and its
    unit) or ``{figure}``; of a yes or no for yes, and ``brief_no`` for no ('': left out).
    ``events``: which event a reason for a stop is recorded as, by its code; ``events_needed``:
    for which of them that is missing while it is not.
    """

    key: str
    label: str = Worded()
    type: str
    unit: str = ""
    hint: str = Worded("")
    signed: str = Worded("")
    choices: str = ""
    lowest: str = ""
    highest: str = ""
    likely_from: str = ""
    likely_to: str = ""
    steps: tuple[str, ...] = ()
    required: bool = False
    bears: bool = True
    fold: str = Worded("")
    brief: str = Worded("")
    brief_no: str = Worded("")
    may_not_apply: bool = False
    must: Any = None
    must_when_confirmed: Any = None
    should_when_confirmed: Any = None
    refuse_proof: tuple[str, ...] = ()
    events: Mapping[str, str] = None  # type: ignore[assignment]
    events_needed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Kind:
    """A kind of entry: its slot, its fields, and what it rests on.

    ``rests_on``: slots whose bearing figures it depends on; ``rests_on_act``:
    slots where only a change of the world disturbs it, not a correction;
    ``made_after``: slots that it must name, though they may change later.
    ``lifts``: restrictions that a confirmed trial of this kind lifts, when it
    was made knowing them.  ``says``: what happened, as the cause of something gone stale.
    """

    key: str
    title: str = Worded()
    subject: str
    slot: str
    fields: tuple[Field, ...] = ()
    rests_on: tuple[str, ...] = ()
    rests_on_act: tuple[str, ...] = ()
    made_after: tuple[str, ...] = ()
    lifts: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()
    for_each: str = ""
    group: str = ""
    function: str = ""
    signed_as: str = ""
    says: str = Worded("")
    free_body: bool = False
    version: int = 1

    def field(self, key: str) -> Field:
        """Return the field of that key; raise KeyError when there is none."""
        for field in self.fields:
            if field.key == key:
                return field
        raise KeyError(f"{self.key} has no field {key}")

    def slot_of(self, body: Mapping[str, Any]) -> str:
        """Return the slot that a body of this kind occupies."""
        if "{" not in self.slot:
            return self.slot
        return re.sub(r"{(\w+)}", lambda m: str(body.get(m[1], "")), self.slot)

    @cached_property
    def slot_pattern(self) -> str:
        """The slot with '*' for what the body fills in."""
        return re.sub(r"{\w+}", "*", self.slot)


@dataclass(frozen=True)
class Step:
    """One step of the fitting as the rail shows it.

    ``when``: the step is asked for only where something under these slots was
    recorded, and of what stands once for each, for what was touched alone: at a
    visit nobody tightens again what nobody loosened.
    """

    key: str
    title: str = Worded()
    phase: str = Worded()
    say: str = Worded()
    asks: tuple[str, ...]
    proves: str = Worded()
    before: tuple[str, ...] = ()
    cautions: tuple[str, ...] = Worded(())
    may_be_waived: bool = False
    instead: Mapping[str, str] = None  # type: ignore[assignment]
    when: tuple[str, ...] = ()


@dataclass(frozen=True)
class Edition:
    """Kinds, steps, findings with their causes, and the words of all choices.

    ``visit`` is the same edition with the steps of a visit after the first; None there.
    """

    name: str
    title: str
    kinds: Mapping[str, Kind]
    steps: tuple[Step, ...]
    findings: tuple[Finding, ...]
    choices: Mapping[str, Mapping[str, str]]
    search_order: tuple[SearchStage, ...] = ()
    causes: tuple[Cause, ...] = ()
    contradictions: tuple[Contradiction, ...] = ()
    changes: tuple[Change, ...] = ()
    visit: Edition | None = None

    def step(self, key: str) -> Step:
        """Return the step of that key; raise KeyError when there is none."""
        for step in self.steps:
            if step.key == key:
                return step
        raise KeyError(f"no step {key}")

    def title_of_step(self, key: str) -> str:
        """Return the title of a step of a fitting or of a visit; the key itself where there is none."""
        steps = (*self.steps, *(self.visit.steps if self.visit else ()))
        return next((step.title for step in steps if step.key == key), key)

    def kind_of_slot(self, slot: str) -> Kind:
        """Return the (first) kind that may occupy a slot or slot pattern."""
        for kind in self.kinds.values():
            if slot_matches(kind.slot_pattern, slot):
                return kind
        raise KeyError(f"no kind for {slot}")

    def step_of_slot(self, slot: str) -> Step | None:
        """Return the step that asks for this slot, if one does."""
        for step in self.steps:
            spare = (step.instead or {}).values()
            if any(slot_matches(p, slot) for p in (*step.asks, *spare)):
                return step
        return None

    def findings_of(self, function: str) -> tuple[Finding, ...]:
        """Return the findings that trials of one function go by."""
        return tuple(
            f for f in self.findings
            if f.trial in (function, "any") and not f.no_longer_offered
        )

    def own_findings(self, function: str) -> tuple[Finding, ...]:
        """Return the findings that belong to one function's trials alone."""
        return tuple(f for f in self.findings_of(function) if f.trial == function)

    def other_findings(self, function: str) -> dict[str, tuple[Finding, ...]]:
        """Return everything else that may be seen, by where it is seen.

        In the order of the choices ``seen_at``; places with nothing are left out.
        """
        other = [
            f for f in self.findings if f.trial != function and not f.no_longer_offered
        ]
        places = self.choices.get("seen_at", {})
        found = {p: tuple(f for f in other if f.seen_at == p) for p in places}
        return {place: rows for place, rows in found.items() if rows}

    def words(self, choices: str, code: str) -> str:
        """Return what a person reads for a code of a choice list."""
        return self.choices.get(choices, {}).get(code, code)


def slot_matches(pattern: str, slot: str) -> bool:
    """Tell whether a slot (or pattern) falls under a pattern with '*'."""
    if pattern == slot:
        return True
    return "*" in pattern and _matcher(pattern).fullmatch(slot) is not None


@lru_cache(maxsize=1024)
def _matcher(pattern: str) -> re.Pattern[str]:
    """Read a pattern once: it is asked of every slot of a fitting, entry after entry."""
    return re.compile(".+".join(re.escape(part) for part in pattern.split("*")))


def files_of_edition(name: str) -> dict[str, bytes]:
    """Return the files that an edition is made of, as they are, by name; raise UnknownEdition."""
    if name not in _FOLDERS:
        raise UnknownEdition(name)
    folder = files("shared_models.catalogue") / _FOLDERS[name]
    return {file.name: file.read_bytes() for file in folder.iterdir() if file.name.endswith(".toml")}


@lru_cache(maxsize=None)
def load_edition(name: str = NEWEST) -> Edition:
    """Return the edition of that name; raise UnknownEdition or BadEdition."""
    if name not in _FOLDERS:
        raise UnknownEdition(name)
    folder = files("shared_models.catalogue") / _FOLDERS[name]

    def read(file: str) -> dict[str, Any]:
        return tomllib.loads((folder / file).read_text(encoding="utf-8"))

    kinds: dict[str, Any] = {}
    for file in _KIND_FILES:
        kinds.update(read(file))
    edition = edition_from(
        read("steps.toml"), kinds, joined([read(file) for file in FINDING_FILES]),
        read("choices.toml"), read("visit_steps.toml"), read("changes.toml"),
    )
    # Imported here: the check reads editions, so it comes after this module.
    from shared_models.catalogue.soundness import self_check

    troubles = self_check(edition)
    if troubles:
        raise BadEdition(troubles)
    return edition


def edition_from(
    steps: dict[str, Any], kinds: dict[str, Any], findings: dict[str, Any],
    choices: dict[str, dict[str, str]], visit_steps: dict[str, Any] | None = None,
    changes: dict[str, Any] | None = None,
) -> Edition:
    """Build an edition from the parsed tables; raise BadEdition on unknown names."""
    common = kinds.pop("common", {})
    try:
        built = {key: _kind(key, raw, common) for key, raw in kinds.items()}
        tables = tables_from(findings)
        edition = Edition(
            name=steps["edition"],
            title=steps["title"],
            kinds=built,
            steps=tuple(Step(**_tuples(raw)) for raw in steps["steps"]),
            findings=tables.findings,
            choices={name: Phrases(words) for name, words in choices.items()},
            search_order=tables.search_order,
            causes=tables.causes,
            contradictions=tables.contradictions,
            changes=changes_from((changes or {}).get("changes", ())),
        )
        if visit_steps is None:
            return edition
        steps_of_visit = tuple(Step(**_tuples(raw)) for raw in visit_steps["steps"])
        return replace(edition, visit=replace(edition, title=visit_steps["title"], steps=steps_of_visit))
    except (TypeError, KeyError) as error:
        raise BadEdition([str(error)]) from error


def _kind(key: str, raw: dict[str, Any], common: dict[str, Any]) -> Kind:
    raw = dict(raw)
    fields = list(raw.pop("fields", []))
    shared = raw.pop("common", "")
    fields += common[shared]["fields"] if shared else []
    return Kind(
        key=key, fields=tuple(Field(**_tuples(f)) for f in fields), **_tuples(raw)
    )


def _tuples(raw: dict[str, Any]) -> dict[str, Any]:
    return {k: tuple(v) if isinstance(v, list) else v for k, v in raw.items()}
