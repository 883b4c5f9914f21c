"""Remarks: the record is fine, but something is missing or odd."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Mapping


@dataclass(frozen=True)
class Remark:
    """One thing to say about a step.

    ``code`` is stable and worded in `wording.sentences`; ``slot`` is where it
    stands; ``cause`` the digest of the entry that made it so ("" when nothing
    did); ``figures`` plain text figures for the sentence; ``blocks`` whether
    the step can't be met while it stands.
    """

    code: str
    slot: str
    cause: str = ""
    figures: Mapping[str, str] = field(default_factory=dict)
    blocks: bool = True

    def as_record(self) -> dict[str, Any]:
        """Return the plain form that is stored and compared."""
        return {
            "code": self.code, "slot": self.slot, "cause": self.cause,
            "figures": dict(self.figures), "blocks": self.blocks,
        }
