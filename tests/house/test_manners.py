"""What must not stand in any file, and what must stand in some."""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path

import pytest

from tests.house.tree import ROOT, texts, tracked

#: Put together here so that this file does not hold them itself.
_HOMES = ("/" + "root/", "/" + "home/", "/" + "Users/", "/" + "work/", "/" + "tmp/", "C:" + "\\")
_HOSTS = ("pypi" + ".org", "python" + "hosted", "index" + "-url", "registry" + ".npm", "git" + "hub.com")
_SECRETS = ("BEGIN " + "PRIVATE KEY", "BEGIN OPENSSH " + "PRIVATE")
FORBIDDEN = re.compile("|".join(re.escape(part) for part in _HOMES + _HOSTS + _SECRETS))
#: What says that something is not finished, put together for the same reason.
UNFINISHED = re.compile(
    r"\b(?:" + "|".join(("TO" + "DO", "FIX" + "ME", "X" + "XX", "HA" + "CK")) + r")\b"
    + "|lorem " + "ipsum|coming " + "soon|not yet " + r"implemented|\bissue " + r"#?\d"
)
#: Rooms that say nothing of what is in them.
_VAGUE = {"utils", "util", "helpers", "helper", "manager", "managers", "common", "misc"}


def test_no_file_names_a_machine_a_registry_or_a_secret():
    found = {
        str(path): match[0] for path, text in texts().items()
        if (match := FORBIDDEN.search(text))
    }
    assert not found


def test_no_file_says_that_something_is_left_for_later():
    found = {
        str(path): match[0] for path, text in texts().items()
        if (match := UNFINISHED.search(text))
    }
    assert not found


def test_a_word_for_later_would_be_found():
    assert UNFINISHED.search("# TO" + "DO: the cap")


def test_a_path_of_a_machine_would_be_found():
    assert FORBIDDEN.search("cd " + "/" + "home/somebody/stancebook")


def test_no_room_has_a_name_that_says_nothing():
    named = {part for path in tracked() for part in (*path.parts[:-1], path.stem)}
    assert not named & _VAGUE


def test_no_lock_file_records_where_packages_came_from():
    assert not {path.name for path in tracked()} & {"uv.lock", "pylock.toml", "poetry.lock"}


def public_without_docstring(tree: ast.Module, where: str) -> list[str]:
    """Public functions, classes and methods that do not say what they mean."""
    found = [] if ast.get_docstring(tree) or not tree.body else [where]
    for node in tree.body:
        if not isinstance(node, (ast.FunctionDef, ast.ClassDef)) or node.name.startswith("_"):
            continue
        inside = node.body if isinstance(node, ast.ClassDef) else []
        for each in (node, *inside):
            named = isinstance(each, (ast.FunctionDef, ast.ClassDef))
            if named and not each.name.startswith("_") and not ast.get_docstring(each):
                found.append(f"{where}:{each.lineno} {each.name}")
    return found


@pytest.mark.parametrize("path", [
    p for p in tracked()
    if p.parts[0] == "shared_models" and p.suffix == ".py" and "versions" not in p.parts
], ids=str)
def test_whatever_is_shared_says_what_it_means(path: Path):
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    assert not public_without_docstring(tree, str(path))


def test_a_bare_function_would_be_found():
    tree = ast.parse('"""Torque."""\ndef turn_nm(): ...\nclass Cap:\n    "A cap."\n    def seat(self): ...\n')
    assert [each.split()[-1] for each in public_without_docstring(tree, "x")] == ["turn_nm", "seat"]


DEMO = [p for p in tracked() if p.parts[:3] == ("shared_models", "catalogue", "demo") and p.suffix == ".toml"]


@pytest.mark.parametrize("path", DEMO, ids=lambda p: p.stem)
def test_demo_data_say_that_they_are_invented(path: Path):
    text = (ROOT / path).read_text(encoding="utf-8")
    assert "nvented" in text.splitlines()[0], "the first line says so"
    stated = tomllib.loads(text)
    names = [stated[k] for k in ("name", "clinic_name") if k in stated]
    names += [each["name"] for each in stated.get("staff", ())]
    assert names and all("invented" in name for name in names)


def test_there_are_demo_data_to_look_at():
    assert len(DEMO) >= 6
