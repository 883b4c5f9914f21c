"""What is installed is whole: a wheel holds every file of the three packages."""

from __future__ import annotations

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.house.tree import ROOT, tracked

PACKAGES = ("shared_models", "mobile", "sync_server")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> set[str]:
    """The names in a wheel built from a copy of the tree, without the network."""
    copy = tmp_path_factory.mktemp("tree")
    for path in tracked():
        (copy / path).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / path, copy / path)
    built = subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation",
         "--wheel-dir", str(copy / "out"), str(copy)],
        capture_output=True, text=True, check=False, timeout=300,
    )
    assert built.returncode == 0, built.stdout + built.stderr
    (made,) = (copy / "out").glob("stancebook-*.whl")
    with zipfile.ZipFile(made) as archive:
        return set(archive.namelist())


def test_a_wheel_holds_every_file_of_the_packages(wheel):
    ours = {p.as_posix() for p in tracked() if p.parts[0] in PACKAGES and p.name != ".gitkeep"}
    assert not ours - wheel


def test_a_wheel_holds_the_migrations_editions_and_screens(wheel):
    kinds = {Path(name).suffix for name in wheel}
    assert {".py", ".toml", ".kv", ".otf"} <= kinds
    assert any("migrations/versions/" in name for name in wheel)


def test_a_wheel_holds_nothing_else(wheel):
    tops = {name.split("/")[0] for name in wheel if ".dist-info/" not in name}
    assert tops <= set(PACKAGES)


def ignored(root: Path) -> set[str]:
    """What git leaves out of the code, apart from what Python makes by itself."""
    found = subprocess.run(
        ["git", "ls-files", "--others", "--ignored", "--exclude-standard",
         *PACKAGES, "tests", "docs"],
        cwd=root, capture_output=True, text=True, check=False,
    )
    if found.returncode != 0:
        pytest.skip("no git here, or no repository")
    return {
        name for name in found.stdout.splitlines()
        if "__pycache__" not in name and not name.endswith(".pyc") and ".hypothesis" not in name
    }


def test_git_leaves_none_of_our_files_out():
    """A room called like a folder of pictures would be missing from every clone."""
    assert not ignored(ROOT)


def test_a_file_that_git_leaves_out_would_be_found(tmp_path):
    if shutil.which("git") is None:
        pytest.skip("no git here")
    subprocess.run(["git", "init", "--quiet", str(tmp_path)], check=True)
    (tmp_path / ".gitignore").write_text("screens/\n")
    for name in (*PACKAGES, "tests", "docs"):
        (tmp_path / name).mkdir()
    (tmp_path / "mobile" / "screens").mkdir()
    (tmp_path / "mobile" / "screens" / "home.py").write_text("")
    assert ignored(tmp_path) == {"mobile/screens/home.py"}
