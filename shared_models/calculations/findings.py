"""From what a trial showed to what may lie behind it, most worth looking at first.

Nothing here is certain: a finding has several causes, and the same cause may
show in several findings.  What is ranked is where to look, not what is true.
Common practice: search in the order of the edition, from the skin to the fine
setting; findings that ask for opposite things are explained, never averaged.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Mapping, Sequence

from shared_models.calculations.tuning import Suggestion
from shared_models.catalogue.findings import (
    Cause,
    Contradiction,
    Finding,
    PaceReading,
)

#: Paces in their order; a finding without one says nothing of its pace.
PACES = ("slow", "usual", "fast")
_WEIGHT = {"slight": 1, "marked": 2}
_OPPOSITE = {"more": "less", "less": "more"}
#: Suggestions that go by one adjuster's own findings alone.
_ON_ITS_OWN = ("turn", "again", "confirm", "end_of_range", "closed")


@dataclass(frozen=True)
class Noticed:
    """A finding that was graded slight or marked; ``pace`` "" where not said."""

    finding: Finding
    grade: str
    perceived: str = ""
    pace: str = ""


@dataclass(frozen=True)
class RankedCause:
    """A cause with the keys of the findings that it would explain."""

    cause: Cause
    explains: tuple[str, ...]


@dataclass(frozen=True)
class ExplainedPair:
    """A contradiction that a trial shows, with what may explain it.

    ``paces_said``: whether the pace of both findings is known; while it is not,
    ``readings`` holds every explanation that is possible.
    """

    pair: Contradiction
    readings: tuple[PaceReading, ...]
    paces_said: bool


@dataclass(frozen=True)
class Explanation:
    """What a trial's findings speak for.

    ``noticed``: in the order in which they are to be seen to; ``leg`` and
    ``person``: the causes on either side, the most worth looking at first;
    ``held_back``: adjusters that the findings want turned both ways, so that
    none of them is a cause to act on; ``disturbs``: steps to go through again
    once something was tried.
    """

    noticed: tuple[Noticed, ...] = ()
    contradictions: tuple[ExplainedPair, ...] = ()
    leg: tuple[RankedCause, ...] = ()
    person: tuple[RankedCause, ...] = ()
    held_back: tuple[str, ...] = ()
    disturbs: tuple[str, ...] = ()


def explain(
    findings: Sequence[Mapping[str, str]],
    known: Sequence[Finding],
    contradictions: Sequence[Contradiction],
) -> Explanation:
    """Return what may lie behind the findings of one trial.

    ``findings`` are items as recorded: ``finding`` (key), ``grade`` (none,
    slight, marked), and where said ``perceived`` and ``pace``.  What is not
    known here, or was graded none, says nothing.  A cause that would explain
    several findings comes first; between equals the order of search decides,
    then how marked the findings are.  Common practice.
    """
    noticed = noticed_in(findings, known)
    pairs = contradictions_in(findings, contradictions)
    held = _held_back(noticed, pairs)
    causes = [
        r for r in _ranked(noticed, pairs) if r.cause.adjuster not in held
    ]
    leg = tuple(r for r in causes if r.cause.stage is not None)
    person = tuple(r for r in causes if r.cause.stage is None)
    disturbed = [key for n in noticed for key in n.finding.disturbs]
    return Explanation(
        noticed, pairs, leg, person, held, tuple(dict.fromkeys(disturbed)),
    )


def heeding_the_rest(
    found: Suggestion, function: str, position: Decimal,
    findings: Sequence[Mapping[str, str]], known: Sequence[Finding],
    contradictions: Sequence[Contradiction],
) -> Suggestion:
    """Return a suggestion, taken back where the rest of its trial speaks against it.

    ``found`` goes by the findings of one ``function`` alone.  When the trial
    also showed that stance is not safe, the threshold comes before it
    (``threshold``, staying at ``position``); when the findings contradict each
    other nothing is turned (``contradiction``).  Common practice.
    """
    if found.action not in _ON_ITS_OWN:
        return found
    unsafe = [
        n.finding.key for n in noticed_in(findings, known)
        if n.finding.restore and n.finding.trial != function
    ]
    if unsafe:
        return replace(found, action="threshold", position=position, finding=unsafe[0])
    pairs = contradictions_in(findings, contradictions)
    if pairs:
        return replace(found, action="contradiction", position=None, finding=pairs[0].pair.first)
    return found


def noticed_in(
    findings: Sequence[Mapping[str, str]], known: Sequence[Finding],
) -> tuple[Noticed, ...]:
    """Return what was graded slight or marked, what comes first before the rest.

    First what calls for putting settings back, then by the order of search.  A
    finding that was both seen and felt is one finding, as marked as it was at most.
    """
    by_key = {f.key: f for f in known}
    found = [
        Noticed(
            by_key[item["finding"]], item["grade"], item.get("perceived", ""),
            item.get("pace", ""),
        )
        for item in most_marked(findings)
        if item.get("finding") in by_key and item.get("grade") in _WEIGHT
    ]
    return tuple(sorted(found, key=lambda n: (
        not n.finding.restore, _place_of(n.finding), -_WEIGHT[n.grade],
    )))


def most_marked(findings: Sequence[Mapping[str, str]]) -> list[Mapping[str, str]]:
    """Return one item for each finding: the way in which it was noticed most.

    Seen and felt are recorded apart; whoever asks what the finding was at all
    takes the more marked of the two, the first of equals.
    """
    found: dict[str, Mapping[str, str]] = {}
    for item in findings:
        key = item.get("finding", "")
        if key not in found or _WEIGHT.get(item.get("grade", ""), 0) > _WEIGHT.get(found[key].get("grade", ""), 0):
            found[key] = item
    return list(found.values())


def contradictions_in(
    findings: Sequence[Mapping[str, str]], contradictions: Sequence[Contradiction],
) -> tuple[ExplainedPair, ...]:
    """Return the contradictions that these findings hold, each explained.

    A pair that contradicts itself at certain paces only (``only_when``) counts
    once the paces are said and stand so.
    """
    paces = {
        i.get("finding", ""): i.get("pace", "") for i in most_marked(findings)
        if i.get("grade") in _WEIGHT
    }
    found = []
    for pair in contradictions:
        if pair.first not in paces or pair.second not in paces:
            continue
        relation = pace_relation(paces[pair.first], paces[pair.second])
        if pair.only_when and relation not in pair.only_when:
            continue
        found.append(ExplainedPair(pair, _readings(pair, relation), bool(relation)))
    return tuple(found)


def pace_relation(first: str, second: str) -> str:
    """Return how two paces stand: first_faster, first_slower, same; "" if not said."""
    if first not in PACES or second not in PACES:
        return ""
    if first == second:
        return "same"
    return "first_faster" if PACES.index(first) > PACES.index(second) else "first_slower"


def _readings(pair: Contradiction, relation: str) -> tuple[PaceReading, ...]:
    """The explanations that fit; all of them where no pace was said or none fits."""
    fitting = tuple(e for e in pair.explained if e.when in (relation, "any"))
    return fitting if relation and fitting else pair.explained


def _held_back(
    noticed: Sequence[Noticed], pairs: Sequence[ExplainedPair],
) -> tuple[str, ...]:
    """Adjusters that would have to go both ways, or whose findings contradict."""
    wanted = {(n.finding.adjuster, n.finding.turn) for n in noticed if n.finding.turn}
    held = [a for a, turn in sorted(wanted) if (a, _OPPOSITE[turn]) in wanted]
    rows = {n.finding.key: n.finding for n in noticed}
    for each in pairs:
        held += [
            rows[key].adjuster for key in (each.pair.first, each.pair.second)
            if key in rows and rows[key].adjuster
        ]
    return tuple(dict.fromkeys(held))


def _ranked(
    noticed: Sequence[Noticed], pairs: Sequence[ExplainedPair],
) -> list[RankedCause]:
    """All causes, those first that explain more, then by the order of search."""
    explains: dict[str, list[str]] = {}
    causes: dict[str, Cause] = {}
    weight: dict[str, int] = {}
    for each in noticed:
        for cause in (*each.finding.causes, *each.finding.person):
            causes.setdefault(cause.key, cause)
            explains.setdefault(cause.key, []).append(each.finding.key)
            weight[cause.key] = weight.get(cause.key, 0) + _WEIGHT[each.grade]
    for explained in pairs:
        both = (explained.pair.first, explained.pair.second)
        for cause in (c for reading in explained.readings for c in reading.causes):
            causes.setdefault(cause.key, cause)
            keys = explains.setdefault(cause.key, [])
            keys += [key for key in both if key not in keys]
    ranked = sorted(causes.values(), key=lambda c: (
        -len(explains[c.key]), _search_place(c), -weight.get(c.key, 0),
    ))
    return [RankedCause(c, tuple(explains[c.key])) for c in ranked]


def _search_place(cause: Cause) -> int:
    return cause.stage.place if cause.stage else 0


def _place_of(finding: Finding) -> int:
    """Where a finding comes: by its own adjuster's cause, else by its earliest."""
    places = [
        c.stage.place for c in finding.causes
        if c.stage and (not finding.adjuster or c.adjuster == finding.adjuster)
    ]
    return min(places, default=0)
