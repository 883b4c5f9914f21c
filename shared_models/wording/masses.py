"""Sentences of a person's masses: what the leg carries, and the whole body by estimate."""

from __future__ import annotations

from shared_models.checks.masses import Masses
from shared_models.wording.alignment_figures import INFO, Note, plain, tenth


def mass_note(masses: Masses | None) -> tuple[Note, ...]:
    """Return what is to be said of a person's masses; nothing while none is recorded."""
    if masses is None:
        return ()
    return (Note(
        INFO, f"With what is carried, {plain(masses.combined_kg)} kg.",
        "Component limits are compared with that, or with the bare mass, as each sheet states. "
        f"Whole body with the missing limb, estimated: {whole_words(masses)}; for health figures, never for a limit.",
    ),)


def whole_words(masses: Masses) -> str:
    """Return the estimated mass of the whole body, from-to where the thigh's length is not known."""
    low, high = masses.whole_kg
    if low == high:
        return f"{tenth(low)} kg"
    return f"{tenth(low)} to {tenth(high)} kg, by the length of the residual thigh"
