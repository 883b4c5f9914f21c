"""Gather every sentence that Stancebook says, for its catalogues.

    .venv/bin/python -m tests.languages.gathering

brings each ``shared_models/language/catalogue/*.po`` up to date: new sentences
come in untranslated, sentences that are said no more go out, and the ``.mo``
beside it, which the program reads, is made anew.  Translations are never made
up by likeness (no fuzzy ones): a sentence about a leg is said rightly or in
English.
"""

from __future__ import annotations

import ast
import re
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, Iterator

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from jinja2 import Environment, nodes

from shared_models.catalogue.edition import NEWEST, load_edition
from shared_models.language import Phrases

ROOT = Path(__file__).resolve().parents[2]
CATALOGUES = ROOT / "shared_models" / "language" / "catalogue"
_SIDES = ("shared_models", "mobile", "sync_server")
_MARKED = ("spoken", "phrase", "Worded")
_COUNTED = "counted"
_TABLES = ("Phrases", "PhraseRow")
#: A sentence and, where it counts, its plural; and the places it is said at.
Message = tuple[str, str]


def gathered() -> dict[Message, list[str]]:
    """Return every sentence with the places where it is said."""
    found: dict[Message, list[str]] = {}
    for message, place in (*_from_python(), *_from_widgets(), *_from_pages(), *_from_editions()):
        if message[0].strip():
            places = found.setdefault(message, [])
            if place not in places:
                places.append(place)
    return found


def catalogue_of(code: str) -> Catalog:
    """Return a language's catalogue as it lies in the tree."""
    with (CATALOGUES / f"{code}.po").open("rb") as file:
        return read_po(file, locale=code)


def brought_up_to_date(code: str, messages: dict[Message, list[str]]) -> Catalog:
    """Return a catalogue with exactly these sentences; what was translated stays so."""
    path = CATALOGUES / f"{code}.po"
    known = catalogue_of(code) if path.is_file() else Catalog(locale=code)
    fresh = Catalog(locale=code, project="Stancebook", header_comment=f"# Stancebook, {code}.", fuzzy=False)
    fresh.creation_date = fresh.revision_date = known.creation_date
    for (one, many), places in sorted(messages.items()):
        former = known.get(one)
        said = former.string if former is not None and bool(former.pluralizable) == bool(many) else None
        fresh.add((one, many) if many else one, said or (("",) * fresh.num_plurals if many else ""), locations=[(p, 0) for p in places])
    return fresh


def write(code: str, catalogue: Catalog) -> None:
    """Write a catalogue and its compiled form."""
    with (CATALOGUES / f"{code}.po").open("wb") as file:
        write_po(file, catalogue, width=0, include_lineno=False)
    with (CATALOGUES / f"{code}.mo").open("wb") as file:
        write_mo(file, catalogue)


def _from_python() -> Iterator[tuple[Message, str]]:
    for side in _SIDES:
        for path in sorted((ROOT / side).rglob("*.py")):
            place = path.relative_to(ROOT).as_posix()
            tree = ast.parse(path.read_text("utf-8"))
            known = _constants(tree)
            for node in ast.walk(tree):
                for message in _said_in(node, known):
                    yield message, place


def _said_in(node: ast.AST, known: dict[str, str]) -> Iterator[Message]:
    if not isinstance(node, ast.Call):
        return
    name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
    if name in _MARKED and node.args:
        text = _text(node.args[0], known)
        if text:
            yield text, ""
    elif name == _COUNTED and len(node.args) > 1:
        yield _text(node.args[0], known) or "", _text(node.args[1], known) or ""
    elif name in _TABLES and node.args:
        yield from ((text, "") for text in _values(node.args[0], known))


def _values(node: ast.AST, known: dict[str, str]) -> Iterator[str]:
    """Return the sentences among the values of a table or a row."""
    if isinstance(node, ast.Dict):
        for value in node.values:
            yield from _values(value, known)
    elif isinstance(node, (ast.Tuple, ast.List)):
        for value in node.elts:
            yield from _values(value, known)
    elif isinstance(node, ast.BinOp) or isinstance(node, (ast.Constant, ast.Name)):
        text = _text(node, known)
        if text and re.search(r"[^\W\d_]{2}", text):
            yield text


def _constants(tree: ast.Module) -> dict[str, str]:
    """Return the sentences that have names in a module."""
    found: dict[str, str] = {}
    for statement in tree.body:
        if not isinstance(statement, ast.Assign) or len(statement.targets) != 1:
            continue
        target, value = statement.targets[0], statement.value
        pairs = [(target, value)]
        if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
            pairs = list(zip(target.elts, value.elts))
        for name, each in pairs:
            if isinstance(each, ast.Call) and getattr(each.func, "id", "") == "phrase":
                each = each.args[0]
            text = _text(each, found)
            if isinstance(name, ast.Name) and text is not None:
                found[name.id] = text
    return found


def _text(node: ast.AST, known: dict[str, str]) -> str | None:
    """Return the sentence that an expression stands for, None when it is none."""
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else None
    if isinstance(node, ast.Name):
        return known.get(node.id)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        first, second = _text(node.left, known), _text(node.right, known)
        return first + second if first is not None and second is not None else None
    if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "phrase":
        return _text(node.args[0], known)
    return None


def _from_widgets() -> Iterator[tuple[Message, str]]:
    for path in sorted((ROOT / "mobile").rglob("*.kv")):
        for match in re.finditer(r"spoken\('([^']*)'", path.read_text("utf-8")):
            yield (match[1], ""), path.relative_to(ROOT).as_posix()


def _from_pages() -> Iterator[tuple[Message, str]]:
    environment = Environment()
    for path in sorted((ROOT / "sync_server" / "templates").glob("*.html")):
        place = path.relative_to(ROOT).as_posix()
        for call in environment.parse(path.read_text("utf-8")).find_all(nodes.Call):
            name = getattr(call.node, "name", "")
            texts = [arg.value for arg in call.args if isinstance(arg, nodes.Const)]
            if name == "spoken" and texts:
                yield (texts[0], ""), place
            elif name == _COUNTED and len(texts) > 1:
                yield (texts[0], texts[1]), place


def _from_editions() -> Iterator[tuple[Message, str]]:
    for text in _worded(load_edition(NEWEST), set()):
        yield (text, ""), f"edition {NEWEST}"


def _worded(thing: Any, seen: set[int]) -> Iterator[str]:
    """Return every word of a table of the edition that is said in the reader's language."""
    if isinstance(thing, Phrases):
        for value in dict.values(thing):
            yield value
    elif isinstance(thing, dict):
        for value in thing.values():
            yield from _worded(value, seen)
    elif isinstance(thing, tuple):
        for value in thing:
            yield from _worded(value, seen)
    elif is_dataclass(thing) and id(thing) not in seen:
        seen.add(id(thing))
        for each in fields(thing):
            raw = thing.__dict__.get("_" + each.name)
            if isinstance(raw, str):
                yield raw
            elif isinstance(raw, tuple):
                yield from raw
            elif raw is None:
                yield from _worded(getattr(thing, each.name), seen)


def main() -> None:
    """Bring every catalogue up to date, and say how much of each is there."""
    messages = gathered()
    for path in sorted(CATALOGUES.glob("*.po")):
        catalogue = brought_up_to_date(path.stem, messages)
        write(path.stem, catalogue)
        there = sum(1 for m in catalogue if m.id and all(m.string if isinstance(m.string, tuple) else (m.string,)))
        print(f"{path.stem}: {there} of {len(messages)} sentences")


if __name__ == "__main__":
    main()
