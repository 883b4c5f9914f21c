"""Foot contacts as a record holds them: text, each a side and its seconds.

``left 0.000, right 0.612, left ?, right 1.871 landing``: in the order they
happened, seconds as decimal text from any zero, a question mark where an
instrument saw a contact but states no time, ``landing`` where the foot stood on
the landing between two flights.  A person can read it and any program can take
it apart.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Collection, Iterable

from shared_models.calculations.timing.contacts import Contact
from shared_models.quantities.refusals import Refusal

_ONE = r"(?:left|right) (?:\d{1,8}(?:\.\d{1,12})?|\?)(?: landing)?"
CONTACTS = re.compile(rf"{_ONE}(?:, {_ONE})*")
#: Decimal places of a contact's seconds: more than any instrument resolves.
_PLACES = Decimal("0.000000001")


def contacts_text(contacts: Iterable[Contact], landings: Collection[int] = ()) -> str:
    """Return contacts as a record holds them, "" for none; ``landings`` count from 0."""
    return ", ".join(
        f"{each.side} {_seconds(each.time_s)}{' landing' if at in landings else ''}"
        for at, each in enumerate(contacts)
    )


def contacts_from(text: object) -> tuple[Contact, ...]:
    """Return the contacts that a record's text states; () for "".

    Raises Refusal ``contacts_text_unreadable``.
    """
    found = []
    for one in _parts(text):
        side, seconds, *_ = one.split(" ")
        found.append(Contact(side, None if seconds == "?" else float(seconds)))
    return tuple(found)


def landings_in(text: object) -> tuple[int, ...]:
    """Return which contacts of a record's text stand on a landing, counted from 0.

    Raises Refusal ``contacts_text_unreadable``.
    """
    return tuple(at for at, one in enumerate(_parts(text)) if one.endswith(" landing"))


def _parts(text: object) -> list[str]:
    if text in (None, ""):
        return []
    if not isinstance(text, str) or not CONTACTS.fullmatch(text):
        raise Refusal("contacts_text_unreadable")
    return text.split(", ")


def _seconds(time_s: float | None) -> str:
    """Return seconds as plain decimal text with the digits they were stated with."""
    if time_s is None:
        return "?"
    exact = Decimal(repr(float(time_s))).quantize(_PLACES).normalize()
    return f"{exact:f}"
