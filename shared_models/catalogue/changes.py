"""What an edition counts as changed between two walking trials."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Iterable, Mapping

SLOT, PLACE, FIGURE = "slot", "place", "figure"
#: What one thing is, so that two of them are two changes.
EACH = (SLOT, PLACE, FIGURE)


@dataclass(frozen=True)
class Change:
    """One sort of change: where it is recorded, and when what is recorded there is one.

    ``slots``: patterns; ``each``: what is one thing of it (a slot, a place of the
    leg, a figure); ``figures``: fields held against how they stood in the last walk,
    () where the act alone counts; ``only``: answers, by field, that make it a change;
    ``again``: the first one recorded is none; ``within``: the field that says how near
    a reading is right; ``told_by``: keys of sorts that explain it, so that it is no
    change of its own; ``found_at``: slot of a visit's reading of how it was found;
    ``came_with``: what a visit records first is no change.
    """

    key: str
    slots: tuple[str, ...]
    each: str
    figures: tuple[str, ...] = ()
    only: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    again: bool = False
    within: str = ""
    told_by: tuple[str, ...] = ()
    found_at: str = ""
    came_with: bool = False

    def counts(self, body: Mapping[str, Any]) -> bool:
        """Tell whether what was answered makes it a change."""
        return all(body.get(name) in answers for name, answers in self.only.items())


def changes_from(raw: Iterable[Mapping[str, Any]]) -> tuple[Change, ...]:
    """Build the changes of an edition from its parsed tables."""
    def lists(table: Mapping[str, Any]) -> dict[str, Any]:
        return {k: tuple(v) if isinstance(v, list) else v for k, v in table.items()}

    return tuple(Change(**{**lists(t), "only": lists(t.get("only", {}))}) for t in raw)
