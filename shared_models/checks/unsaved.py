"""Remarks on what is being typed, before anything is saved: by the same rules."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Iterable, Mapping

from shared_models.checks.remarks import Remark
from shared_models.checks.rules import RULES
from shared_models.entries.fitting import FittingView


@dataclass(frozen=True)
class Unsaved:
    """A body in the form that rules read of an entry; it comes after every entry there is."""

    kind: str
    body: Mapping[str, Any]
    happened_at: str
    digest: str = ""
    rests_on: tuple[str, ...] = ()
    is_correction: bool = False

    @property
    def order(self) -> tuple[str]:
        """Later than any clock reading."""
        return ("~",)


def remarks_on(
    view: FittingView, slot: str, unsaved: Unsaved, rules: Iterable[str]
) -> list[Remark]:
    """Return what the named rules would remark on, were the body saved as it stands."""
    return [remark for name in rules for remark in RULES[name](view, unsaved, slot)]  # type: ignore[arg-type]
