"""Words for what a trial showed and what may lie behind it; tablet and page say the same."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping, Sequence

from shared_models.calculations.findings import (
    ExplainedPair,
    Explanation,
    RankedCause,
    explain,
)
from shared_models.catalogue.edition import Edition
from shared_models.catalogue.findings import Finding
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.language import counted, phrase, spoken, within

#: Labels around the findings of a trial.
WHY = phrase("Why? What else it could be")
WHY_OF_LAST = phrase("Why? What else the last trial could mean")
WHY_CLOSE = phrase("Hide what else it could be")
NOT_CERTAIN = phrase("Possibilities, the first worth looking at first. Nothing here is certain.")
PACE_LABEL = phrase("At which pace")
SOMETHING_ELSE = phrase("Something else")
SOMETHING_STOOD_OUT = phrase("Something was seen, felt or heard")
SOMETHING_ELSE_CLOSE = phrase("Close this list")
SEEN_WHERE = phrase("Where")
BEFORE = phrase("before: {grade}")


@dataclass(frozen=True)
class Section:
    """One part of what a trial may mean: a title, lines, and lines in small type.

    ``key``: restore, contradiction, try, held, first, leg, person, disturbs or
    source.
    """

    key: str
    title: str
    lines: tuple[str, ...]
    small: tuple[str, ...] = ()


def findings_words(entry: Entry, view: FittingView) -> list[str]:
    """Return the findings of a trial in words: what, how marked, how perceived, at which pace."""
    known = {f.key: f.words for f in view.edition.findings}
    found = []
    for item in items_of(entry):
        words = known.get(str(item.get("finding")), str(item.get("finding")))
        parts = [spoken(str(item.get("grade", ""))), spoken(str(item.get("perceived", "seen")))]
        if item.get("pace"):
            parts.append(view.edition.words("pace", str(item["pace"])))
        found.append(f"{words}: {', '.join(parts)}")
    return found


def items_of(entry: Entry) -> list[Mapping[str, Any]]:
    """Return the findings recorded in a trial, leaving out what has no form."""
    items = entry.body.get("findings", ())
    return [i for i in items if isinstance(i, Mapping)] if isinstance(items, (list, tuple)) else []


def ways_of(finding: Finding) -> tuple[str, ...]:
    """Return in which ways a finding can be noticed, seen first: what is seen and what is felt are asked apart."""
    ways = finding.noticed or ("seen", "felt")
    return tuple(way for way in ("seen", "felt", "heard") if way in ways)


def before_words(items: Sequence[Mapping[str, Any]], finding: Finding, edition: Edition) -> str:
    """Return how a finding was graded in the trial before, in a few words; '' where nobody said."""
    grades = {str(i.get("perceived", "seen")): str(i.get("grade", "")) for i in items if i.get("finding") == finding.key}
    said = {grade for grade in grades.values() if grade}
    if not said:
        return ""
    if len(said) == 1 and (len(grades) > 1 or said == {"none"}):
        return spoken(BEFORE, grade=edition.words("grade", said.pop()))
    told = (f"{edition.words('grade', g)} ({edition.words('perceived', way)})" for way, g in grades.items() if g != "none")
    return spoken(BEFORE, grade=", ".join(told))


def noticed_words(entry: Entry, view: FittingView) -> list[str]:
    """Return only what was there in a trial, leaving out what was looked for and not found."""
    looked = [i.get("grade") for i in items_of(entry)]
    return [words for words, grade in zip(findings_words(entry, view), looked) if grade in ("slight", "marked")]


def found_in_short(entry: Entry, view: FittingView) -> list[str]:
    """Return what was there in a trial, each finding once with how it was noticed, and how many others were looked for.

    For paper, where a line for everything that was not there hides what was.
    """
    known = {f.key: f.words for f in view.edition.findings}
    there: dict[str, list[str]] = {}
    looked_for: dict[str, None] = {}
    for item in items_of(entry):
        words = known.get(str(item.get("finding")), str(item.get("finding")))
        looked_for[words] = None
        if item.get("grade") in ("slight", "marked"):
            said = [spoken(str(item["grade"])), spoken(str(item.get("perceived", "seen")))]
            if item.get("pace"):
                said.append(view.edition.words("pace", str(item["pace"])))
            there.setdefault(words, []).append(" ".join(said))
    found = [f"{words}: {', '.join(said)}" for words, said in there.items()]
    absent = len(looked_for) - len(there)
    if absent:
        found.append(counted(
            "{number} other looked for, not there", "{number} others looked for, not there", absent,
        ) if there else counted("{number} looked for, not there", "{number} looked for, none there", absent))
    return found


def finding_label(finding: Finding) -> str:
    """Return a finding as a label: its words, beginning with a capital."""
    return _begun(finding.words)


def terms_words(finding: Finding, edition: Edition) -> str:
    """Return the trade's terms and the phases of gait, in one short line."""
    phases = ", ".join(edition.words("gait_phase", p) for p in finding.phases)
    return "; ".join(part for part in (", ".join(finding.terms), phases) if part)


def why(
    items: list[Mapping[str, Any]], edition: Edition, function: str = "",
) -> tuple[Section, ...]:
    """Return what findings may mean, in sections in the order to be read.

    ``items`` as recorded; none of them graded slight or marked gives ().
    ``function``: whose trial it was, so that what is tuned elsewhere says so.
    """
    explanation = explain(items, edition.findings, edition.contradictions)
    if not explanation.noticed:
        return ()
    tries = _try_first(explanation, edition, function)
    return (
        # Putting settings back comes before anything that is to be understood.
        *(section for section in tries if section.key == "restore"),
        *(_contradiction(each) for each in explanation.contradictions),
        *(section for section in tries if section.key == "try"),
        *_held(explanation, edition),
        *_first(explanation),
        *_leg(explanation, edition),
        *_person(explanation),
        *_disturbs(explanation, edition),
        _sources(explanation),
    )


def _contradiction(each: ExplainedPair) -> Section:
    lines = [reading.words for reading in each.readings]
    asks = any(reading.when != "any" for reading in each.pair.explained)
    if asks and not each.paces_said:
        lines.append(spoken("Say at which pace each was found: that tells these apart."))
    lines.append(each.pair.act)
    return Section(
        "contradiction", each.pair.words, tuple(lines), (spoken("Source: {source}.", source=each.pair.source),)
    )


def _try_first(explanation: Explanation, edition: Edition, function: str) -> list[Section]:
    """What to try first for each finding; nothing where the findings contradict."""
    opposed = {
        key for each in explanation.contradictions
        for key in (each.pair.first, each.pair.second)
    }
    found = []
    for noticed in explanation.noticed:
        row = noticed.finding
        opposed_here = row.key in opposed or row.adjuster in explanation.held_back
        if opposed_here and not row.restore:
            continue
        lines = [row.try_first]
        if function and row.trial not in (function, "any"):
            lines.append(spoken("That belongs to the trials of '{trial}'.", trial=edition.words('function', row.trial)))
        found.append(Section(
            "restore" if row.restore else "try", spoken("Try first: {words}", words=row.words), tuple(lines),
            (_begun(terms_words(row, edition)) + ".",),
        ))
    return found


def _first(explanation: Explanation) -> list[Section]:
    """The causes on the leg that would explain more than one finding."""
    lines = tuple(_ranked(r) for r in explanation.leg if len(r.explains) > 1)
    return [Section("first", spoken("Look here first: would explain more than one finding"), lines)] if lines else []


def _leg(explanation: Explanation, edition: Edition) -> list[Section]:
    """The other causes on the leg, in the order of search."""
    found = []
    for stage in edition.search_order:
        lines = tuple(
            _ranked(r) for r in explanation.leg
            if r.cause.search == stage.key and len(r.explains) == 1
        )
        if lines:
            found.append(Section("leg", spoken("On the leg: {small}", small=_small(stage.words)), lines))
    return found


def _person(explanation: Explanation) -> list[Section]:
    lines = tuple(_ranked(r) for r in explanation.person)
    return [Section("person", spoken("On the person's side"), lines)] if lines else []


def _held(explanation: Explanation, edition: Edition) -> list[Section]:
    if not explanation.held_back:
        return []
    names = _listed([_small(edition.words("function", f)) for f in explanation.held_back])
    line = spoken("{begun}: what was found asks for opposite things.", begun=_begun(names))
    return [Section("held", spoken("Not to be tuned on this trial"), (line,))]


def _disturbs(explanation: Explanation, edition: Edition) -> list[Section]:
    titles = [s.title for s in edition.steps if s.key in explanation.disturbs]
    if not titles:
        return []
    these = spoken("this step") if len(titles) == 1 else spoken("these steps")
    line = spoken("{titles}: once something was tried, go through {these} again.", titles=', '.join(titles), these=these)
    return [Section("disturbs", spoken("Trying it can disturb"), (line,))]


def _sources(explanation: Explanation) -> Section:
    """Where each row comes from; rows of one source stand together."""
    by_source: dict[str, list[str]] = {}
    for noticed in explanation.noticed:
        by_source.setdefault(noticed.finding.source, []).append(noticed.finding.words)
    small = tuple(
        spoken("Source for '{listed}': {source}.", listed=_listed(words), source=source) for source, words in by_source.items()
    )
    return Section("source", "", (), small)


def _ranked(ranked: RankedCause) -> str:
    line = f"{_begun(ranked.cause.words)}. {_begun(ranked.cause.look)}."
    count = len(ranked.explains)
    return spoken("{line} Would explain {count} findings.", line=line, count=count) if count > 1 else line


def _listed(names: list[str]) -> str:
    return spoken(" and ").join(names) if len(names) < 3 else spoken("{names} and {last}", names=', '.join(names[:-1]), last=names[-1])


def _begun(text: str) -> str:
    return text[:1].upper() + text[1:]


def _small(text: str) -> str:
    return within(text)
