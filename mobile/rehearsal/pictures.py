"""Pictures of the rehearsal's screens, where there is a window that has pixels."""

from __future__ import annotations

import re
from pathlib import Path


class Pictures:
    """Saves what the window shows, numbered, named after what just happened."""

    def __init__(self, folder: Path | None, finger) -> None:
        self._folder, self._finger, self._number = folder, finger, 0
        self._prefix = "portrait-" if finger.window.height > finger.window.width else ""
        if folder:
            folder.mkdir(parents=True, exist_ok=True)

    def take(self, name: str) -> None:
        """Save a picture; does nothing where none were asked for."""
        if self._folder is None:
            return
        self._finger.settle()
        self._number += 1
        stem = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60]
        wanted = self._folder / f"{self._prefix}{self._number:03d}-{stem}.png"
        # Kivy puts a number of its own behind the name it is given.
        Path(self._finger.window.screenshot(name=str(wanted))).replace(wanted)
        print(wanted, flush=True)
