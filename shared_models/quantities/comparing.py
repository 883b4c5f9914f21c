"""Texts as they are compared in a search: without case, accents and marks."""

from __future__ import annotations

import re
import unicodedata

#: A longer word is compared by its beginning.
LONGEST_WORD = 100


def folded(text: str) -> str:
    """Return text as it is compared: without case, accents and marks."""
    if text.isascii():
        return text.casefold()
    plain = unicodedata.normalize("NFKD", text).casefold()
    return "".join(c for c in plain if not unicodedata.combining(c))


def searched_words(text: str) -> list[str]:
    """Return the words of a search, folded, each once."""
    return list(dict.fromkeys(word[:LONGEST_WORD] for word in folded(text).split()))


def kept_words(*texts: str | None) -> set[str]:
    """Return the words by whose beginning texts are found: ``Ann-Marie`` by ``ann`` and by ``mar``."""
    found: set[str] = set()
    for word in folded(" ".join(t for t in texts if t)).split():
        found |= {word, *re.split(r"[^\w]+", word)}
    return {word[:LONGEST_WORD] for word in found if word}
