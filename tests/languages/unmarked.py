"""What is said past the catalogue: words outside the brackets of the marked language that no record holds."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any, Iterable, Mapping

from shared_models.language.catalogues import CLOSED, OPENED

#: Words that are the same in every language: units, abbreviations of standards, the program's name.
SAME_EVERYWHERE = frozenset("""
    Stancebook N·m Nm lbf in lb ft mm cm kg km m s min h W N UTC SHA FHIR PDF CSV UDI DI PI GTIN JSON R4 HL7
    Deutsch English עברית
""".split())
_CODE = re.compile(r"(?=\w*\d)[\w+/=-]{3,}|[0-9a-f]{8,}")
#: Months are CLDR's, by the locale, and go through no catalogue of ours.
_DAY = re.compile(r"\b(\d{1,2} )?(Jan|Feb|Mar|Apr|May|June?|July?|Aug|Sept?|Oct|Nov|Dec)\w*( \d{4})?\b")
_KEY = re.compile(r"[a-z_]+")
_POINTED = re.compile(r"\w*\d\.\d\w*")
#: The place of a published paper: a DOI, or the number of a volume and its pages.
_SOURCE = re.compile(r"\b(?:doi:?\s*)?10\.\d{4,}/\S+", re.IGNORECASE)
_WORD = re.compile(r"[^\W\d_][^\W_·]*(?:·[^\W\d_]+)?")


def outside(text: str) -> str:
    """Return what of a text stands outside all brackets."""
    depth, kept = 0, []
    for character in text:
        if character == OPENED:
            depth += 1
            kept.append(" ")
        elif character == CLOSED:
            depth -= 1
        elif depth <= 0:
            kept.append(character)
    return "".join(kept)


def words_of(value: Any) -> Iterable[str]:
    """Every text anywhere in a body."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for each in value.values():
            yield from words_of(each)
    elif isinstance(value, (list, tuple)):
        for each in value:
            yield from words_of(each)


class Known:
    """What somebody typed, and what a machine gave names to: never said by way of the catalogue."""

    def __init__(self, texts: Iterable[str], names: Iterable[str] = ()) -> None:
        """``names``: what stands alone, such as the name of a screw in the record; never a word of a sentence."""
        self._names = frozenset(names)
        # A code such as 'slight' is no typed text: who reads it has to read its words.
        self._whole = sorted(
            {t.strip() for t in texts if _WORD.search(t) and len(t.strip()) > 1 and not _KEY.fullmatch(t)}, key=len, reverse=True,
        )

    def unmarked(self, text: str) -> list[str]:
        """Return the words of a text that are neither in brackets nor known."""
        if text.strip() in self._names:
            return []
        rest = outside(text)
        for whole in self._whole:
            if whole in rest:
                rest = rest.replace(whole, " ")
        rest = _CODE.sub(" ", _DAY.sub(" ", rest))
        return [w for w in _WORD.findall(rest) if len(w) > 1 and w not in SAME_EVERYWHERE]


    def pointed(self, text: str) -> list[str]:
        """Return the figures of a text that stand with a point, past `shared_models.language.figures`.

        Left out are what somebody typed (in letters too), and the sources of published figures, quoted as they were printed.
        """
        for whole in self._whole:
            text = text.replace(whole, " ")
        return _POINTED.findall(_SOURCE.sub(" ", text))


class _Texts(HTMLParser):
    """The texts of a page that somebody reads or hears, in order."""

    _SPOKEN = ("title", "alt", "aria-label", "placeholder")
    _SILENT = ("script", "style")

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._silent = 0

    def handle_starttag(self, tag, attrs) -> None:
        self._silent += tag in self._SILENT
        self.found += [value for name, value in attrs if name in self._SPOKEN and value]

    def handle_endtag(self, tag) -> None:
        self._silent -= tag in self._SILENT

    def handle_data(self, data: str) -> None:
        if not self._silent and data.strip():
            self.found.append(data)


def texts_of_page(html: str) -> list[str]:
    """Return every text of a page: what is read, and what a reader of the screen says."""
    reader = _Texts()
    reader.feed(html)
    return reader.found
