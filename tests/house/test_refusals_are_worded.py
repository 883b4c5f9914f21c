"""Whatever is refused, a person reads a sentence that says what would be right."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from shared_models.quantities.refusals import Refusal
from shared_models.wording import refusals, server_sentences, sheet_troubles
from shared_models.wording.refusals import refusal_sentence
from tests.house.refusal_codes import codes, modules, refusal_classes


TREES = modules()
STATED, UNCLEAR = codes(TREES)
#: Places that pass on a code which another place states.
PASSED_ON = {
    "shared_models/exchange/intake.py: 'envelope_' + error.code",
    "shared_models/exchange/answers.py: text_in(found, 'code')",
    "shared_models/ledger/opening.py: codes.get(error.code, error.code)",
    "shared_models/wording/sentences.py: figures['refused']",
}


def worded() -> set[str]:
    return set(refusals.SENTENCES) | set(server_sentences.SENTENCES) | set(sheet_troubles.SENTENCES)


def test_every_refusal_code_has_its_sentence():
    missing = {code: where for code, where in STATED.items() if code not in worded()}
    assert not missing


def test_the_search_sees_codes_of_every_sort():
    assert {
        "settle_first", "wrong_pin", "not_saved_disk_full", "batch_not_gzip",
        "chain_gap", "key_not_enrolled", "chain_head_not_signed", "row_missing",
        "tail_missing", "envelope_not_sorted", "store_locked", "accept_incomplete",
    } <= set(STATED)
    assert {"NotSaved", "PinRefusal", "BatchRefusal"} <= refusal_classes(TREES)


def test_a_new_refusal_without_a_sentence_would_be_found():
    planted = ast.parse(
        "class KneeRefusal(StoreRefusal): ...\n"
        "def turn():\n    raise KneeRefusal('knee_upside_down', side='left')\n"
    )
    stated, _ = codes({**TREES, Path("planted.py"): planted})
    assert set(stated) - worded() == {"knee_upside_down"}


def test_a_code_handed_to_what_refuses_with_it_would_be_found():
    planted = ast.parse(
        "def refuse_knee(side, code):\n    raise Refusal(code)\n"
        "refuse_knee('left', 'knee_back_to_front')\n"
    )
    stated, _ = codes({**TREES, Path("planted.py"): planted})
    assert set(stated) - worded() == {"knee_back_to_front"}


def test_a_code_that_is_computed_is_known_to_pass_on_a_stated_one():
    assert set(UNCLEAR) <= PASSED_ON


def test_no_refusal_is_worded_in_two_places():
    assert not set(refusals.SENTENCES) & set(server_sentences.SENTENCES)


@pytest.mark.parametrize("code", sorted(worded()))
def test_a_sentence_is_whole_whatever_figures_came_with_it(code):
    sentence = refusal_sentence(Refusal(code))
    assert sentence[0].isupper() or sentence[0] == "'" or sentence.startswith("not stated")
    assert sentence.endswith(".") and "{" not in sentence and code not in sentence.split()


def test_figures_stand_in_the_sentence():
    sentence = refusal_sentence(Refusal("wrong_pin", tries_left=7))
    assert sentence == "That is not the PIN. Tries left: 7."


def test_a_code_of_another_version_is_named_and_not_hidden():
    assert "knee_upside_down" in refusal_sentence(Refusal("knee_upside_down"))
