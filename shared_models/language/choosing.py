"""Which language is spoken now: the program's, or within a block another reader's."""

from __future__ import annotations

from contextlib import contextmanager
from contextvars import ContextVar
from typing import Iterator

from shared_models.language.catalogues import SOURCE

_reader: ContextVar[str] = ContextVar("language of the reader", default="")
#: What this program speaks where nobody in particular reads: a tablet's choice, a server's setting.
_usual = SOURCE


def choose_language(code: str) -> None:
    """Set the language of this program, for all that is said from now on."""
    global _usual
    _usual = code


def current_language() -> str:
    """Return the code of the language that is spoken now."""
    return _reader.get() or _usual


@contextmanager
def in_language(code: str) -> Iterator[None]:
    """Speak another language within a block, such as the person's own on their sheet."""
    token = _reader.set(code)
    try:
        yield
    finally:
        _reader.reset(token)
