"""The leg of the screen rehearsal: the physical model, answering alike every time."""

from decimal import Decimal

import pytest

from shared_models.calculations.rehearsal_leg import demo_leg
from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.sheets import FUNCTIONS, demo_sheet, sheet_from

KNEE = sheet_from(demo_sheet("knee_alder"))


def found(leg, function, position):
    return [f["finding"] for f in leg.answer(function, Decimal(position))]


@pytest.mark.parametrize("function", FUNCTIONS)
def test_the_factory_position_is_wrong_and_the_finding_turns_towards_what_is_wanted(function):
    leg, adjuster = demo_leg(), KNEE.adjuster(function)
    low, high = leg.person.wanted_window(function)
    assert adjuster.start < low
    known = {f.key: f for f in load_edition().findings_of(function)}
    answers = {p: leg.answer(function, p) for p in leg.person.ranges[function].positions}
    for position, findings in answers.items():
        assert (findings == []) == (low <= position <= high)
        for finding in findings:
            assert finding["grade"] in ("slight", "marked")
            assert known[finding["finding"]].turn == ("more" if position < low else "less")
            assert finding["perceived"] == ("felt" if function == "stance_damping" else "seen")


def test_the_same_trial_is_answered_the_same_however_often_it_is_asked():
    first, second = demo_leg(), demo_leg()
    for function in FUNCTIONS:
        for position in first.person.ranges[function].positions:
            assert first.answer(function, position) == second.answer(function, position) == first.answer(function, position)


def test_the_further_off_the_worse_it_is_found():
    leg = demo_leg()
    for function in FUNCTIONS:
        positions = leg.person.ranges[function].positions
        middle = positions.index(leg.person.ranges[function].suits)
        grades = [{"slight": 1, "marked": 2}.get(next(iter(leg.answer(function, p)), {}).get("grade"), 0) for p in positions]
        assert grades[:middle + 1] == sorted(grades[:middle + 1], reverse=True)
        assert grades[middle:] == sorted(grades[middle:])
