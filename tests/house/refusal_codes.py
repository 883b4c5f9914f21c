"""Every refusal code that the source code can raise or send, read from its syntax."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("shared_models", "mobile", "sync_server")
#: Calls that state a code: how many arguments stand before it.
_STATE_CODES = {"Reason": 2, "BadRow": 2, "SheetTrouble": 1}


def modules(root: Path = ROOT) -> dict[Path, ast.Module]:
    """Every module of the three packages, parsed."""
    paths = [p for name in PACKAGES for p in sorted((root / name).rglob("*.py"))]
    return {p.relative_to(root): ast.parse(p.read_text(encoding="utf-8")) for p in paths}


def refusal_classes(trees: dict[Path, ast.Module]) -> set[str]:
    """Refusal and every class that descends from it, by name."""
    bases = {
        node.name: {_last_name(base) for base in node.bases}
        for tree in trees.values() for node in ast.walk(tree) if isinstance(node, ast.ClassDef)
    }
    found = {"Refusal"}
    while True:
        more = {name for name, above in bases.items() if above & found} - found
        if not more:
            return found
        found |= more


def codes(trees: dict[Path, ast.Module]) -> tuple[dict[str, str], list[str]]:
    """Return code -> where it stands, and the places whose code is no plain text.

    A variable called ``code`` passes on what is assigned to it or handed in by
    that name, and both are looked at.
    """
    stated, unclear = {}, []
    before = dict.fromkeys(refusal_classes(trees), 0) | _STATE_CODES
    before |= _refusing_functions(trees, set(before))
    for path, tree in trees.items():
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call):
                continue
            name = _last_name(node.func)
            where = f"{path}:{node.lineno}"
            if name == "BadEnvelope":
                stated[f"envelope_{_text(node.args[0])}"] = where
            elif name in before and len(node.args) > before[name]:
                code = _text(node.args[before[name]])
                if code:
                    stated[code] = where
                elif _last_name(node.args[before[name]]) != "code":
                    unclear.append(f"{path}: {ast.unparse(node.args[before[name]])}")
        for code, line in _returned_codes(tree):
            stated[code] = f"{path}:{line}"
    return stated, unclear


def _refusing_functions(trees: dict[Path, ast.Module], classes: set[str]) -> dict[str, int]:
    """Functions that refuse with a code they are given: where it stands in a call."""
    found = {}
    for tree in trees.values():
        for function in ast.walk(tree):
            if not isinstance(function, ast.FunctionDef):
                continue
            given = [a.arg for a in function.args.args if a.arg not in ("self", "cls")]
            if "code" in given and any(
                isinstance(node, ast.Call) and _last_name(node.func) in classes
                and node.args and _last_name(node.args[0]) == "code"
                for node in ast.walk(function)
            ):
                found[function.name] = given.index("code")
    return found


def _returned_codes(tree: ast.Module):
    """Codes that functions named after trouble return, and that trouble tuples hold."""
    for function in ast.walk(tree):
        if isinstance(function, ast.Assign) and "code" in map(_last_name, function.targets):
            # One bare word is the reason of a correction; codes have two or more.
            yield from (found for found in _texts(function.value) if "_" in found[0])
        if isinstance(function, ast.FunctionDef) and "trouble" in function.name:
            for node in ast.walk(function):
                if isinstance(node, ast.Return) and node.value is not None:
                    yield from _texts(node.value)
        if isinstance(function, ast.Tuple) and len(function.elts) == 4:
            code = _text(function.elts[2])
            if code and "_" in code and isinstance(function.elts[3], ast.Dict):
                yield code, function.lineno


def _texts(node: ast.expr):
    if isinstance(node, ast.IfExp):
        yield from _texts(node.body)
        yield from _texts(node.orelse)
    elif _text(node):
        yield _text(node), node.lineno


def _text(node: ast.expr) -> str:
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def _last_name(node: ast.expr) -> str:
    return node.attr if isinstance(node, ast.Attribute) else getattr(node, "id", "")
