"""The book of rules: where rules are listed by name, and what they share.

Each rule takes the view and the entry and returns remarks.  The catalogue names
them per kind; the limits come from the component sheets built in.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Callable

from shared_models.checks.remarks import Remark
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import amount_from, text_of

Rule = Callable[[FittingView, Entry, str], list[Remark]]
RULES: dict[str, Rule] = {}


def rule(function: Rule) -> Rule:
    """Offer a rule to the catalogue under its own name."""
    RULES[function.__name__] = function
    return function


def amount(entry: Entry | None, field: str) -> Decimal | None:
    """Return an amount of an entry; None when it is not recorded or no figure."""
    return amount_from(entry.body.get(field)) if entry else None


def kept(entry: Entry, field: str = "kept_because") -> bool:
    """Tell whether an entry says why it is kept although it differs."""
    return bool(str(entry.body.get(field, "")).strip())


def against(
    slot: str, entry: Entry, code: str, value: Decimal, target: Decimal, tolerance: Decimal,
) -> list[Remark]:
    """One remark when a reading is off its target; kept with a reason it only doubts."""
    off = value - target
    if abs(off) <= tolerance:
        return []
    figures = {
        "value": text_of(value), "target": text_of(target),
        "tolerance": text_of(tolerance), "off": text_of(abs(off)),
        "sense": "above" if off > 0 else "below",
    }
    return [Remark(code, slot, entry.digest, figures, blocks=not kept(entry))]
