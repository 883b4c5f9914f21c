"""What was typed in another unit than the record keeps: beside the metric figure, word for word.

A body holds it in one object by field, ``{"as_typed": {"body_mass_kg": "180 lb"}}``;
a figure typed in the record's own unit has nothing there.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Iterable, Mapping

from shared_models.quantities.amounts import amount_from
from shared_models.quantities.units import Typed, agrees, family_of, typed_from

#: Name of the object in a body.
AS_TYPED = "as_typed"


def typed_words(body: Mapping[str, Any], key: str) -> str:
    """Return what was typed in a field, where that was in another unit; '' otherwise."""
    typed = body.get(AS_TYPED)
    words = typed.get(key) if isinstance(typed, Mapping) else None
    return words if isinstance(words, str) else ""


def without(body: Mapping[str, Any], keys: Iterable[str]) -> dict[str, Any]:
    """Return a body without some fields, and without what was typed in them."""
    left_out = set(keys)
    kept = {key: value for key, value in body.items() if key not in left_out}
    typed = kept.pop(AS_TYPED, None)
    if isinstance(typed, Mapping):
        left = {key: words for key, words in typed.items() if key not in left_out}
        return {**kept, AS_TYPED: left} if left else kept
    return kept


def is_as_typed(body: Mapping[str, Any], key: str, unit: str) -> bool:
    """Tell whether a figure in ``unit`` can be what was typed; where nothing was, there is nothing to tell."""
    words = typed_words(body, key)
    if not words or not family_of(unit):
        return True
    figure, typed = amount_from(body.get(key)), _brought(words, unit)
    return figure is not None and typed is not None and agrees(figure, typed)


def exact_figure(body: Mapping[str, Any], key: str, unit: str) -> Fraction | None:
    """Return a figure in ``unit`` as exactly as it was typed; None where none is recorded.

    Sums and limits go by this, so that figures rounded one by one never add up
    across a limit.  Typed words that disagree with the figure don't count.
    """
    figure = amount_from(body.get(key))
    if figure is None:
        return None
    typed = _brought(typed_words(body, key), unit)
    return typed.exact if typed is not None and agrees(figure, typed) else Fraction(figure)


def _brought(words: str, unit: str) -> Typed | None:
    typed = typed_from(words) if words else None
    if typed is None or not family_of(unit) or family_of(typed.unit) != family_of(unit):
        return None
    return typed.into(unit)
