"""Whether a body has the form that its kind asks, before it is taken in.

The form only: a body may lack what is asked (that is for the verdict to say),
but where it says something, it says it as the edition writes it.  What this
program does not know (another edition, a newer kind, a further name) is none
of its business and is left alone.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Any, Mapping

from shared_models.catalogue.edition import Edition, Field
from shared_models.checks.as_typed import AS_TYPED
from shared_models.checks.contacts_text import CONTACTS
from shared_models.checks.strokes import are_strokes
from shared_models.entries.envelope import Entry
from shared_models.entries.record import edition_of

_AMOUNT = re.compile(r"-?\d{1,7}(\.\d{1,7})?")
_COUNT = re.compile(r"\d{1,7}")
LONGEST_TYPED = 40


def body_troubles(entry: Entry) -> list[str]:
    """Return the keys of the fields that are not of the form; [] when sound."""
    edition = edition_of(entry)
    kind = edition.kinds.get(entry.kind) if edition else None
    if edition is None or kind is None or entry.kind_version > kind.version or kind.free_body:
        return []
    wrong = [
        field.key for field in kind.fields
        if field.key in entry.body and not _fits(field, entry.body[field.key], edition)
    ]
    return wrong if _typed_fits(entry.body.get(AS_TYPED)) else [*wrong, AS_TYPED]


def _typed_fits(value: Any) -> bool:
    """What was typed in another unit: short texts by field."""
    return value is None or isinstance(value, Mapping) and all(
        isinstance(words, str) and len(words) <= LONGEST_TYPED for words in value.values()
    )


def _fits(field: Field, value: Any, edition: Edition) -> bool:
    if value is None or value == "":
        return True
    if isinstance(value, Mapping):
        return set(value) == {"not_applicable"} and isinstance(value["not_applicable"], str)
    if field.type == "yes_no":
        return isinstance(value, bool)
    if field.type in ("several", "people"):
        words = edition.choices.get(field.choices, {})
        return _texts(value) and (field.type == "people" or all(v in words for v in value))
    if field.type == "strokes":
        return are_strokes(value)
    if field.type in ("findings", "remarks"):
        return isinstance(value, list) and all(
            isinstance(item, dict) and _texts(list(item.values())) for item in value
        )
    return isinstance(value, str) and _text_fits(field, value, edition)


def _text_fits(field: Field, value: str, edition: Edition) -> bool:
    if field.type == "amount":
        return _AMOUNT.fullmatch(value) is not None
    if field.type == "count":
        return _COUNT.fullmatch(value) is not None
    if field.type == "choice":
        return value in edition.choices.get(field.choices, {})
    if field.type == "date":
        return _is_day(value)
    if field.type == "contacts":
        return CONTACTS.fullmatch(value) is not None
    return True


def _is_day(value: str) -> bool:
    try:
        return date.fromisoformat(value).isoformat() == value
    except ValueError:
        return False


def _texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) for item in value)
