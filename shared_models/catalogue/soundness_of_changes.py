"""Whether what an edition counts as changed names only what exists."""

from __future__ import annotations

from typing import Any

from shared_models.catalogue.changes import EACH, FIGURE


def change_troubles(edition: Any) -> list[str]:
    """Return what contradicts itself in the changes of an edition, in words; [] when sound."""
    troubles, earlier = [], set()
    kinds = {kind.slot_pattern: kind for kind in edition.kinds.values()}
    for change in edition.changes:
        place = f"change {change.key}"
        if change.each not in EACH or change.each == FIGURE and not change.figures:
            troubles.append(f"{place} is one for each {change.each}, which it can't be")
        troubles += [f"{place} is told by {key}, which does not stand before it" for key in change.told_by if key not in earlier]
        earlier.add(change.key)
        found = [kinds[slot] for slot in change.slots if slot in kinds]
        troubles += [f"{place} names the slot {slot}, which no kind fills" for slot in change.slots if slot not in kinds]
        if change.found_at and change.found_at not in kinds:
            troubles.append(f"{place} is found at {change.found_at}, which no kind fills")
        for kind in found:
            fields = {field.key: field for field in kind.fields}
            named = (*change.figures, *change.only, *filter(None, (change.within,)))
            troubles += [f"{place} goes by {key}, which {kind.key} does not ask" for key in named if key not in fields]
            for key, answers in change.only.items():
                offered = edition.choices.get(fields[key].choices, {}) if key in fields else answers
                troubles += [f"{place} counts {code}, which {kind.key}.{key} does not offer" for code in answers if code not in offered]
    return troubles
