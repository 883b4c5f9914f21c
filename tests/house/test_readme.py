"""The README's two command lines are whole, and the machine's check runs the same one."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from tests.house.tree import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
CHECK = (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def section(title: str) -> str:
    found = re.search(rf"^## {title}$(.*?)(?=^## |\Z)", README, re.M | re.S)
    assert found, f"no heading '## {title}'"
    return found[1]


def lines_under(title: str) -> list[str]:
    blocks = re.findall(r"^```sh\n(.*?)^```$", section(title), re.M | re.S)
    assert len(blocks) == 1, f"one sh block under '{title}'"
    return blocks[0].splitlines()


@pytest.mark.parametrize("title", ["Run it", "Test it"])
def test_one_line_sets_everything_up_and_does_it(title):
    lines = lines_under(title)
    assert len(lines) == 1
    assert lines[0].startswith("python3 -m venv .venv && .venv/bin/python -m pip install ")


def test_the_readme_holds_no_other_shell_blocks():
    assert README.count("```") == 4


def test_running_ends_in_the_rehearsal_and_testing_in_the_whole_suite():
    assert lines_under("Run it")[0].endswith("&& .venv/bin/stancebook rehearse")
    assert "&& .venv/bin/python -m pytest -n auto" in lines_under("Test it")[0]


def test_the_extras_that_the_lines_name_exist():
    import tomllib

    stated = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    known = set(stated["project"]["optional-dependencies"])
    for title in ("Run it", "Test it"):
        asked = re.search(r"'\.\[([\w,]+)\]'", lines_under(title)[0])[1]
        assert set(asked.split(",")) <= known


def test_the_machines_check_takes_its_line_from_the_readme():
    """Run the check's own reader on the README, so that the two can't drift."""
    reader = re.search(r"^line_under\(\) \{.*?^\}$", CHECK, re.M | re.S)[0]
    said = subprocess.run(
        ["bash", "-c", f"{reader}\nline_under 'Test it'"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout
    assert said.splitlines() == lines_under("Test it")
    assert "pytest" not in CHECK, "the check states no test command of its own"


def test_it_opens_with_the_job_before_any_heading():
    first = README.partition("\n## ")[0].split("\n", 1)[1].strip()
    assert "\n\n" not in first and len(first) > 300
    for word in ("prosthetist", "knee", "lead clinician", "still missing"):
        assert word in first


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", *sorted(
    str(p.relative_to(ROOT)) for p in (ROOT / "docs").rglob("*.md")
)])
def test_every_link_to_a_file_of_ours_leads_somewhere(page):
    path = ROOT / page
    for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", path.read_text(encoding="utf-8")):
        if "://" not in target:
            assert (path.parent / Path(target)).exists(), f"{page} points at {target}"


def test_the_addresses_that_hold_the_records_properties_exist():
    """Each `room/file.py: name` of the contributors' page is there."""
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    found = re.findall(r"`((?:entries|ledger|checks|exchange|quantities)/[\w/]+\.py): ([\w.]+)`", page)
    assert len(found) >= 15
    for path, name in found:
        source = (ROOT / "shared_models" / path).read_text(encoding="utf-8")
        assert re.search(rf"^\s*(?:def|class) {name.rpartition('.')[2]}\b", source, re.M), f"{path}: {name}"
