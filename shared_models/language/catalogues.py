"""The languages that Stancebook speaks, each a catalogue of GNU gettext."""

from __future__ import annotations

import gettext
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

#: The language that the sentences are written in.
SOURCE = "en"
#: English in brackets, for whoever looks for words that go past the catalogue (a name of CLDR's pseudo-locales).
MARKED = "en-XA"
OPENED, CLOSED = "⟦", "⟧"


@dataclass(frozen=True)
class Language:
    """One language: its code (BCP 47), its own name, which way it runs, and how much of it there is.

    ``whole`` is False for one that says only part, such as the sheet for the
    person; what it lacks is said in English.
    """

    code: str
    own_name: str
    right_to_left: bool = False
    whole: bool = True
    small_within: bool = False


_LANGUAGES = (
    Language(SOURCE, "English", small_within=True),
    Language("de", "Deutsch"),
    Language("he", "עברית", right_to_left=True, whole=False),
)


class _Marked(gettext.NullTranslations):
    """Gives each sentence back in brackets."""

    def gettext(self, message: str) -> str:
        return f"{OPENED}{message}{CLOSED}"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)


def languages() -> tuple[Language, ...]:
    """Return every language that can be chosen, English first."""
    return _LANGUAGES


def language_of(code: str) -> Language:
    """Return a language by its code; English for one that is not spoken here."""
    return next((each for each in _LANGUAGES if each.code == code), _LANGUAGES[0])


def runs_right_to_left(code: str) -> bool:
    """Tell whether a language is written from right to left."""
    return language_of(code).right_to_left


@lru_cache(maxsize=None)
def catalogue(code: str) -> gettext.NullTranslations:
    """Return a language's catalogue; an empty one where there is none."""
    file = files("shared_models.language") / "catalogue" / f"{code}.mo"
    if code == MARKED:
        return _Marked()
    if code == SOURCE or not file.is_file():
        return gettext.NullTranslations()
    with file.open("rb") as compiled:
        return gettext.GNUTranslations(compiled)
