"""What a measured figure can't be: no number, infinite, or outside what is possible."""

from __future__ import annotations

import math

from shared_models.quantities.refusals import Refusal


def sound(
    field: str, value: object, unit: str, lowest: float | None = None, highest: float | None = None,
) -> float:
    """Return ``value`` as a float when it is a finite figure within its limits.

    ``field`` is what the figure is called, for the sentence.  Raises Refusal
    ``alignment_not_a_figure``, ``alignment_too_low`` or ``alignment_too_high``.
    """
    try:
        figure = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, OverflowError):
        figure = math.nan
    if not math.isfinite(figure):
        raise Refusal("alignment_not_a_figure", field=field, value=str(value)[:20], unit=unit)
    if lowest is not None and figure < lowest:
        raise Refusal(
            "alignment_too_low", field=field, value=f"{figure:g}", lowest=f"{lowest:g}", unit=unit
        )
    if highest is not None and figure > highest:
        raise Refusal(
            "alignment_too_high", field=field, value=f"{figure:g}", highest=f"{highest:g}", unit=unit
        )
    return figure
