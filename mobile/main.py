"""`stancebook tablet`: the tablet app in a window."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from mobile.device import display, kivy_settings

DEFAULT_FOLDER = Path.home() / "Stancebook"
NO_WINDOW = (
    "There is no window to be had here: Stancebook's tablet app needs a display "
    "and OpenGL. 'stancebook rehearse' needs neither."
)


def main(argv: list[str] | None = None) -> int:
    """Open the tablet app; returns the exit code."""
    parser = argparse.ArgumentParser(prog="stancebook tablet", description="Open the tablet app.")
    parser.add_argument("--folder", type=Path, default=None, help="where the tablet keeps its record (default: Stancebook in the home folder)")
    parser.add_argument("--demo", action="store_true", help="begin with an invented clinic when the folder is fresh")
    parser.add_argument("--practise", action="store_true", help="begin in practice: a whole fitting on an invented person; nothing of it is ever sent")
    parser.add_argument("--contacts-folder", type=Path, default=None, help="where CSV files of foot contacts are looked for (default: contacts in the folder)")
    parser.add_argument("--check", action="store_true", help="open the window, say which page is shown, and end")
    parser.add_argument("--size", default="1280x800", help="size of the window, WIDTHxHEIGHT")
    options = parser.parse_args(argv)
    folder = options.folder or (DEFAULT_FOLDER / "demo" if options.demo else DEFAULT_FOLDER)
    width, _, height = options.size.partition("x")
    if not (width.isdigit() and height.isdigit()):
        parser.error(f"'{options.size}' is no size; write it like 1280x800")
    kivy_settings.apply(folder / "kivy", console_log=False)
    from kivy.config import Config

    Config.set("graphics", "width", width)
    Config.set("graphics", "height", height)
    tablet = _tablet(folder, options.contacts_folder, options.demo)
    return run(tablet, check=options.check, practise=options.practise)


def _tablet(folder: Path, contacts_folder: Path | None, demo: bool):
    """Return the tablet of a folder, open or soon to be opened.

    A new, older or damaged store is opened at once: what there is to say of it
    comes before any page.
    """
    from mobile.keeping.tablet_soon import TabletSoon

    def opened():
        from mobile.keeping.tablet import Tablet

        tablet = Tablet(folder)
        tablet.contacts_folder = contacts_folder or tablet.contacts_folder
        return tablet

    soon = TabletSoon.where_it_can(folder, opened)
    if soon is not None:
        return soon
    tablet = opened()
    if demo and not tablet.people():
        from mobile.demo import found_demo

        found_demo(tablet)
    return tablet


def run(tablet, check: bool = False, practise: bool = False) -> int:
    """Show the app until its window is closed; with ``check`` only until it is drawn once.

    ``practise`` begins in practice.
    """
    window = None
    if display.is_there():
        from kivy.core.window import Window as window
    if window is None:
        tablet.close()
        print(NO_WINDOW)
        return 3
    from mobile.app import StancebookApp

    app = StancebookApp(tablet, practise=practise)
    if check:
        _end_when_drawn(app)
    app.run()
    tablet.close()
    return 0


def _end_when_drawn(app) -> None:
    """Say which page is there once frames have been drawn with it, then end."""
    from kivy.clock import Clock

    def end(_dt) -> None:
        print(f"The window is open and shows {type(app.stage.page).__name__}.", flush=True)
        app.stop()

    Clock.schedule_once(end, 1.0)


if __name__ == "__main__":
    sys.exit(main())
