"""The form of an alignment: which fields are asked, and what is worked out while one types."""

from __future__ import annotations

from typing import Any, Callable

from shared_models.checks.alignment_reading import (
    BENCH,
    KINDS,
    METHOD,
    SCALE_FIELDS,
    TWO_SCALES,
    AlignmentReading,
    read_alignment,
    worked_out,
)
from shared_models.checks.as_typed import without
from shared_models.checks.entering import FormReading, Reading, read_amount
from shared_models.checks.masses import masses_of
from shared_models.drawings.alignment import Picture, alignment_picture
from shared_models.drawings.plain_shapes import Room
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.wording.alignment import alignment_notes, impossible_words
from shared_models.wording.alignment_figures import LINE, Note
from shared_models.wording.masses import mass_note
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.suiting import CANDIDACY, suiting_notes
from mobile.flows.forms import SlotForm
from mobile.keeping.session import Session

#: Worked out from two scales, so not asked with them.
WORKED_OUT = ("load_line_offset_mm", "weight_on_prosthesis_kg")
#: How it is read, the board and its scales are the same for days; what they read is not carried over.
_EQUIPMENT = (METHOD, "board_length_mm", "scale_resolution_kg", "distances_within_mm")


class AlignmentForm(SlotForm):
    """A form that works out the line from what is typed, and judges what follows.

    ``after_edit`` is called after each edit, for whoever shows it.
    """

    after_edit: Callable[[str], None] = staticmethod(lambda key: None)

    def edit(self, key: str, value: Any) -> Reading:
        """Take an edit as every form does, then tell whoever shows what follows from it."""
        found = super().edit(key, value)
        self.after_edit(key)
        return found

    def _start(self) -> dict[str, Any]:
        start = super()._start()
        if self.wrong is None and self.kind.key != BENCH:
            for key in _EQUIPMENT:
                last = self._last_value(key)
                if last is not None:
                    start.setdefault(key, last)
        return start

    @property
    def by_scales(self) -> bool:
        """Whether the load line is read with two scales under a board."""
        return self.kind.key != BENCH and self.typed.get(METHOD) == TWO_SCALES

    def unasked(self) -> set[str]:
        """Return the fields that the way of reading chosen does not ask for."""
        return {*WORKED_OUT, "reading_within_mm"} if self.by_scales else set(SCALE_FIELDS)

    def reading(self) -> AlignmentReading:
        """Work out what is typed, as far as it can be read."""
        return read_alignment(self.view, self.kind.key, self._asked().body)

    def picture(self, plane: str, room: Room) -> Picture:
        """Return the drawing of what is typed, as far as it can be read."""
        body = self._asked().body
        return alignment_picture(self.view, self.kind.key, body, plane, room)

    def notes(self) -> tuple[Note, ...]:
        """Return what is to be said beside what is typed."""
        return alignment_notes(self.reading(), self.view.edition)

    def read(self) -> FormReading:
        """Read the form; with two scales the line and the weight are worked out from them."""
        found = self._asked()
        if not self.by_scales:
            return found
        body, refused = dict(found.body), dict(found.refused)
        reading = read_alignment(self.view, self.kind.key, body)
        for key in reading.waits_for:
            refused.setdefault(key, Reading(refusal="missing", figures={"label": self.kind.field(key).label}))
        own = {field.key for field in self.kind.fields}
        for key, text in worked_out(reading).items():
            if key not in own:
                continue
            judged = read_amount(text, self.limits[key])
            if judged.refusal:
                refused[key] = judged
            else:
                body[key] = text
        return FormReading(body, refused, found.doubted)

    def _asked(self) -> FormReading:
        """What is typed in the fields that are asked; the others stay in the draft only."""
        found, unasked = super().read(), self.unasked()
        return FormReading(*(without(part, unasked) for part in (found.body, found.refused, found.doubted)))

    def impossible(self) -> str:
        """Return why the figures can't be recorded as they are, '' when nothing speaks against it.

        Scales far from the person's mass may be kept with a reason; figures
        that can't be worked out can't.
        """
        kept = bool(str(self.typed.get("kept_because") or "").strip())
        refused = self.read().refused
        for key in WORKED_OUT:
            if self.by_scales and key in refused:
                return impossible_words(self.kind.field(key).label, refused[key].figures)
        if not self.by_scales:
            return ""
        reading = self.reading()
        refusal = reading.refusal or (None if kept else reading.weights.refusal)
        return refusal_sentence(refusal) if refusal else ""


def form_for(session: Session, fitting: str, slot: str, wrong: Entry | None = None) -> SlotForm:
    """Return the form of a slot: an alignment's works out what is typed."""
    made = AlignmentForm if slot.startswith("alignment/") else SlotForm
    return made(session, fitting, slot, wrong=wrong)


def notes_beside(view: FittingView, entry: Entry) -> tuple[Note, ...]:
    """Return what is to be said beside a recorded alignment or mass; nothing for other kinds."""
    if entry.kind == "body":
        return mass_note(masses_of(view))
    if entry.kind == CANDIDACY:
        return suiting_notes(view)
    if entry.kind not in KINDS:
        return ()
    return alignment_notes(read_alignment(view, entry.kind, entry.body), view.edition)


def picture_of(view: FittingView, entry: Entry, plane: str, room: Room) -> Picture:
    """Return the drawing of a recorded alignment."""
    return alignment_picture(view, entry.kind, entry.body, plane, room)


def notes_of_open(view: FittingView, slot: str) -> tuple[Note, ...]:
    """Return what is to be said of what is compared, or of the line of an alignment that is to be read again."""
    if slot == CANDIDACY:
        return suiting_notes(view)
    head = view.head(slot) if slot.startswith("alignment/") else None
    return tuple(note for note in notes_beside(view, head) if note.about == LINE) if head else ()
