"""Kivy's settings, made once before Kivy is first imported.

Kivy reads its environment and its configuration while it is being imported, so whoever starts the
app, the rehearsal or the tests calls :func:`apply` first. Nothing is read from, or written to, the
configuration of another Kivy program on the same machine.
"""

import os
import sys
from pathlib import Path


class KivyAlreadyImported(RuntimeError):
    """A fault of ours: Kivy was imported before its settings were made."""


def apply(home: Path | str, *, console_log: bool = True) -> None:
    """Make Kivy's settings; ``home`` is the folder Kivy may keep its own files in.

    ``console_log=False`` keeps Kivy from writing to the terminal, for a program whose output a
    person reads. Raises :class:`KivyAlreadyImported` when it comes too late.
    """
    if "kivy" in sys.modules:
        raise KivyAlreadyImported("kivy_settings.apply must run before the first import of kivy")
    folder = Path(home)
    folder.mkdir(parents=True, exist_ok=True)
    os.environ["KIVY_HOME"] = str(folder)
    os.environ["KIVY_NO_ARGS"] = "1"
    os.environ["KIVY_NO_FILELOG"] = "1"
    os.environ["KIVY_NO_CONFIG"] = "1"
    if not console_log:
        os.environ["KIVY_NO_CONSOLELOG"] = "1"

    stderr = sys.stderr
    from kivy.config import Config

    if not console_log:
        # Kivy has put its log in the place of stderr; silenced, it would swallow our own faults.
        sys.stderr = stderr

    # Software GL has no multisampling, and asking for it can leave a black window.
    Config.set("graphics", "multisamples", "0")
    # A right click would otherwise leave a red dot, and a second finger that never lifts.
    Config.set("input", "mouse", "mouse,disable_multitouch")
    # Escape must not end a fitting.
    Config.set("kivy", "exit_on_escape", "0")
    Config.set("kivy", "keyboard_mode", "")
