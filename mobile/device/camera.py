"""The tablet's camera, where the system lets the app use it."""

from __future__ import annotations

from pathlib import Path
from typing import Callable


class NoCamera(Exception):
    """There is no camera here, or the system does not let the app use it."""


def is_there() -> bool:
    """Whether a camera may be asked for: on a handheld system only."""
    from plyer.utils import platform

    return str(platform) in ("android", "ios")


def take(path: Path, on_taken: Callable[[], None]) -> None:
    """Ask the system's camera for a photo; it comes to ``path`` and ``on_taken`` is called.

    ``on_taken`` may be called on another thread, and without a file where the
    person took none.  Raises NoCamera.
    """
    from plyer import camera

    try:
        # False: the file is ours to take away, once its bytes are kept.
        camera.take_picture(filename=str(path), on_complete=lambda _path: on_taken() or False)
    except Exception as error:  # each system refuses in a way of its own
        raise NoCamera(str(error)) from error
