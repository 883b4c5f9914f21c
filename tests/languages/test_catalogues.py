"""What every catalogue of a language must hold."""

from __future__ import annotations

import gettext
import string
from io import BytesIO

import pytest
from babel.messages.mofile import write_mo

from shared_models.language import in_language, languages, spoken
from tests.languages.gathering import CATALOGUES, catalogue_of, gathered

WHOLE = [each.code for each in languages() if each.whole and each.code != "en"]
TRANSLATED = [each.code for each in languages() if each.code != "en"]


@pytest.fixture(scope="module")
def messages():
    return gathered()


def test_the_sentences_are_found_on_all_sides(messages):
    places = {place.partition("/")[0] for said in messages.values() for place in said}
    assert {"shared_models", "mobile", "sync_server"} <= places and any(p.startswith("edition") for p in places)
    assert len(messages) > 2000


@pytest.mark.parametrize("code", WHOLE)
def test_a_whole_language_says_every_sentence(messages, code):
    catalogue = catalogue_of(code)
    lacking = [one for one, many in messages if not _translated(catalogue.get(one))]
    assert lacking == [], f"{len(lacking)} sentences have no words; run python -m tests.languages.gathering"


@pytest.mark.parametrize("code", TRANSLATED)
def test_a_language_puts_in_the_same_figures_as_the_english_sentence(code):
    wrong = []
    for message in catalogue_of(code):
        originals = message.id if isinstance(message.id, tuple) else (message.id,)
        for said in message.string if isinstance(message.string, tuple) else (message.string,):
            if message.id and said and _figures(said) - _figures(*originals):
                wrong.append((message.id, said, "has a figure that is not given"))
            # Of the two forms of a plural one may leave the number out: 'one photo'.
            if message.id and said and not isinstance(message.id, tuple) and _figures(message.id) - _figures(said):
                wrong.append((message.id, said, "lacks a figure"))
    assert wrong == []


@pytest.mark.parametrize("code", TRANSLATED)
def test_what_the_program_reads_is_what_was_written(code):
    made = BytesIO()
    write_mo(made, catalogue_of(code))
    made.seek(0)
    kept = gettext.GNUTranslations((CATALOGUES / f"{code}.mo").open("rb"))
    assert kept._catalog == gettext.GNUTranslations(made)._catalog


def test_a_language_without_a_sentence_says_it_in_english():
    with in_language("he"):
        assert spoken("A sentence that nobody has said yet, {number}.", number=3) == "A sentence that nobody has said yet, 3."


def _translated(message) -> bool:
    if message is None:
        return False
    said = message.string if isinstance(message.string, tuple) else (message.string,)
    return all(said) and not message.fuzzy


def _figures(*sentences: str) -> set[str]:
    return {name for text in sentences for _before, name, _spec, _conversion in string.Formatter().parse(text) if name}
