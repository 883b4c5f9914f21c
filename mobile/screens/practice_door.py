"""The way into practice: a line where people choose themselves; the rest is read when it is pressed.

Most days nobody practises, and what walks on the screen in practice takes long
to read; the locked page should not wait for it.
"""

from __future__ import annotations

from typing import Any

from shared_models.language import spoken
from shared_models.wording import practice as words_of
from mobile.widgets.listing import ListRow


class PracticeDoor:
    """Stands for `Practising` until somebody practises, and passes everything on to it then."""

    def __init__(self, stage) -> None:
        self._stage = stage
        self._inside: Any = None

    @property
    def is_on(self) -> bool:
        """Whether what is shown is practice."""
        return bool(self._stage.tablet.is_practice)

    def attend(self, page) -> None:
        """Mark a page that comes on the stage in practice, or offer the way in."""
        if self._inside is None and not self.is_on:
            offer(page, self.enter)
        else:
            self._open().attend(page)

    def enter(self) -> None:
        """Go in."""
        self._open().enter()

    def leave(self) -> None:
        """Go out, if somebody is in."""
        self._open().leave()

    def saved(self, entry) -> None:
        """An entry was saved."""
        if self._inside is not None:
            self._inside.saved(entry)

    def at(self, fitting: str, step: str, slot: str) -> None:
        """The page shows another step or slot."""
        if self._inside is not None:
            self._inside.at(fitting, step, slot)

    def rest(self) -> None:
        """Nothing walks on."""
        if self._inside is not None:
            self._inside.rest()

    def close(self) -> None:
        """Let go of everything."""
        if self._inside is not None:
            self._inside.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._open(), name)

    def _open(self) -> Any:
        if self._inside is None:
            from mobile.screens.practising import Practising

            self._inside = Practising(self._stage)
        return self._inside


def offer(page, enter) -> None:
    """Offer practice where people choose themselves."""
    if type(page).__name__ in ("LockPage", "WelcomePage"):
        row = ListRow(title=spoken(words_of.ENTER), subtitle=spoken(words_of.ENTER_WHY), test_name="practise")
        row.fbind("on_release", lambda *_: enter())
        page.body.add_widget(row)
