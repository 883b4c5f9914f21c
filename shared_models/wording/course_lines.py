"""The course of a fitting in words: settings, trials, stops and events in order."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Sequence

from shared_models.catalogue.edition import Field
from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.checks.changed_since import BESIDES
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.language import Phrases, Worded, figure_said, spoken
from shared_models.quantities.amounts import amount_from
from shared_models.wording.dates import moment_words
from shared_models.wording.findings import (
    NOT_CERTAIN,
    WHY,
    Section,
    findings_words,
    found_in_short,
    items_of,
    why,
)
from shared_models.wording.sentences import as_typed_words, place_words, value_words
from shared_models.wording.units import unit_behind


@dataclass(frozen=True)
class CourseLine:
    """One line of the course; ``stop`` and ``corrected`` ask to be seen.

    ``why``: what the findings of a trial may mean.  For paper: ``in_short``, the
    findings of a trial and the reasons stated with it; ``came_to``, its outcome in
    a word; ``for_next_trial``, a turn that says no more than the trial after it does.
    """

    anchor: str
    time: str
    what: str
    settings: tuple[tuple[str, str], ...]
    findings: tuple[str, ...]
    outcome: str
    stop: bool
    pain: str
    timing: str
    by: str
    notes: tuple[str, ...]
    corrected: bool
    why: tuple[Section, ...] = ()
    in_short: tuple[str, ...] = ()
    came_to: str = ""
    for_next_trial: bool = False
    why_label: str = Worded(WHY)
    why_lead: str = Worded(NOT_CERTAIN)


def stamp(text: str) -> str:
    """Return a moment as the page shows it: the wall clock where it happened."""
    return moment_words(text)


def field_pairs(view: FittingView, entry: Entry, leaving_out: Sequence[str] = ()) -> list[tuple[str, str]]:
    """Return label and words of every field that an entry states, but for those left out, by their key."""
    kind = view.edition.kinds.get(entry.kind)
    if kind is None:
        return []
    pairs = []
    for field in kind.fields:
        words = "" if field.key in leaving_out else field_words(view, field, entry)
        if words:
            pairs.append((field.label, words))
    return pairs


def field_words(view: FittingView, field: Field, entry: Entry) -> str:
    """Return one field in words, also where the plain wording has none."""
    value = entry.body.get(field.key)
    if field.type == "findings":
        return "; ".join(findings_words(entry, view))
    if field.type == "remarks" and isinstance(value, list):
        titles = {s.key: s.title for s in view.edition.steps}
        return "; ".join(
            f"{titles.get(str(r.get('step')), r.get('step'))}: {r.get('text', '')}"
            for r in value if isinstance(r, dict)
        )
    if field.type in ("screw", "cap", "function", "place"):
        return ""  # the place stands above the fields
    if field.type in ("person", "own_id", "fitting"):
        return ""  # an id that says nothing to a reader
    if field.type == "digest":
        return str(value)[:12] if value else ""
    words = value_words(field, value, view)
    if field.unit == "@adjuster" and words:
        adjuster = view.adjuster(str(entry.body.get("function", "")))
        words = f"{words} {unit_behind(value, adjuster.unit)}" if adjuster else words
    return words + as_typed_words(entry.body, field.key)


def course_of(view: FittingView) -> list[CourseLine]:
    """Return settings, trials, stops and events in order, newest versions."""
    found: list[tuple[Any, CourseLine]] = []
    for name in view.record.slots(view.subject):
        slot = view.slot(name)
        for entry in slot.history():
            line = _line(view, name, entry)
            if line is not None:
                found.append((slot.root(entry).order, line))
    return [line for _, line in sorted(found, key=lambda pair: pair[0])]


def _line(view: FittingView, slot: str, entry: Entry) -> CourseLine | None:
    kind = view.edition.kinds.get(entry.kind)
    if kind is None:
        return None
    if kind.group == "trial":
        return _trial(view, slot, entry)
    if entry.kind == "setting":
        line = _other(view, slot, entry, settings=(_turn(view, slot, entry),),
                      notes=_notes(view, entry, "reason", "override_because", BESIDES))
        return replace(line, for_next_trial=entry.body.get("reason") == "trial" and not line.corrected and len(line.notes) == 1)
    if entry.kind in ("stop_answered", "no_event", "adverse_event", "restriction"):
        notes = tuple(f"{label}: {words}" for label, words in field_pairs(view, entry, leaving_out=("stopped", "event")))
        return _other(view, slot, entry, notes=notes, stop=entry.kind == "adverse_event")
    # What else was changed stands with the entries of its step; here it says why two came before one walk.
    stated = _notes(view, entry, BESIDES)
    return _other(view, slot, entry, notes=stated) if stated else None


def _other(
    view: FittingView, slot: str, entry: Entry, *,
    settings: tuple[tuple[str, str], ...] = (), notes: tuple[str, ...] = (), stop: bool = False,
) -> CourseLine:
    kind = view.edition.kinds[entry.kind]
    what = kind.title if entry.kind == "setting" or not kind.for_each else place_words(slot, view)
    return CourseLine(
        f"entry-{entry.digest[:16]}", stamp(entry.happened_at), what, settings, (), "", stop,
        "", "", view.record.name_of(entry.recorded_by), notes, entry.is_correction,
    )


def _turn(view: FittingView, slot: str, entry: Entry) -> tuple[str, str]:
    """Return adjuster and 'before → after'."""
    history = view.slot(slot).history()
    place = history.index(entry)
    before = entry.body.get("position_before")
    if not before and place > 0:
        before = history[place - 1].body.get("position")
    adjuster = view.adjuster(str(entry.body.get("function", "")))
    name = view.edition.words("function", str(entry.body.get("function", "")))
    after = str(entry.body.get("position", "?"))
    there = figure_said(after) + (f" {unit_behind(after, adjuster.unit)}" if adjuster else "")
    if before in (None, "") or str(before) == after:
        return name, there
    return name, f"{figure_said(str(before))} → {there}"


def _trial(view: FittingView, slot: str, entry: Entry) -> CourseLine:
    stopped = entry.body.get("outcome") == "stopped"
    outcome = view.edition.words("outcome", str(entry.body.get("outcome", "")))
    if stopped:
        reason = view.edition.words("stop_reason", str(entry.body.get("stop_reason", "")))
        outcome = spoken("stopped: {reason}", reason=reason or spoken("no reason given"))
    walked_with = tuple(
        (view.edition.words("function", function), figure_said(position))
        for function in FUNCTIONS
        if (position := view.position_in(entry, function)) is not None
    )
    pain = entry.body.get("pain_0_10")
    return CourseLine(
        f"entry-{entry.digest[:16]}", stamp(entry.happened_at),
        view.edition.kinds[entry.kind].title, walked_with,
        tuple(findings_words(entry, view)), outcome, stopped,
        spoken("{pain} of 10", pain=pain) if pain not in (None, "") else "", _timing(entry),
        view.record.name_of(entry.recorded_by),
        _notes(view, entry, *_QUALITIES), entry.is_correction,
        why(items_of(entry), view.edition, view.edition.kinds[entry.kind].function),
        (*found_in_short(entry, view), *_notes(view, entry, *_STATED)),
        outcome if stopped else _CAME_TO.get(str(entry.body.get("outcome")), outcome),
    )


_QUALITIES = (
    "stands_by", "aid", "damping_came_in", "damping_let_go", "descent", "step_over_step",
    "half_foot_over_edge", "trunk_upright", "sound_side_landing",
    "out_of_order_because", "confirmed_although", "note",
)


#: Outcomes as what they were, without what is to be done next.
_CAME_TO = Phrases({"confirmed": "found right", "change": "not yet right"})
#: What of a trial's notes paper never leaves out: why somebody went another way, and what they wrote.
_STATED = ("out_of_order_because", "confirmed_although", "note")


def _timing(entry: Entry) -> str:
    """Return steps, time, and seconds a step of a stairs trial."""
    steps, time_s = entry.body.get("steps"), entry.body.get("time_s")
    if not (isinstance(steps, str) and isinstance(time_s, str) and steps and time_s):
        return ""
    per_step = seconds_per_step(steps, time_s)
    return spoken("{steps} steps in {time_s} s", steps=steps, time_s=time_s) + (spoken(", {per_step} s a step", per_step=per_step) if per_step else "")


def seconds_per_step(steps: str, time_s: str) -> str:
    """Return seconds a step to a tenth, "" where that says nothing."""
    count, seconds = amount_from(steps), amount_from(time_s)
    if count is None or seconds is None or count <= 0:
        return ""
    return str((seconds / count).quantize(Decimal("0.1")))


def _notes(view: FittingView, entry: Entry, *keys: str) -> tuple[str, ...]:
    kind = view.edition.kinds[entry.kind]
    found = []
    for field in kind.fields:
        if field.key in keys:
            words = field_words(view, field, entry)
            if words:
                found.append(f"{field.label}: {words}")
    return tuple(found)


def anchor_of(slot: str) -> str:
    """Return the name under which a page links to a slot."""
    return "at-" + "".join(c if c.isalnum() else "-" for c in slot)
