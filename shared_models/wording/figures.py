"""The figures of a refusal or a remark as its sentence takes them."""

from __future__ import annotations

from typing import Any

from shared_models.language import spoken

#: Figures that hold words of the program or of an edition, never something that a person typed.
_WORDS = frozenset({"label", "title", "finding", "class_words", "field", "part_words", "from_where", "lacks"})


class Figures(dict):
    """Figures by name, its words in the reader's language."""

    def __getitem__(self, name: str) -> Any:
        value = super().__getitem__(name)
        return spoken(value) if name in _WORDS and isinstance(value, str) else value
