"""Long files and functions are reported, not refused: a longer one needs a reason."""

from __future__ import annotations

import ast
import warnings

from tests.house.tree import ROOT, tracked

LONG_FILE, LONG_FUNCTION, LONG_KV = 300, 40, 150


def test_long_files_and_functions_are_named_in_the_report():
    long_ones, looked_at = [], 0
    for path in tracked():
        if path.suffix not in (".py", ".kv"):
            continue
        text = (ROOT / path).read_text(encoding="utf-8")
        looked_at += 1
        lines = text.count("\n")
        if lines > (LONG_KV if path.suffix == ".kv" else LONG_FILE):
            long_ones.append(f"{path}: {lines} lines")
        if path.suffix == ".py":
            for node in ast.walk(ast.parse(text)):
                length = getattr(node, "end_lineno", 0) - getattr(node, "lineno", 0) + 1
                if isinstance(node, ast.FunctionDef) and length > LONG_FUNCTION:
                    long_ones.append(f"{path}: {node.name} has {length} lines")
    assert looked_at > 100, "there is something to report on"
    if long_ones:
        warnings.warn("longer than usual:\n  " + "\n  ".join(long_ones), stacklevel=1)
