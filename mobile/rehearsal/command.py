"""`stancebook rehearse`: one whole fitting on the real screens, or many without any."""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from shared_models.quantities.refusals import Refusal
from mobile.device import display, kivy_settings

USUAL_SIZE = "1280x800"


def main(argv: list[str] | None = None) -> int:
    """Run the rehearsal; returns the exit code, 0 when the record was accepted (or the table printed)."""
    options = _parser().parse_args(argv)
    if options.people is not None:
        return _without_screens(options)
    if options.seed is not None or options.json:
        raise Refusal("only_with_people", option="--seed" if options.seed is not None else "--json")
    return _on_the_screens(options)


def _without_screens(options: argparse.Namespace) -> int:
    for name in ("window", "folder", "size", "pictures", "alone", "server", "code", "witness", "glove", "dim", "type_size"):
        if getattr(options, name):
            raise Refusal("not_with_people", option=f"--{name.replace('_', '-')}")
    from shared_models.rehearsing import people_options

    people_options.run(options.people, options.seed, options.json, sys.stdout, sys.stderr)
    return 0


def _on_the_screens(options: argparse.Namespace) -> int:
    if options.window and not display.is_there():
        print("There is no display here to show it on. Without --window the rehearsal needs none.", file=sys.stderr)
        return 3
    folder = options.folder or Path(tempfile.mkdtemp(prefix="stancebook-rehearsal-"))
    folder.mkdir(parents=True, exist_ok=True)
    kivy_settings.apply(folder / "kivy", console_log=False)
    if not options.window:
        from mobile.device import headless_window

        headless_window.install(*_size(options.size or USUAL_SIZE))
    else:
        from kivy.config import Config

        width, height = _size(options.size or USUAL_SIZE)
        Config.set("graphics", "width", str(width))
        Config.set("graphics", "height", str(height))
    from mobile.rehearsal.play import Play, RehearsalFailed

    from mobile.widgets.theme import theme

    theme.name = "dim" if options.dim else "sun"
    theme.font_scale = (options.type_size or 100) / 100
    started = time.monotonic()
    play = Play(
        folder, options.server, options.code, options.witness, watched=options.window,
        pictures=options.pictures, gloved=options.glove,
    )
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
        description="Rehearse a whole fitting on the real screens: no second machine, no account, no display. With --people: many whole fittings without screens.",
    )
    parser.add_argument("--window", action="store_true", help="show it in a window, slowly enough to follow")
    parser.add_argument("--folder", type=Path, default=None, help="where the records are kept (default: a fresh temporary folder)")
    parser.add_argument("--size", default="", help=f"size of the tablet, WIDTHxHEIGHT (default: {USUAL_SIZE})")
    parser.add_argument("--glove", action="store_true", help="press as a gloved finger does: broad, a little off, never quite still")
    parser.add_argument("--dim", action="store_true", help="in the colours for a dim room")
    parser.add_argument("--type-size", type=int, choices=range(100, 151), metavar="PERCENT", default=None, help="size of type, 100 to 150 percent")
    parser.add_argument("--pictures", type=Path, default=None, help="with a window: save a picture of each page here")
    parser.add_argument("--alone", action="store_true", help="without a server: ends with a complete record on the tablet")
    parser.add_argument("--server", default="", help="use the server at this address instead of starting one")
    parser.add_argument("--code", default="", help="one-time code for that server")
    parser.add_argument("--people", metavar="N", default=None, help="without screens: N whole fittings on invented people, and a table of how they went")
    parser.add_argument("--seed", metavar="S", default=None, help="with --people: which people; the same seed brings the same ones")
    parser.add_argument("--json", action="store_true", help="with --people: the figures of the table as JSON")
    parser.add_argument("--witness", type=Path, default=None, help=argparse.SUPPRESS)
    return parser


if __name__ == "__main__":
    sys.exit(main())
