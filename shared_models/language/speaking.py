"""Say a sentence in the language of whoever reads it."""

from __future__ import annotations

from typing import Any, Iterator, Mapping

from shared_models.language.catalogues import SOURCE, catalogue, language_of
from shared_models.language.choosing import current_language
from shared_models.language.figures import figures_read


def spoken(sentence: str, /, **figures: Any) -> str:
    """Return a sentence in the reader's language, with its figures put in.

    ``sentence`` is the English one, figures named in braces as for
    `str.format`, and written with the reader's decimal sign.  Without figures
    it is returned as it stands, braces and all.
    """
    said = _said(sentence)
    return filled(said, figures) if figures else said


def filled(said: str, figures: Mapping[str, Any]) -> str:
    """Return a sentence in the reader's language already (one of `Phrases`) with its figures put in."""
    return said.format_map(figures_read(figures))


def counted(one: str, many: str, number: int, /, **figures: Any) -> str:
    """Return the sentence for a number of things; ``{number}`` stands for the number.

    A language may have more than two forms (Slavic languages, Arabic); its
    catalogue says which number takes which.
    """
    code = current_language()
    if code == SOURCE:
        said = one if number == 1 else many
    else:
        said = catalogue(code).ngettext(one, many, number)
    return filled(said, {"number": number, **figures})


def within(words: str) -> str:
    """Return words as they stand within a sentence: where the language writes them small, begun small."""
    return words[:1].lower() + words[1:] if language_of(current_language()).small_within else words


def begun(words: str) -> str:
    """Return words as they begin a sentence."""
    return words[:1].upper() + words[1:]


def phrase(sentence: str, /) -> str:
    """Mark a sentence that is said later, by `spoken`; returns it unchanged."""
    return sentence


def _said(sentence: str) -> str:
    code = current_language()
    if code == SOURCE or not sentence:
        return sentence
    return catalogue(code).gettext(sentence)


class Phrases(dict):
    """A table of sentences, each said in the reader's language when it is read.

    Values may be sentences, tuples of them, or tables of their own; anything
    else is returned as it is.  Equality and copying see the English ones.
    """

    def __getitem__(self, key: Any) -> Any:
        return _shown(super().__getitem__(key))

    def get(self, key: Any, default: Any = None) -> Any:
        """Return the sentence said now, or the default as it is given."""
        return self[key] if key in self else default

    def values(self) -> list[Any]:  # type: ignore[override]
        """Return all sentences as they are said now."""
        return [_shown(value) for value in super().values()]

    def items(self) -> list[tuple[Any, Any]]:  # type: ignore[override]
        """Return keys and sentences as they are said now."""
        return [(key, _shown(value)) for key, value in super().items()]


class PhraseRow(tuple):
    """A row of sentences or words, such as the head of a table; each said in the reader's language when read."""

    __slots__ = ()

    def __getitem__(self, at: Any) -> Any:
        return _shown(super().__getitem__(at))

    def __iter__(self) -> Iterator[Any]:
        return (_shown(value) for value in super().__iter__())


def _shown(value: Any) -> Any:
    if isinstance(value, str):
        return _said(value)
    if type(value) is tuple:
        return tuple(_shown(each) for each in value)
    if isinstance(value, dict) and not isinstance(value, Phrases):
        return Phrases(value)
    return value


class Worded:
    """A field of a dataclass whose words are said in the reader's language when they are read.

    ``title: str = Worded()`` must be given, ``hint: str = Worded("")`` need not
    be.  Tuples of words work alike.
    """

    def __init__(self, *default: Any) -> None:
        self._default = default

    def __set_name__(self, owner: type, name: str) -> None:
        self._name = "_" + name

    def __get__(self, instance: Any, owner: type) -> Any:
        if instance is not None:
            return _shown(instance.__dict__[self._name])
        if self._default:
            return self._default[0]
        raise AttributeError(self._name)

    def written(self, instance: Any) -> Any:
        """Return the words as they are written, in English, to be said later."""
        return instance.__dict__[self._name]

    def __set__(self, instance: Any, value: Any) -> None:
        instance.__dict__[self._name] = value
