"""A witness for crash tests: what the screen had said, line by line, outside the store."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any


class Witness:
    """Appends each 'saved' and each field typed; survives the end of the process."""

    def __init__(self, path: Path | None) -> None:
        self._file = path.open("a", encoding="utf-8") if path else None

    def saved(self, entry) -> None:
        """The screen has called an entry saved."""
        self._line({"saved": entry.digest})

    def typed(self, place: str, key: str, value: Any) -> None:
        """A field shows what was typed; None while it is still being typed."""
        self._line({"typed": place, "key": key, "value": value})

    def at(self, where: str) -> None:
        """The rehearsal is about to do something here."""
        self._line({"at": where})

    def _line(self, fact: dict[str, Any]) -> None:
        if self._file:
            self._file.write(json.dumps(fact) + "\n")
            self._file.flush()
