"""Files of photos that may be chosen, and what the camera left behind."""

from __future__ import annotations

import time
from pathlib import Path

#: What is listed; a HEIC file is listed too, so that it can be said why it is not taken.
_ENDINGS = (".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif")
MOST_LISTED = 60
#: The camera's own file goes once it is kept, and after a day when nobody kept it.
_CAMERA_KEEPS_S = 24 * 3600


def photo_files(*folders: Path) -> list[Path]:
    """Return the picture files of some folders, the newest first; [] where there is none."""
    found: dict[Path, float] = {}
    for folder in folders:
        try:
            for path in folder.iterdir():
                if path.suffix.lower() in _ENDINGS and path.is_file():
                    found[path] = path.stat().st_mtime
        except OSError:
            continue
    return sorted(found, key=lambda path: (-found[path], path.name))[:MOST_LISTED]


def forget_old(folder: Path, now_s: float | None = None) -> None:
    """Delete what the camera left in its folder more than a day ago."""
    for path in photo_files(folder):
        try:
            if (now_s or time.time()) - path.stat().st_mtime > _CAMERA_KEEPS_S:
                path.unlink()
        except OSError:
            continue
