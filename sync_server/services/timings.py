"""The timings of a fitting in words: each with its trial, its figures, and what changed."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.checks.walk_timing import all_timings, timed_trial
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.wording import timing_lines as words
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.sentences import place_words
from shared_models.wording.course_lines import anchor_of, stamp
from sync_server.services.fitting_drawings import Drawing, steps_drawn


@dataclass(frozen=True)
class TimingCard:
    """One timing: its trial, its figures worth showing and not, and what is odd about it."""

    anchor: str
    trial: str
    time: str
    by: str
    counted: str
    lines: tuple[words.Line, ...]
    changes: tuple[str, ...]
    doubts: tuple[str, ...]
    notes: tuple[str, ...]
    steps: Drawing | None = None


def timings_of_fitting(view: FittingView) -> list[TimingCard]:
    """Return every timing that holds, in the order they were first recorded."""
    found = []
    for entry in all_timings(view):
        timed = timed_trial(view, entry)
        place = view.record.place_of(timed.trial.digest) if timed.trial else None
        trial, number = spoken("Its trial was taken out, or is not here"), ""
        if place and timed.trial:
            trial = place_words(place[1], view)
            number = spoken(", number {index}", index=view.trials(place[1]).index(timed.trial) + 1)
        figures = timed.figures
        doubts = (refusal_sentence(timed.refusal),) if timed.refusal else ()
        found.append(TimingCard(
            anchor_of(f"timing/{entry.body.get('timing', '')}"), trial + number,
            stamp(entry.happened_at), view.record.name_of(entry.recorded_by),
            words.counted_words(figures) if figures else "",
            words.timing_lines(figures) if figures else (),
            words.shift_words(figures, timed.shifts, spoken("the timing before it")) if figures else (),
            words.doubt_sentences(figures) if figures else doubts,
            tuple(filter(None, (
                words.left_out_sentence(figures), words.jitter_words(figures), words.basis_words(figures),
            ))) if figures else (),
            steps_drawn(figures, entry.digest[:16], trial + number) if figures else None,
        ))
    return found
