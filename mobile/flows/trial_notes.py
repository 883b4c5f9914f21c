"""What a trial's page remembers beside its form: durable at each change, gone with the trial.

Such as that the caution was read, that the walk is done again without a turn,
why another step is taken or a second thing changed, and that Stop was pressed while its reason is not
said yet.  None of it is a record; all of it outlives a crash.
"""

from __future__ import annotations

from typing import Any

from shared_models.entries.fitting import FittingView
from mobile.keeping.session import Session

BEGUN, AGAIN, OVERRIDE, SECOND, STOPPING, STOP_WORDS, NOT_RESTORED = (
    "begun", "again", "override", "second", "stopping", "stop_words", "not_restored",
)
_OF_GROUND = ("trial/ramp", "trial/low_steps", "trial/stairs")


class TrialNotes:
    """The notes of one trial slot of a fitting."""

    def __init__(self, session: Session, fitting: str, slot: str) -> None:
        self._session = session
        self._place = f"fitting/{fitting}/{slot}/notes"
        self._kept = session.draft(self._place)

    def get(self, name: str) -> str:
        """Return a note, '' where there is none."""
        return str(self._kept.get(name, ""))

    def keep(self, name: str, value: Any) -> None:
        """Keep a note; durable when this returns.  '' forgets it."""
        if str(value):
            self._kept[name] = str(value)
        else:
            self._kept.pop(name, None)
        if self._kept:
            self._session.keep_draft(self._place, self._kept)
        else:
            self._session.drop_draft(self._place)

    def forget(self, *names: str) -> None:
        """Forget some notes; those that are not there are no matter."""
        for name in names:
            if name in self._kept:
                self.keep(name, "")


def is_first_time(view: FittingView, slot: str) -> bool:
    """Whether the caution comes before this walk: the first of all, or the first on a ramp or steps."""
    if slot in _OF_GROUND:
        return not view.trials(slot)
    return not any(view.trials(kind.slot) for kind in view.edition.kinds.values() if kind.group == "trial")


def ground_of_trial(slot: str) -> str:
    """Return what is walked on in the trials of a slot."""
    return slot.partition("/")[2] if slot in _OF_GROUND else "level"


def known_helpers(view: FittingView) -> list[str]:
    """Return who stood by in this fitting, the latest first; nobody is asked for who is known."""
    found: list[str] = []
    for entry in reversed(view.entries()):
        for key in ("stands_by", "second_person"):
            name = str(entry.body.get(key) or "").strip()
            if name and name not in found:
                found.append(name)
    return found
