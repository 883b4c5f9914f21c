"""Outcome measures in lines: the figure, changed or not, and published figures with their setting."""

from __future__ import annotations

from typing import Iterable

from shared_models.calculations.timing.norms import Norm, falls_cut_offs_for, norms_for
from shared_models.calculations.timing.predictor import SOURCE
from shared_models.checks.outcome_change import (
    SLOT, Outcome, former_outcome, outcomes, predicted, stairs_compared,
)
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.language import Phrases, figure_said, number_words, phrase, spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.dates import day_of_words
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.timing import because_words
from shared_models.wording.timing_lines import Line

#: What a measure is called, its unit, and to how many places it is written.
MEASURE_WORDS = Phrases({
    "ten_metre_speed_m_per_s": ("Ten-metre walk, speed", "m/s", 2),
    "timed_up_and_go_s": ("Timed up and go", "s", 1),
    "two_minute_walk_m": ("Two-minute walk", "m", 0),
    "six_minute_walk_m": ("Six-minute walk", "m", 0),
    "mobility_predictor_points": ("Mobility predictor", "points", 0),
})
_GROUPS = Phrases({"all": "all levels", "above_knee": "above the knee", "below_knee": "below the knee"})
_SETTINGS = Phrases({"timed_length_m": "timed length", "run_up_m": "run-up", "pace": "pace", "aid": "aid", "form": "form"})
_STAIRS = Phrases({
    "better": "better than", "worse": "worse than", "same": "as", "mixed": "in part better, in part worse than",
})
_CHANGED = {"better": phrase("better {since}: {moved}; {limit}"), "worse": phrase("worse {since}: {moved}; {limit}")}
NO_LEVEL = (
    phrase("No level follows from a speed or a distance: the same level walks at about half or twice the speed in another setting, and speed explains a third of the spread between levels (Carse B et al. Gait Posture 2021;88:221-4).")
)


def outcome_lines(view: FittingView, others: Iterable[FittingView]) -> tuple[Line, ...]:
    """Return the outcome measures of a fitting, each compared with the person's last fitting."""
    head = view.head(SLOT)
    if head is None or head.kind != "outcome_measures":
        return ()
    former = former_outcome(view, others)
    lines = [_line(view, each) for each in outcomes(view, head.body, former)]
    return tuple([*lines, *_predictor_line(head), *_stairs_line(head, former)])


def published_words(view: FittingView) -> tuple[str, ...]:
    """Return published figures for the measures recorded, each with its setting; never a level."""
    head = view.head(SLOT)
    if head is None or head.kind != "outcome_measures":
        return ()
    said = []
    for each in outcomes(view, head.body, None):
        if each.measured is None:
            continue
        label = MEASURE_WORDS[each.measure][0]
        # The published speeds are of usual pace; a fast walk is not held against them.
        known = norms_for(each.measure) if dict(each.measured.setting).get("pace") != "fast" else ()
        if known:
            norms = "; ".join(_norm_words(norm) for norm in known)
            sources = "; ".join(dict.fromkeys(norm.source for norm in known))
            said.append(spoken("{label}, published ({setting}): {norms}. {sources}.", label=label, setting=known[0].setting, norms=norms, sources=sources))
        cut_offs = "; ".join(
            f"{number_words(cut.limit, 'g')} s and above ({cut.population}; {cut.source})" for cut in falls_cut_offs_for(each.measure)
        )
        if cut_offs:
            said.append(spoken("{label}, cut-offs for falls, each for its own population only: {cut_offs}.", label=label, cut_offs=cut_offs))
    return (*said, spoken(NO_LEVEL)) if said else ()


def _line(view: FittingView, outcome: Outcome) -> Line:
    what, unit, places = MEASURE_WORDS[outcome.measure]
    if outcome.measured is None:
        if outcome.refusal:
            return Line(what, "", refusal_sentence(outcome.refusal), shown=False)
        lacks = ", ".join(f"'{label}'" for label in outcome.lacks)
        return Line(what, "", spoken("not available: not recorded is {lacks}", lacks=lacks), shown=False)
    value = f"{number_words(outcome.measured.value, f'.{places}f')} {unit}"
    return Line(what, value, change_words(view, outcome))


def change_words(view: FittingView, outcome: Outcome) -> str:
    """Return how a measure stands against the value before it: changed or not, by how much, by which limit."""
    _, unit, places = MEASURE_WORDS[outcome.measure]
    if outcome.former is None or outcome.before is None:
        return spoken("no earlier fitting of this person states it here")
    day, value = day_of_words(outcome.former.happened_at), f"{number_words(outcome.before.value, f'.{places}f')} {unit}"
    since = spoken("since {day} ({value})", day=day, value=value)
    if outcome.not_alike is not None:
        figures = outcome.not_alike.figures
        what = str(figures.get("what", ""))
        before, now = (_setting_words(view, what, str(figures.get(key, ""))) for key in ("before", "after"))
        return spoken("not compared {since}: {what} was {before}, is {now}", since=since, what=_SETTINGS.get(what, what), before=before, now=now)
    change = outcome.change
    if change is None or change.changed is None or change.limit is None:
        because = because_words(change.because) if change and change.because else spoken("no detectable change is known")
        return f"{number_words(outcome.measured.value - outcome.before.value, f'+.{places}f')} {unit} {since}: {because}"  # type: ignore[union-attr]
    limit = spoken("minimal detectable change {limit:g} {unit} at 90 % ({source})", limit=change.limit, unit=unit, source=change.source)
    moved = f"{number_words(change.difference, f'+.{max(places, 1)}f')} {unit}"
    if not change.changed:
        return spoken("not changed {since}: {moved}, within the {limit}", since=since, moved=moved, limit=limit)
    return spoken(_CHANGED[change.better], since=since, moved=moved, limit=limit)


def _setting_words(view: FittingView, what: str, value: str) -> str:
    lists = {"aid": "aid", "pace": "walked_pace", "form": "predictor_form"}
    return view.edition.words(lists[what], value) if what in lists else f"{figure_said(value)} m"


def _predictor_line(head: Entry) -> list[Line]:
    try:
        found = predicted(head.body)
    except Refusal:
        return []  # said beside the score itself
    if found is None:
        return []
    if found.level is None:
        return [Line(spoken("Mobility predictor, table"), "", because_words(found.because) if found.because else "", shown=False)]
    return [Line(
        spoken("Mobility predictor, table"), spoken("level {level}", level=found.level),
        spoken("one thing among others by which a level is judged, not the level. {source}", source=SOURCE),
    )]


def _stairs_line(head: Entry, former: Entry | None) -> list[Line]:
    try:
        word = stairs_compared(head.body, former)
    except Refusal as refusal:
        return [Line(spoken("Stairs down"), "", refusal_sentence(refusal), shown=False)]
    if not word or former is None:
        return []
    day = day_of_words(former.happened_at)
    return [Line(spoken("Stairs down"), spoken("{stairs} on {day}", stairs=_STAIRS[word], day=day), spoken("pattern, rails, aid and helper, each by itself; no sum is formed"))]


def _norm_words(norm: Norm) -> str:
    group = _GROUPS.get(norm.group, f"level {norm.group}")
    number = f", n = {norm.n}" if norm.n else ""
    if norm.spread is not None:
        return f"{group} {number_words(norm.middle, 'g')} ± {number_words(norm.spread, 'g')}{number}"
    return spoken("{group} {middle:g} ({low:g} to {high:g}{number})", group=group, middle=norm.middle, low=norm.low, high=norm.high, number=number)
