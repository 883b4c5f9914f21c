"""`stancebook rehearse`: one whole fitting on the real screens, to the accepted record."""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from mobile.device import display, kivy_settings


def main(argv: list[str] | None = None) -> int:
    """Run the rehearsal; returns the exit code, 0 when the record was accepted."""
    options = _parser().parse_args(argv)
    if options.window and not display.is_there():
        print("There is no display here to show it on. Without --window the rehearsal needs none.", file=sys.stderr)
        return 3
    folder = options.folder or Path(tempfile.mkdtemp(prefix="stancebook-rehearsal-"))
    folder.mkdir(parents=True, exist_ok=True)
    kivy_settings.apply(folder / "kivy", console_log=False)
    if not options.window:
        from mobile.device import headless_window

        headless_window.install(*_size(options.size))
    else:
        from kivy.config import Config

        width, height = _size(options.size)
        Config.set("graphics", "width", str(width))
        Config.set("graphics", "height", str(height))
    from mobile.rehearsal.play import Play, RehearsalFailed

    started = time.monotonic()
    play = Play(folder, options.server, options.code, options.witness, watched=options.window, pictures=options.pictures)
    try:
        play.run(alone=options.alone)
    except RehearsalFailed as failure:
        print(f"The rehearsal stopped: {failure}", file=sys.stderr)
        return 1
    finally:
        play.close()
    print(f"Done in {time.monotonic() - started:.0f} s.")
    return 0


def _size(text: str) -> tuple[int, int]:
    width, _, height = text.partition("x")
    if not (width.isdigit() and height.isdigit()):
        raise SystemExit(f"'{text}' is no size; write it like 1280x800")
    return int(width), int(height)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="stancebook rehearse",
        description="Rehearse a whole fitting on the real screens: no second machine, no account, no display.",
    )
    parser.add_argument("--window", action="store_true", help="show it in a window, slowly enough to follow")
    parser.add_argument("--folder", type=Path, default=None, help="where the records are kept (default: a fresh temporary folder)")
    parser.add_argument("--size", default="1280x800", help="size of the tablet, WIDTHxHEIGHT")
    parser.add_argument("--pictures", type=Path, default=None, help="with a window: save a picture of each page here")
    parser.add_argument("--alone", action="store_true", help="without a server: ends with a complete record on the tablet")
    parser.add_argument("--server", default="", help="use the server at this address instead of starting one")
    parser.add_argument("--code", default="", help="one-time code for that server")
    parser.add_argument("--witness", type=Path, default=None, help=argparse.SUPPRESS)
    return parser


if __name__ == "__main__":
    sys.exit(main())
