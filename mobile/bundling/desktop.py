"""Build a desktop bundle: ``python -m mobile.bundling.desktop FOLDER``.

The bundle is a folder with everything in it, Python too; it is made for the
system it is built on.  Needs PyInstaller in the same environment.  The modules
that are only found at run time (sub-commands, migrations, key files) are named
here, and everything that is no Python goes along as data.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
START = Path(__file__).with_name("bundle_start.py")
NAME = "Stancebook"
#: Packages whose modules or files are looked up by name.
WHOLE = ("mobile", "shared_models", "alembic", "babel", "biip", "fpdf", "plyer")
#: Found as files while running, so they lie there as files.
AS_FILES = ("shared_models/ledger/migrations",)
#: Parts of the tree that run on no tablet.
LEFT_OUT = ("sync_server", "pytest", "hypothesis", "numpy", "scipy", "PyInstaller", "tkinter")


def arguments(folder: Path) -> list[str]:
    """Return PyInstaller's arguments for a bundle in ``folder``."""
    found = [
        str(START), "--name", NAME, "--noconfirm", "--windowed", "--log-level", "WARN",
        "--distpath", str(folder), "--workpath", str(folder / "work"), "--specpath", str(folder / "work"),
        "--paths", str(ROOT),
    ]
    for package in WHOLE:
        found += ["--collect-submodules", package, "--collect-data", package]
    for path in AS_FILES:
        found += ["--add-data", f"{ROOT / path}{os.pathsep}{path}"]
    for package in LEFT_OUT:
        found += ["--exclude-module", package]
    return found


def main(argv: list[str] | None = None) -> int:
    """Build the bundle; returns the exit code."""
    parser = argparse.ArgumentParser(description="Build a desktop bundle of the tablet app.")
    parser.add_argument("folder", type=Path)
    options = parser.parse_args(argv)
    # In a process of its own: its hooks import Kivy, which reads the command line.
    built = subprocess.run([sys.executable, "-m", "PyInstaller", *arguments(options.folder.resolve())], check=False)
    if built.returncode == 0:
        print(f"Built {options.folder / NAME}; start {options.folder / NAME / NAME}")
    return built.returncode


if __name__ == "__main__":
    sys.exit(main())
