"""Whether an edition is sound: it names only what exists, and never in a circle."""

from __future__ import annotations

import re
from typing import Mapping

from shared_models.catalogue.edition import (
    FIELD_TYPES,
    NAMED_RESTS,
    Edition,
    Field,
    Kind,
    slot_matches,
)
from shared_models.catalogue.soundness_of_changes import change_troubles
from shared_models.catalogue.soundness_of_findings import finding_troubles

#: What a slot may be asked for each of; the component sheets list them.
FOR_EACH = ("screw", "cap", "place", "function")
#: The slots that a rest named by a rule in code may come to.
_NAMED_PATTERNS = {
    "@sheet": ("sheet",),
    "@component_of_screw": ("component/*",),
    "@covered_by_cap": ("component/*", "setting/*", "screw_moved/*", "torque_final/*"),
    "@signed_under": ("consent", "handover", "sign_off"),
}


def self_check(edition: Edition, findings: bool = True) -> list[str]:
    """Return what contradicts itself in an edition, in words; [] when sound."""
    patterns = [kind.slot_pattern for kind in edition.kinds.values()]
    step_keys = [step.key for step in edition.steps]
    troubles: list[str] = []

    def known(slot: str, place: str) -> None:
        if slot in NAMED_RESTS:
            return
        bare = re.sub(r"{\w+}", "x", slot).replace("*", "x")
        if not any(slot_matches(p, bare) or slot_matches(slot, p) for p in patterns):
            troubles.append(f"{place} names the slot {slot}, which no kind fills")

    for kind in edition.kinds.values():
        for slot in (*kind.rests_on, *kind.rests_on_act, *kind.made_after, *kind.lifts):
            known(slot, kind.key)
        if kind.for_each not in ("", *FOR_EACH):
            troubles.append(f"{kind.key} is for each {kind.for_each}, which nothing lists")
        for field in kind.fields:
            troubles += _field_troubles(kind.key, field, edition.choices)
        for name in re.findall(r"{(\w+)}", kind.slot):
            if name not in {field.key for field in kind.fields}:
                troubles.append(f"{kind.key}: slot uses {name}, not a field")
    for position, step in enumerate(edition.steps):
        for slot in (*step.asks, *step.when, *(step.instead or {}), *(step.instead or {}).values()):
            known(slot, f"step {step.key}")
        for slot in step.asks:
            if "*" in slot and not _filling(slot, edition).for_each:
                troubles.append(f"step {step.key} asks {slot}, but nothing says for each what")
        for earlier in step.before:
            if earlier not in step_keys[:position]:
                troubles.append(f"step {step.key} comes before its own {earlier}")
    if len(set(step_keys)) != len(step_keys):
        troubles.append("a step stands twice")
    troubles += finding_troubles(edition) if findings else []
    troubles += change_troubles(edition)
    circle = circle_of_rests(edition)
    if circle:
        troubles.append("these rest on each other in a circle: " + ", ".join(circle))
    if edition.visit:
        # Findings are the same; where they lead was checked with the steps of a fitting.
        of_visit = [t for t in self_check(edition.visit, findings=False) if t not in troubles]
        troubles += [f"at a visit, {trouble}" for trouble in of_visit]
    return troubles


def _filling(pattern: str, edition: Edition) -> Kind:
    """The kind that fills a pattern; a bare one, reported elsewhere, if none does."""
    try:
        return edition.kind_of_slot(pattern)
    except KeyError:
        return Kind(key="", title="", subject="", slot=pattern, for_each="unknown")


def _field_troubles(
    kind: str, field: Field, choices: Mapping[str, Mapping[str, str]]
) -> list[str]:
    place = f"{kind}.{field.key}"
    troubles = []
    if field.type not in FIELD_TYPES:
        troubles.append(f"{place} has the unknown type {field.type}")
    if field.type in ("amount", "count") and not (
        field.unit and field.lowest and field.highest
    ):
        troubles.append(f"{place} lacks its unit or its range")
    if field.type in ("choice", "several") and field.choices not in choices:
        troubles.append(f"{place} offers the unknown choices {field.choices}")
    for code, event in (field.events or {}).items():
        if code not in choices.get(field.choices, {}) or event not in choices.get("event_what", {}):
            troubles.append(f"{place} records {code} as the event {event}, which is not offered")
    troubles += [f"{place} needs an event for {code}, but names none" for code in field.events_needed if code not in (field.events or {})]
    for code in field.refuse_proof:
        if code not in choices.get(field.choices, {}):
            troubles.append(f"{place} refuses {code}, which it does not offer")
    return troubles


def circle_of_rests(edition: Edition) -> list[str]:
    """Return kinds that rest on each other in a circle, or [] when none do.

    With a circle, doing one proof again would make another stale for ever, and
    a fitting could not be closed.  (Caps over caps are for `sheet_troubles`.)
    """
    graph = {key: _rested_on(kind, edition) for key, kind in edition.kinds.items()}
    done: set[str] = set()
    for start in graph:
        path, branches = [start], [iter(sorted(graph[start]))]
        while branches:
            following = next(branches[-1], None)
            if following is None:
                done.add(path.pop())
                branches.pop()
            elif following in path:
                return [*path[path.index(following):], following]
            elif following not in done:
                path.append(following)
                branches.append(iter(sorted(graph[following])))
    return []


def _rested_on(kind: Kind, edition: Edition) -> set[str]:
    found: set[str] = set()
    for slot in (*kind.rests_on, *kind.rests_on_act):
        if slot == "@whole_fitting":
            found |= {k.key for k in edition.kinds.values() if k.slot != kind.slot}
            continue
        patterns = _NAMED_PATTERNS.get(slot, (re.sub(r"{\w+}", "*", slot),))
        found |= {
            k.key for k in edition.kinds.values() for p in patterns
            if slot_matches(p, k.slot_pattern) or slot_matches(k.slot_pattern, p)
        }
    return found
