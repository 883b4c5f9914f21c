"""The one console command, run as a person runs it: in a process of its own."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
COMMAND = Path(sys.executable).with_name("stancebook")


@pytest.fixture
def beside(tmp_path) -> Path:
    """A folder on the path that offers three more commands, as a side would."""
    offer = tmp_path / "planted-1.0.dist-info"
    offer.mkdir()
    (offer / "METADATA").write_text("Metadata-Version: 2.1\nName: planted\nVersion: 1.0\n")
    (offer / "entry_points.txt").write_text(
        "[stancebook.commands]\n"
        "full = planted:full\nknock = planted:knock\nbroken = planted:broken\nlimp = limping:main\n"
    )
    (tmp_path / "planted.py").write_text(
        '"""Knock on the door, for a test."""\n'
        "from shared_models.quantities.refusals import Refusal\n"
        "def full(argv):\n    raise Refusal('not_saved_disk_full')\n"
        "def knock(argv):\n    print('knocked', *argv)\n"
        "def broken(argv):\n    raise ZeroDivisionError('ours')\n"
    )
    (tmp_path / "limping.py").write_text(
        '"""Limp without its extra."""\nimport kivy.app\ndef main(argv):\n    pass\n'
    )
    return tmp_path


def run(*words: str, path: Path | None = None) -> subprocess.CompletedProcess[str]:
    places = [str(p) for p in (path, ROOT) if p]
    return subprocess.run(
        [sys.executable, "-m", "shared_models.command", *words],
        capture_output=True, text=True, timeout=120, check=False, cwd=path or ROOT,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(places)},
    )


def test_help_lists_each_command_with_one_line(beside):
    found = run("--help", path=beside)
    assert found.returncode == 0 and found.stderr == ""
    assert re.search(r"^  knock +Knock on the door, for a test\.$", found.stdout, re.M)
    assert "Limp without its extra." in found.stdout, "said without importing it"


def test_no_command_at_all_shows_the_list_and_counts_as_not_started():
    found = run()
    assert found.returncode == 2 and "usage: stancebook COMMAND" in found.stdout


def test_a_command_gets_the_words_after_its_name(beside):
    found = run("knock", "--twice", "left", path=beside)
    assert (found.returncode, found.stdout) == (0, "knocked --twice left\n")


def test_an_unknown_command_is_answered_with_what_there_is(beside):
    found = run("knok", path=beside)
    assert found.returncode == 2 and found.stdout == ""
    assert found.stderr.startswith("There is no command 'knok'.\n")
    assert "  knock " in found.stderr and "Traceback" not in found.stderr


def test_a_refusal_is_one_sentence_and_no_traceback(beside):
    found = run("full", path=beside)
    assert found.returncode == 1
    assert found.stderr.startswith("Not saved: the disk is full.")
    assert found.stderr.count("\n") == 1


def test_a_fault_of_ours_is_not_dressed_up_as_a_refusal(beside):
    found = run("broken", path=beside)
    assert found.returncode == 1 and "ZeroDivisionError: ours" in found.stderr


def test_a_missing_extra_is_named_in_one_sentence(beside):
    """A module that can't be found, as on a machine where the extra is not installed."""
    _needs_metadata()
    away = beside / "kivy"
    away.mkdir()
    (away / "__init__.py").write_text(
        "raise ModuleNotFoundError(\"No module named 'kivy'\", name='kivy')\n"
    )
    found = run("limp", path=beside)
    assert found.returncode == 2
    assert found.stderr.startswith("'stancebook limp' needs the extra 'tablet'")
    assert found.stderr.count("\n") == 1


def test_a_missing_module_that_no_extra_brings_rises_as_a_fault(beside):
    (beside / "limping.py").write_text('"""Limp."""\nimport no_such_thing\n')
    found = run("limp", path=beside)
    assert "Traceback" in found.stderr and "no_such_thing" in found.stderr


def test_the_version_is_that_of_the_installed_program():
    _needs_metadata()
    assert run("--version").stdout == f"stancebook {version('stancebook')}\n"


def test_the_installed_command_offers_rehearse_tablet_and_server(tmp_path):
    _needs_metadata()
    if not COMMAND.exists():
        pytest.skip(f"no {COMMAND.name} beside this Python; install Stancebook to have it")
    found = subprocess.run(
        [COMMAND, "--help"], capture_output=True, text=True, timeout=120, check=False,
        cwd=tmp_path,
    )
    listed = {line.split()[0] for line in found.stdout.splitlines() if line.startswith("  ")}
    assert {"rehearse", "tablet", "server"} <= listed


def _needs_metadata() -> None:
    try:
        version("stancebook")
    except PackageNotFoundError:
        pytest.skip("Stancebook is not installed in this environment")
