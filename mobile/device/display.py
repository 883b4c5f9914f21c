"""Whether there is a display to open a window on, asked before Kivy is imported."""

from __future__ import annotations

import os
import sys
from typing import Mapping

#: Where one of these names a display, or a driver was chosen on purpose, a window can be seen.
_NAMES = ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")


def is_there(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> bool:
    """Tell whether a window would be seen.

    On Linux, without a display but with OpenGL, a window opens off screen, where nobody sees it.
    """
    return not platform.startswith("linux") or any(environment.get(name) for name in _NAMES)
