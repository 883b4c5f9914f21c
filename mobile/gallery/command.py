"""`stancebook screens`: every screen in its typical, empty, error and full state, drawn and looked over."""

from __future__ import annotations

import argparse
import html
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from mobile.device import kivy_settings

SIZES = ("1280x800", "800x1280")
NO_WINDOW = "There is no OpenGL to be had here, so no picture was drawn: the screens need a display, or EGL for drawing off screen."
_PART = "part-{size}.html"


def main(argv: list[str] | None = None) -> int:
    """Draw the gallery; 0 when nothing was found, 1 when something was, 3 where nothing can be drawn."""
    given = list(sys.argv[1:] if argv is None else argv)
    options = _parser().parse_args(given)
    options.folder.mkdir(parents=True, exist_ok=True)
    if options.size is None:
        # A window without a screen keeps the size it was made with, so each way up has its own process.
        command = [sys.executable, "-m", "mobile.gallery.command", *given, "--part", "--size"]
        both = [subprocess.Popen([*command, size], cwd=_root()) for size in SIZES]
        ends = [process.wait() for process in both]
        _join(options.folder, SIZES)
        return max(ends)
    end = _one_way_up(options)
    if not options.part:
        _join(options.folder, (options.size,))
    return end


def _root() -> Path:
    return Path(__file__).resolve().parents[2]


def _one_way_up(options: argparse.Namespace) -> int:
    width, _, height = options.size.partition("x")
    if not (width.isdigit() and height.isdigit()):
        raise SystemExit(f"'{options.size}' is no size; write it like 1280x800")
    window = _window(int(width), int(height))
    if window is None:
        print(NO_WINDOW, file=sys.stderr)
        return 3
    from mobile.gallery.round import Round
    from mobile.gallery.states import catalogue
    from mobile.widgets.theme import theme
    from shared_models.language import choose_language

    theme.name, theme.font_scale = options.theme, options.font
    choose_language(options.language)
    states = [s for s in catalogue() if options.only.lower() in s.name.lower()]
    around, seen = Round(window), []
    try:
        for each in around.pictures(states, options.folder, options.size):
            seen.append(each)
            for finding in each.findings:
                print(f"{each.picture}: {finding}", flush=True)
    finally:
        around.close()
    (options.folder / _PART.format(size=options.size)).write_text("\n".join(map(_figure, seen)), "utf-8")
    found = sum(len(each.findings) for each in seen)
    print(f"{len(seen)} pictures of {options.size}; findings: {found}", flush=True)
    return 1 if found else 0


def _window(width: int, height: int):
    """Return a window that has pixels, off screen where there is no display; None where there is neither."""
    if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        os.environ.setdefault("SDL_VIDEODRIVER", "offscreen")
    kivy_settings.apply(Path(tempfile.mkdtemp(prefix="stancebook-kivy-")), console_log=False)
    from kivy.config import Config

    Config.set("graphics", "width", str(width))
    Config.set("graphics", "height", str(height))
    try:
        from kivy.core.window import Window
    except SystemExit:
        return None
    if Window is not None:
        from kivy.base import EventLoop

        EventLoop.start()
    return Window


def _figure(seen) -> str:
    """Return one picture with its name and what was found, for the page."""
    found = "".join(f"<li>{html.escape(str(f))}</li>" for f in seen.findings)
    return (
        f"<figure><a href='{seen.picture}'><img loading='lazy' src='{seen.picture}' alt=''></a>"
        f"<figcaption>{html.escape(seen.state.name)} ({seen.way})<ul>{found}</ul></figcaption></figure>"
    )


def _join(folder: Path, sizes: tuple[str, ...]) -> None:
    """Write the page that shows all pictures, from what each way up left."""
    parts = []
    for size in sizes:
        part = folder / _PART.format(size=size)
        if part.exists():
            parts.append(f"<h2>{size}</h2><div>{part.read_text('utf-8')}</div>")
            part.unlink()
    if parts:
        style = "body{font:16px sans-serif}div{display:flex;flex-wrap:wrap;gap:16px}figure{margin:0;width:420px}img{width:100%}"
        (folder / "index.html").write_text(
            f"<!doctype html><meta charset='utf-8'><title>Screens</title><style>{style}</style>{''.join(parts)}", "utf-8",
        )


def _parser() -> argparse.ArgumentParser:
    from mobile.widgets.palettes import PALETTES

    parser = argparse.ArgumentParser(
        prog="stancebook screens",
        description="Draw every screen in its typical, empty, error and full state, and look it over: nothing cut off, overlapping, too small or too faint.",
    )
    parser.add_argument("folder", type=Path, help="where the pictures and index.html go")
    parser.add_argument("--size", default=None, help="WIDTHxHEIGHT (default: 1280x800 and 800x1280, side by side)")
    parser.add_argument("--theme", choices=sorted(PALETTES), default="sun", help="for daylight or for a dim room")
    parser.add_argument("--font", type=float, default=1.0, help="size of type, 1 to 1.5")
    parser.add_argument("--language", default="en", help="in which language, by its code; en-XA brackets all that goes through the catalogue")
    parser.add_argument("--only", default="", metavar="NAME", help="only states whose name holds this")
    parser.add_argument("--part", action="store_true", help=argparse.SUPPRESS)
    return parser


if __name__ == "__main__":
    sys.exit(main())
