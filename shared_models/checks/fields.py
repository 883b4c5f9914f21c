"""Whether what stands in a field is there, can be read, and proves anything.

A form refuses a wrong value before it is saved; an entry may also come from
another machine, so nothing is taken to be of the right form here either.
"""

from __future__ import annotations

from typing import Any

from shared_models.catalogue.edition import Field, Kind
from shared_models.checks.as_typed import AS_TYPED, is_as_typed, typed_words
from shared_models.checks.bodies import body_troubles
from shared_models.checks.remarks import Remark
from shared_models.entries.envelope import Entry
from shared_models.quantities.amounts import amount_from


def field_remarks(kind: Kind, entry: Entry, slot: str) -> list[Remark]:
    """Return remarks on fields that are missing, unreadable or prove nothing as they are."""
    unreadable = set(body_troubles(entry))
    found = []
    if AS_TYPED in unreadable:
        found.append(Remark("body_unreadable", slot, entry.digest, {"field": AS_TYPED, "label": AS_TYPED}))
    for field in kind.fields:
        value = entry.body.get(field.key)
        figures = {"field": field.key, "label": field.label}
        if _is_missing(value):
            if field.required and field.type != "findings":
                found.append(Remark("field_missing", slot, entry.digest, figures))
        elif field.key in unreadable or not _is_possible(field, value):
            found.append(Remark("body_unreadable", slot, entry.digest, figures))
        elif field.must is not None and value != field.must:
            found.append(Remark("must_be", slot, entry.digest, figures))
        elif value in field.refuse_proof:
            figures |= {"choices": field.choices, "value": str(value)}
            found.append(Remark("not_good_enough", slot, entry.digest, figures))
        elif not is_as_typed(entry.body, field.key, field.unit):
            figures |= {"recorded": str(value), "unit": field.unit, "typed": typed_words(entry.body, field.key)}
            found.append(Remark("typed_disagrees", slot, entry.digest, figures))
    return found


def _is_missing(value: Any) -> bool:
    return value in (None, "", []) or isinstance(value, str) and not value.strip()


def _is_possible(field: Field, value: Any) -> bool:
    """Tell whether a value of the right form lies within what the edition takes."""
    if isinstance(value, dict):
        reason = value.get("not_applicable")
        return field.may_not_apply and isinstance(reason, str) and bool(reason.strip())
    if field.type not in ("amount", "count"):
        return True
    figure = amount_from(value)
    lowest, highest = amount_from(field.lowest), amount_from(field.highest)
    if figure is None or lowest is None or highest is None:
        return False
    return lowest <= figure <= highest
