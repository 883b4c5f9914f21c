"""The pages on safety and on security promise nothing that no test shows."""

from __future__ import annotations

import ast
import re

from tests.house.tree import ROOT, tracked

PAGE = "\n".join(
    (ROOT / "docs" / name).read_text(encoding="utf-8") for name in ("safety.md", "security.md")
)


def known_tests() -> set[str]:
    """Every test function of the tree, by name."""
    return {
        node.name
        for path in tracked() if path.parts[0] == "tests" and path.name.startswith("test_")
        and path.suffix == ".py"
        for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }


def rows() -> list[list[str]]:
    """The rows of the hazard table, in their three columns."""
    lines = [
        line for line in PAGE.splitlines() if line.startswith("| **") and line.count("|") == 4
    ]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


def test_every_test_that_the_safety_page_names_exists():
    assert not set(re.findall(r"`(test_\w+)`", PAGE)) - known_tests()


def test_every_hazard_has_a_control_and_a_test():
    assert len(rows()) >= 24
    for hazard, control, shown in rows():
        assert hazard and control and re.search(r"`test_\w+`", shown), hazard


def test_a_test_that_does_not_exist_would_be_found():
    assert "test_the_knee_never_fails" not in known_tests()
    assert {"test_every_test_that_the_safety_page_names_exists"} <= known_tests()
