"""Stage the Android package: ``python -m mobile.bundling.android FOLDER``.

Copies what runs on the tablet, ``main.py`` and ``buildozer.spec`` into a folder
in which ``buildozer android debug`` then builds.  The build itself needs the
Android tools and has not been run; see docs/installing.md.
"""

from __future__ import annotations

import argparse
import shutil
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
HERE = Path(__file__).parent
PACKAGES = ("mobile", "shared_models")


def stage(folder: Path) -> Path:
    """Fill ``folder`` with all that the build tool needs; return it."""
    for package in PACKAGES:
        shutil.copytree(
            ROOT / package, folder / package, dirs_exist_ok=True,
            ignore=shutil.ignore_patterns("__pycache__", "*.pyc", "bundling"),
        )
    shutil.copy(HERE / "android_main.py", folder / "main.py")
    shutil.copy(HERE / "buildozer.spec", folder / "buildozer.spec")
    return folder


def main(argv: list[str] | None = None) -> int:
    """Stage the package; returns the exit code."""
    parser = argparse.ArgumentParser(description="Stage the Android package of the tablet app.")
    parser.add_argument("folder", type=Path)
    options = parser.parse_args(argv)
    if options.folder.exists() and any(options.folder.iterdir()):
        print(f"{options.folder} is not empty. Name a folder that is.")
        return 2
    print(f"Staged in {stage(options.folder)}. There: buildozer android debug")
    return 0


if __name__ == "__main__":
    sys.exit(main())
