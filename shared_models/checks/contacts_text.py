"""Foot contacts as a record holds them: text, each a side and its seconds.

``left 0.000, right 0.612, left ?``: in the order they happened, seconds as
decimal text from any zero, a question mark where an instrument saw a contact
but states no time.  A person can read it and any program can take it apart.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Iterable

from shared_models.calculations.timing.contacts import Contact
from shared_models.quantities.refusals import Refusal

_ONE = r"(?:left|right) (?:\d{1,8}(?:\.\d{1,12})?|\?)"
CONTACTS = re.compile(rf"{_ONE}(?:, {_ONE})*")
#: Decimal places of a contact's seconds: more than any instrument resolves.
_PLACES = Decimal("0.000000001")


def contacts_text(contacts: Iterable[Contact]) -> str:
    """Return contacts as a record holds them; "" for none."""
    return ", ".join(f"{each.side} {_seconds(each.time_s)}" for each in contacts)


def contacts_from(text: object) -> tuple[Contact, ...]:
    """Return the contacts that a record's text states; () for "".

    Raises Refusal ``contacts_text_unreadable``.
    """
    if text in (None, ""):
        return ()
    if not isinstance(text, str) or not CONTACTS.fullmatch(text):
        raise Refusal("contacts_text_unreadable")
    found = []
    for one in text.split(", "):
        side, _, seconds = one.partition(" ")
        found.append(Contact(side, None if seconds == "?" else float(seconds)))
    return tuple(found)


def _seconds(time_s: float | None) -> str:
    """Return seconds as plain decimal text with the digits they were stated with."""
    if time_s is None:
        return "?"
    exact = Decimal(repr(float(time_s))).quantize(_PLACES).normalize()
    return f"{exact:f}"
