"""Render every page of a rehearsed fitting to PNG, to be looked at.

    python tests/mobile/render_screens.py FOLDER [--size 1280x800] [--dim] [--font-scale 1.5]

Without a size both ways up are drawn, side by side in two processes.  Needs an
OpenGL: a display, or ``SDL_VIDEODRIVER=offscreen`` with EGL; exit code 3 when
there is none.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

from mobile.device import kivy_settings

SIZES = ("1280x800", "800x1280")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--size", help="WIDTHxHEIGHT (both ways up when not given)")
    parser.add_argument("--dim", action="store_true")
    parser.add_argument("--font-scale", type=float, default=1.0)
    options = parser.parse_args()
    if options.size is None:
        # A window without a screen keeps the size it was made with, so each way up has its own.
        both = [subprocess.Popen([sys.executable, *sys.argv, "--size", size]) for size in SIZES]
        return max(process.wait() for process in both)
    width, height = (int(n) for n in options.size.split("x"))
    home = Path(tempfile.mkdtemp(prefix="stancebook-pictures-"))
    kivy_settings.apply(home / "kivy", console_log=False)
    from kivy.config import Config

    Config.set("graphics", "width", str(width))
    Config.set("graphics", "height", str(height))
    from kivy.core.window import Window

    if Window is None:
        print("no OpenGL here: no pictures")
        return 3
    Window.size = (width, height)
    from mobile.widgets.theme import theme

    theme.name = "dim" if options.dim else "sun"
    theme.font_scale = options.font_scale
    return draw(home, options.folder)


def draw(home: Path, folder: Path) -> int:
    """Play the fitting alone, with a picture of each page when it is first seen."""
    from mobile.rehearsal.course import Course
    from mobile.rehearsal.play import Play

    play = Play(home, "", "", None, watched=False, pictures=folder)
    seen: set[str] = set()
    act = Course.act

    def act_with_picture(course: Course) -> None:
        page = course.stage.page
        slot = getattr(page, "slot", "")
        what = f"{type(page).__name__} {getattr(page, 'step_key', '')} {slot.partition('/')[0]}"
        if slot.startswith("trial/"):
            what += f" {slot} {len(page.view.trials(slot))}"
        for part in ("stopping", "suggestion", "turned", "anew", "restored"):
            what += f" {part}" if course.finger.is_there(part) else ""
        if what not in seen:
            seen.add(what)
            play.pictures.take(what)
        act(course)

    Course.act = act_with_picture  # type: ignore[method-assign]
    play.say = lambda line: None  # type: ignore[method-assign]
    play.run(alone=True)
    play.pictures.take("nothing forgotten")
    for name, act_ in (("home", play.app.stage.go_home), ("sync", play.app.stage.go_sync), ("lock", play.app.stage.go_lock)):
        act_()
        play.pictures.take(name)
    play.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
