"""The app comes into the hand: something to press on each system, and a bundle that is whole."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from mobile.bundling import desktop, install
from tests.house.tree import ROOT


def unquoted(line: str) -> list[str]:
    """An Exec line read after the Desktop Entry Specification 1.5: string escapes, then quotes.

    Within double quotes a shell takes away the same backslashes as the specification.
    """
    value = line.partition("=")[2].replace("\\\\", "\\")
    read = subprocess.run(["sh", "-c", f"printf '%s\\n' {value}"], capture_output=True, text=True, check=True)
    return [part.replace("%%", "%") for part in read.stdout.splitlines()]


@pytest.mark.skipif(os.name == "nt", reason="menu entries of this kind are for Linux")
@pytest.mark.parametrize("folder", ["plain", "with a space", 'odd "quoted" 100% $HOME `x` back\\slash'])
def test_the_menu_entry_starts_the_tablet_app_wherever_it_was_put(tmp_path, folder):
    python = tmp_path / folder / "bin" / "python"
    entry = install.leave_entry(tmp_path / "menu", python, platform="linux")
    lines = entry.read_text(encoding="utf-8").splitlines()
    assert lines[0] == "[Desktop Entry]" and "Type=Application" in lines
    (run,) = (line for line in lines if line.startswith("Exec="))
    assert unquoted(run) == [str(python), "-m", "mobile.main"]


def test_on_windows_there_is_something_to_press_on_the_desktop(tmp_path):
    python = tmp_path / "Scripts" / "python.exe"
    entry = install.leave_entry(tmp_path / "Desktop", python, platform="win32")
    assert entry.name == "Stancebook.bat"
    assert f'"{python.with_name("pythonw.exe")}" -m mobile.main' in entry.read_text()


def test_the_program_never_goes_where_the_record_lies():
    from mobile.main import DEFAULT_FOLDER

    for platform in ("linux", "win32"):
        folder = install.program_folder(platform)
        assert DEFAULT_FOLDER != folder and DEFAULT_FOLDER not in folder.parents


def test_the_installing_script_needs_nothing_but_python():
    """It runs before anything is installed: the standard library only, from any folder."""
    answer = subprocess.run(
        [sys.executable, "-I", "-S", str(ROOT / "mobile" / "bundling" / "install.py"), "--help"],
        capture_output=True, text=True, check=False, cwd=os.sep, timeout=60,
    )
    assert answer.returncode == 0 and "--folder" in answer.stdout, answer.stderr


def test_a_bundle_takes_the_migrations_along_as_files(tmp_path):
    arguments = desktop.arguments(tmp_path)
    taken = [a.partition(os.pathsep) for a in arguments if os.pathsep in a]
    migrations = [Path(source) for source, _, _ in taken if source.endswith("migrations")]
    assert migrations and (migrations[0] / "env.py").exists()
    assert "sync_server" in arguments  # left out: no tablet runs the server
