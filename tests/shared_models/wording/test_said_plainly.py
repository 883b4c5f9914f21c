"""Small words that a person stumbles over: a part's name, one click, how a trial ended, a number on the dial."""

from __future__ import annotations

from decimal import Decimal

import pytest

from shared_models.drawings.adjuster import AdjusterShown, adjuster_scene
from shared_models.drawings.scene import Label
from shared_models.language import MARKED, in_language
from shared_models.wording.sentences import place_words
from shared_models.wording.trials import after_words, outcome_words, reach_words
from shared_models.wording.units import unit_behind
from tests.fitting_desk import Desk


@pytest.fixture(scope="module")
def desk():
    return Desk().staff().before_the_bench()


@pytest.mark.parametrize("figure, unit, said", [
    ("1", "clicks", "click"), ("1.0", "clicks", "click"), ("2", "clicks", "clicks"), ("0", "clicks", "clicks"),
    ("0.5", "turns", "turns"), ("1", "marks", "mark"), ("1", "degrees of the ring", "degrees of the ring"), ("?", "clicks", "clicks"),
])
def test_one_click_is_said_as_one_and_a_word_of_the_sheets_own_stays_as_it_is(figure, unit, said):
    assert unit_behind(figure, unit) == said


def test_a_largest_step_of_one_click_is_said_in_the_singular(desk):
    from dataclasses import replace

    adjuster = replace(desk.view.adjuster("stance_threshold"), largest_step=Decimal("1"), unit="clicks")
    assert reach_words(adjuster) == "largest step 1 click"


def test_a_part_is_called_by_its_name_alone(desk):
    assert [place_words(f"component/{p}", desk.view) for p in ("socket", "knee", "*")] == ["Socket", "Knee", "Component, each"]
    assert place_words("setting/swing_flexion", desk.view) == "Setting, Swing flexion"


def test_a_waived_step_is_called_by_its_title(desk):
    assert place_words("waiver/outcome", desk.view) == "Step waived, Outcome measures"


def test_ground_that_is_not_cleared_is_said_in_the_readers_language(desk):
    assert place_words("restriction/low_steps", desk.view).endswith(", low steps")
    with in_language(MARKED):
        assert place_words("restriction/low_steps", desk.view).endswith("\N{MATHEMATICAL LEFT WHITE SQUARE BRACKET}low steps\N{MATHEMATICAL RIGHT WHITE SQUARE BRACKET}")


@pytest.mark.parametrize("outcome", ["confirmed", "change", "stopped"])
def test_how_a_trial_ended_is_said_with_one_colon(outcome):
    assert after_words(2, outcome_words(outcome)).count(":") == 1


@pytest.mark.parametrize("there", range(0, 13))
def test_the_number_to_turn_to_keeps_clear_of_the_way_to_turn_on_a_small_dial(there):
    here = Decimal(6) if there != 6 else Decimal(5)
    scene = adjuster_scene(AdjusterShown("Valve", "marks", Decimal(0), Decimal(12), Decimal(1), Decimal(12), "more", here, Decimal(there)))
    labels = [s for s in scene.shapes if isinstance(s, Label)]
    turn = next(label for label in labels if label.text.startswith("turn "))
    number = next(label for label in labels if label.text == str(there) and label.role == "unit")
    # On a dial 150 pixels high, a line of body type is about 20 and one of units 25 pixels high.
    unit_px = 150 / scene.height
    assert (number.at[1] - turn.at[1]) * unit_px >= 20 + 25 / 2
