"""Put the tablet app on a Windows or Linux tablet: ``python3 mobile/bundling/install.py``.

Needs only Python and its package registry.  Makes an environment of its own in
a folder, installs the app into it, and leaves something to press: a menu entry
on Linux, a ``Stancebook.bat`` on the desktop on Windows.  Run again, it brings
the app up to date; the record lies elsewhere and is not touched.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import venv
from pathlib import Path

SOURCE = Path(__file__).resolve().parents[2]
OLDEST, BEYOND = (3, 11), (3, 14)
NAME = "Stancebook"


def main(argv: list[str] | None = None) -> int:
    """Install or bring up to date; returns the exit code."""
    parser = argparse.ArgumentParser(description="Put the Stancebook tablet app on this machine.")
    parser.add_argument("--folder", type=Path, default=program_folder(), help="where the program goes (default: %(default)s)")
    parser.add_argument("--menu", type=Path, default=menu_folder(), help="where the entry to press goes (default: %(default)s)")
    options = parser.parse_args(argv)
    if not OLDEST <= sys.version_info[:2] < BEYOND:
        print(f"This is Python {sys.version_info[0]}.{sys.version_info[1]}. Stancebook needs 3.11, 3.12 or 3.13: start this with one of them.")
        return 2
    python = make_environment(options.folder)
    done = subprocess.run(
        [str(python), "-m", "pip", "install", "--quiet", "--upgrade", f"{SOURCE}[tablet]"], check=False
    )
    if done.returncode != 0:
        print("Stancebook could not be installed; what pip said stands above. What was there before is untouched or can be installed again by the same command.")
        return 1
    entry = leave_entry(options.menu, python)
    print(f"Installed in {options.folder}. To start: {entry}")
    return 0


def program_folder(platform: str = sys.platform) -> Path:
    """Return where a program of this user goes; never where the record lies."""
    if platform.startswith("win"):
        return Path(os.environ.get("LOCALAPPDATA", str(Path.home()))) / "Programs" / NAME
    return Path.home() / ".local" / "share" / "stancebook-program"


def menu_folder(platform: str = sys.platform) -> Path:
    """Return where what is pressed goes: the desktop on Windows, the menu elsewhere."""
    if platform.startswith("win"):
        return Path.home() / "Desktop"
    return Path.home() / ".local" / "share" / "applications"


def make_environment(folder: Path) -> Path:
    """Make the environment where it is missing; return its Python."""
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not python.exists():
        venv.create(folder, with_pip=True)
    return python


def leave_entry(menu: Path, python: Path, platform: str = sys.platform) -> Path:
    """Write what is pressed to start the app; return it."""
    menu.mkdir(parents=True, exist_ok=True)
    if platform.startswith("win"):
        entry = menu / f"{NAME}.bat"
        entry.write_text(f'@start "" "{python.with_name("pythonw.exe")}" -m mobile.main\r\n', encoding="utf-8")
        return entry
    entry = menu / "stancebook.desktop"
    entry.write_text(
        "[Desktop Entry]\nType=Application\n"
        f"Name={NAME}\nComment=Fit and tune a hydraulic knee\n"
        f"Exec={quoted(str(python))} -m mobile.main\nTerminal=false\nCategories=MedicalSoftware;\n",
        encoding="utf-8",
    )
    return entry


def quoted(argument: str) -> str:
    """Return an argument as the Exec line of a desktop entry takes it.

    Desktop Entry Specification 1.5, "The Exec key": in double quotes, with a
    backslash before each of ``"``, `````, ``$`` and ``\\``, and that backslash
    doubled because the line is a string value; a percent sign is doubled.
    """
    for character in '\\"`$':
        argument = argument.replace(character, "\\\\" + character if character != "\\" else "\\\\\\\\")
    return '"' + argument.replace("%", "%%") + '"'


if __name__ == "__main__":
    sys.exit(main())
