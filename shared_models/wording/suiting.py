"""Sentences of person and components: what there is to compare before one decides."""

from __future__ import annotations

from shared_models.checks.rules_components import Borne, before_deciding, weakest_member
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.quantities.units import in_tenths
from shared_models.wording.alignment_figures import DOUBT, INFO, Note
from shared_models.wording.sentences import BASIS, sentence_of

CANDIDACY = "candidacy"


def suiting_notes(view: FittingView) -> tuple[Note, ...]:
    """Return the weakest member of the chain with its figures, then each thing that stands against it."""
    weakest = weakest_member(view)
    notes = [_weakest_note(weakest)] if weakest is not None else []
    notes += [Note(DOUBT, sentence_of(remark, view)) for remark in before_deciding(view, CANDIDACY)]
    return tuple(notes)


def _weakest_note(weakest: Borne) -> Note:
    figures, left = weakest.figures, weakest.left_kg
    lead = spoken(
        "Weakest member: {component}, limit {limit} kg.", component=figures["component"], limit=figures["limit"],
    )
    bears = spoken(
        "It is to bear {mass} kg ({basis}).", mass=figures["mass"], basis=BASIS.get(figures["basis"], figures["basis"]),
    )
    if left > 0:
        rest = spoken("{left_kg} kg are left; every other part leaves as much or more.", left_kg=in_tenths(left))
    elif left == 0:
        rest = spoken("Nothing is left: any weight gained or carried on top goes above the limit.")
    else:
        rest = ""
    return Note(INFO, lead, f"{bears} {rest}".strip())
