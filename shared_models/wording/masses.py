"""Sentences of a person's masses: what the leg carries, and the whole body by estimate."""

from __future__ import annotations

from shared_models.checks.masses import Masses
from shared_models.language import spoken
from shared_models.wording.alignment_figures import INFO, Note, plain, tenth


def mass_note(masses: Masses | None) -> tuple[Note, ...]:
    """Return what is to be said of a person's masses; nothing while none is recorded."""
    if masses is None:
        return ()
    return (Note(
        INFO, spoken("With what is carried, {combined_kg} kg.", combined_kg=plain(masses.combined_kg)),
        spoken("Component limits are compared with that, or with the bare mass, as each sheet states. Whole body with the missing limb, estimated: {whole_words}; for health figures, never for a limit.", whole_words=whole_words(masses)),
    ),)


def whole_words(masses: Masses) -> str:
    """Return the estimated mass of the whole body, from-to where the thigh's length is not known."""
    low, high = masses.whole_kg
    if low == high:
        return spoken("{low} kg", low=tenth(low))
    return spoken("{low} to {high} kg, by the length of the residual thigh", low=tenth(low), high=tenth(high))
