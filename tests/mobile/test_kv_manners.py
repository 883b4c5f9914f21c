"""The kv files set nothing twice: kv would silently keep the last."""

from pathlib import Path

import kivy
import kivy.lang.parser as kv
import pytest

import mobile

KV_FILES = sorted(Path(mobile.__file__).parent.rglob("*.kv"))


class SetTwice(Exception):
    pass


class _EachOnce(dict):
    def __setitem__(self, name, value):
        if name in self:
            raise SetTwice(f"{name} in line {value.line + 1}")
        super().__setitem__(name, value)


@pytest.fixture
def strict(monkeypatch):
    """Kv's own parser, with a rule's properties kept in a dict that takes each name once."""
    usual = kv.ParserRule.__init__

    def begin(rule, *largs):
        usual(rule, *largs)
        rule.properties = _EachOnce()

    monkeypatch.setattr(kv.ParserRule, "__init__", begin)


def test_there_are_kv_files_to_look_at():
    assert len(KV_FILES) > 8


@pytest.mark.parametrize("path", KV_FILES, ids=lambda path: path.stem)
def test_no_property_is_set_twice_in_one_rule(path, strict):
    kv.Parser(content=path.read_text(encoding="utf-8"), filename=str(path))


def test_a_property_set_twice_would_be_found(strict):
    with pytest.raises(SetTwice, match="text in line 3"):
        kv.Parser(content="Label:\n    text: 'a'\n    text: 'b'\n", filename="twice.kv")


@pytest.mark.parametrize("path", KV_FILES, ids=lambda path: path.stem)
def test_a_kv_file_stands_beside_its_python_file_and_is_short(path):
    assert path.with_suffix(".py").exists()
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 150


@pytest.mark.parametrize("path", KV_FILES, ids=lambda path: path.stem)
def test_no_rule_bears_a_name_that_kivy_already_dresses(path):
    style = Path(kivy.__file__).parent / "data" / "style.kv"
    dressed = _rule_names(style.read_text(encoding="utf-8"))
    ours = _rule_names(path.read_text(encoding="utf-8"))
    assert ours and not ours & dressed


def _rule_names(text):
    heads = [line[1 : line.index(">")] for line in text.splitlines() if line.startswith("<")]
    return {name.split("@")[0].strip("-") for head in heads for name in head.split(",")}
