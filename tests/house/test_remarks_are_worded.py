"""Whatever is missing or odd, a person reads a sentence about it."""

from __future__ import annotations

import ast

from shared_models.wording.sentences import SENTENCES
from tests.house.refusal_codes import modules


def remark_codes(trees) -> dict[str, str]:
    """Codes of remarks that are stated as plain text, and where; `_against` makes one too."""
    found = {}
    for path, tree in trees.items():
        for node in ast.walk(tree):
            name = getattr(node.func, "id", "") if isinstance(node, ast.Call) else ""
            at = {"Remark": 0, "_against": 2}.get(name)
            if at is not None and len(node.args) > at and isinstance(node.args[at], ast.Constant):
                found[node.args[at].value] = f"{path}:{node.lineno}"
    return found


def test_every_remark_has_its_sentence():
    found = remark_codes(modules())
    assert len(found) > 30
    assert not {code: where for code, where in found.items() if code not in SENTENCES}


def test_a_remark_without_a_sentence_would_be_found():
    planted = {"planted.py": ast.parse("Remark('knee_upside_down', 'setting/x')")}
    assert set(remark_codes(planted)) - set(SENTENCES) == {"knee_upside_down"}
