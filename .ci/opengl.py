"""Tell whether a window can be drawn here at all: exit code 0 if so."""

import os
import tempfile

os.environ.update(
    KIVY_HOME=tempfile.mkdtemp(prefix="stancebook-kivy-"),
    KIVY_NO_ARGS="1", KIVY_NO_FILELOG="1", KIVY_NO_CONFIG="1",
)

from kivy.config import Config  # noqa: E402

Config.set("graphics", "multisamples", "0")

from kivy.core.window import Window  # noqa: E402

raise SystemExit(0 if Window is not None else 1)
