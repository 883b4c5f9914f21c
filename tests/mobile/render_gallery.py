"""Render the gallery of all widgets to PNG files, to be looked at.

Usage: python tests/mobile/render_gallery.py FOLDER [--largest-type]

Needs OpenGL: run it under xvfb-run, or with SDL_VIDEODRIVER=offscreen.
"""

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

from mobile.device import kivy_settings

SIZES = {"landscape": (1280, 800), "portrait": (800, 1280)}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path, help="where the PNG files go")
    parser.add_argument("--largest-type", action="store_true", help="at a font scale of 150 %%")
    parser.add_argument("--way-up", choices=SIZES, help="only this way up (both when not given)")
    arguments = parser.parse_args()
    if arguments.way_up is None:
        # A window without a screen keeps the size it was made with, so each way up has its own.
        for way_up in SIZES:
            subprocess.run([sys.executable, *sys.argv, "--way-up", way_up], check=True)
        return
    arguments.folder.mkdir(parents=True, exist_ok=True)
    kivy_settings.apply(tempfile.mkdtemp(prefix="stancebook-kivy-"))
    from kivy.config import Config

    for name, pixels in zip(("width", "height"), SIZES[arguments.way_up], strict=True):
        Config.set("graphics", name, str(pixels))
    render(arguments.folder, arguments.way_up, 1.5 if arguments.largest_type else 1.0)


def render(folder: Path, way_up: str, font_scale: float) -> None:
    """Write one PNG for each page and theme."""
    from kivy.base import EventLoop
    from kivy.core.window import Window

    from mobile.device.finger import Finger
    from mobile.widgets.gallery import PAGES, correction_sheet
    from mobile.widgets.theme import theme

    EventLoop.start()
    finger = Finger(Window)
    theme.font_scale = font_scale
    for name in ("sun", "dim"):
        theme.name = name
        for page, make in PAGES.items():
            root = make()
            Window.add_widget(root)
            finger.pump(12)
            for field in finger.find_all("field:load_line"):
                field.focus = True
            finger.pump(8)
            _save(Window, folder / f"{page}-{way_up}-{name}.png")
            Window.remove_widget(root)
        sheet = correction_sheet()
        sheet.open()
        finger.pump(8)
        finger.find("sheet:mass").focus = True
        finger.pump(8)
        _save(Window, folder / f"sheet-{way_up}-{name}.png")
        sheet.dismiss()
        finger.pump(2)


def _save(window, wanted: Path) -> None:
    window.canvas.ask_update()
    from kivy.base import EventLoop

    EventLoop.idle()
    written = Path(window.screenshot(name=str(wanted)))
    written.replace(wanted)
    print(wanted)


if __name__ == "__main__":
    main()
