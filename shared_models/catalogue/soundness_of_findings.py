"""Whether the rows of findings, causes and contradictions are whole and name what exists."""

from __future__ import annotations

from typing import Iterable

from shared_models.catalogue.edition import Edition
from shared_models.catalogue.findings import (
    PACE_RELATIONS,
    PERSON,
    Cause,
    Contradiction,
    Finding,
)

_TURNS = ("", "more", "less")


def finding_troubles(edition: Edition) -> list[str]:
    """Return what is missing or contradicts itself in these rows, in words."""
    found = twice(f"finding {f.key}" for f in edition.findings)
    found += twice(f"cause {c.key}" for c in edition.causes)
    for finding in edition.findings:
        found += _finding(finding, edition)
    for cause in edition.causes:
        found += _cause(cause, edition)
    for stage in edition.search_order:
        found += _steps(f"stage {stage.key}", stage.steps, edition)
    for pair in edition.contradictions:
        found += _contradiction(pair, edition)
    used = {c.key for f in edition.findings for c in (*f.causes, *f.person)}
    used |= {c.key for p in edition.contradictions for e in p.explained for c in e.causes}
    found += [f"cause {c.key} explains nothing" for c in edition.causes if c.key not in used]
    return found


def twice(names: Iterable[str]) -> list[str]:
    """Return a sentence for each name that stands more than once."""
    seen: set[str] = set()
    found = []
    for name in names:
        if name in seen:
            found.append(f"{name} stands twice")
        seen.add(name)
    return found


def _finding(finding: Finding, edition: Edition) -> list[str]:
    place, choices, found = f"finding {finding.key}", edition.choices, []
    trials = {kind.function for kind in edition.kinds.values()} | {"any"}
    if finding.trial not in trials or not finding.trial:
        found.append(f"{place} belongs to no trial: {finding.trial}")
    if finding.turn not in _TURNS or (finding.turn and finding.trial == "any"):
        found.append(f"{place} turns no adjuster: {finding.turn}")
    for name in ("words", "try_first", "source", "phases", "noticed", "causes", "disturbs"):
        if not getattr(finding, name):
            found.append(f"{place} lacks its {name}")
    for name, codes, list_name in (
        ("phase", finding.phases, "gait_phase"),
        ("way of noticing", finding.noticed, "perceived"),
        ("place", (finding.seen_at,), "seen_at"),
    ):
        found += [
            f"{place} has the unknown {name} {code}" for code in codes
            if code not in choices.get(list_name, {})
        ]
    sides = ((finding.causes, False), (finding.person, True))
    found += [
        f"{place} has {cause.key} on the wrong side" for causes, of_person in sides
        for cause in causes if (cause.sort == PERSON) is not of_person
    ]
    found += _steps(place, finding.disturbs, edition)
    if finding.turn:
        found += _cured_by_its_adjuster(finding, edition)
    return found


def _cured_by_its_adjuster(finding: Finding, edition: Edition) -> list[str]:
    """An adjuster that cures it is among its causes, with all that rests on it."""
    place, found = f"finding {finding.key}", []
    if not any(
        c.adjuster == finding.trial and c.turn == finding.turn for c in finding.causes
    ):
        found.append(f"{place} turns {finding.trial} {finding.turn}, but no cause of it does")
    for kind in edition.kinds.values():
        if kind.function and kind.function != finding.trial and (
            f"setting/{finding.trial}" in kind.rests_on
        ):
            step = edition.step_of_slot(kind.slot)
            if step and step.key not in finding.disturbs:
                found.append(f"{place} does not say that it disturbs {step.key}")
    return list(dict.fromkeys(found))


def _cause(cause: Cause, edition: Edition) -> list[str]:
    place, found = f"cause {cause.key}", []
    if cause.sort not in edition.choices.get("cause_sort", {}):
        found.append(f"{place} is of the unknown sort {cause.sort}")
    if not cause.words or not cause.look:
        found.append(f"{place} lacks its words or what to look at")
    if (cause.sort == PERSON) == bool(cause.search):
        found.append(f"{place} stands in the wrong place of the order of search")
    if bool(cause.adjuster) != bool(cause.turn) or cause.turn not in _TURNS:
        found.append(f"{place} names an adjuster without a direction, or the other way round")
    if cause.adjuster and cause.adjuster not in edition.choices.get("function", {}):
        found.append(f"{place} names the unknown adjuster {cause.adjuster}")
    return found


def _contradiction(pair: Contradiction, edition: Edition) -> list[str]:
    place, found = f"contradiction {pair.first} and {pair.second}", []
    rows = {f.key: f for f in edition.findings}
    for key in (pair.first, pair.second):
        if key not in rows:
            found.append(f"{place} names the finding {key}, which stands nowhere")
    if pair.first == pair.second:
        found.append(f"{place} contradicts itself alone")
    if not (pair.words and pair.act and pair.source and pair.explained):
        found.append(f"{place} lacks its words, its explanation or its source")
    used = [each.when for each in pair.explained]
    for when in (*used, *pair.only_when):
        if when not in PACE_RELATIONS:
            found.append(f"{place} has the unknown pace relation {when}")
    if not all(each.words and each.causes for each in pair.explained):
        found.append(f"{place} has an explanation without words or causes")
    paced = any(when != "any" for when in used)
    found += [
        f"{place} goes by pace, but {key} does not" for key in (pair.first, pair.second)
        if paced and key in rows and not rows[key].by_pace
    ]
    return found


def _steps(place: str, steps: tuple[str, ...], edition: Edition) -> list[str]:
    known = {step.key for step in edition.steps}
    return [f"{place} names the step {key}, which is not there" for key in steps if key not in known]
