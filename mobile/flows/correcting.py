"""What may be corrected, and the reason that is being typed for it."""

from __future__ import annotations

from typing import Any

from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from mobile.keeping.session import Session

_REASON = "_reason"


def slot_of(view: FittingView, entry: Entry) -> str:
    """Return the slot that an entry fills, '' for a kind that has none here."""
    kind = view.edition.kinds.get(entry.kind)
    return kind.slot_of(entry.body) if kind is not None else ""


def may_be_corrected(view: FittingView, entry: Entry) -> bool:
    """Whether an entry still holds its place and its form can be opened for a correction.

    A trial is walked again rather than typed again, and what is signed is signed anew.
    """
    kind = view.edition.kinds.get(entry.kind)
    if kind is None or kind.group == "trial" or kind.signed_as:
        return False
    head = view.head(slot_of(view, entry))
    return head is not None and head.digest == entry.digest


def correction_place(fitting: str, slot: str, entry: Entry) -> str:
    """Return where the draft of a correction is kept; holds ids and slots only."""
    return f"fitting/{fitting}/{slot}/correct/{entry.digest[:16]}"


class KeptReason:
    """The reason for correcting or taking out an entry, kept as a durable draft while it is typed.

    ``typed`` is what stands in the fields beside it, which share the draft.
    """

    def __init__(self, session: Session, place: str, typed: dict[str, Any] | None = None) -> None:
        self._session, self.place = session, place
        self._typed = session.draft(place) if typed is None else typed

    def read(self) -> tuple[str, str]:
        """Return the code chosen and the words typed, '' where there are none."""
        kept: Any = self._typed.get(_REASON) or {}
        return str(kept.get("code", "")), str(kept.get("note", ""))

    def keep(self, code: str, note: str) -> None:
        """Keep what is chosen and typed; the fields typed beside it stay."""
        self._typed[_REASON] = {"code": code, "note": note}
        self._session.keep_draft(self.place, self._typed)

    def drop(self) -> None:
        """Forget it: it was recorded."""
        self._session.drop_draft(self.place)
