"""Answers are chosen by a press, told by shape, and wrap onto more lines when there is no room."""

import pytest

from mobile.widgets.choices import ChoiceRow, GradedChoice, YesNoChoice


def test_a_finding_is_graded_by_a_press(show, finger, heard):
    heel_rise = GradedChoice(test_name="field:heel_rise", label="Heel rise")
    edits = heard(heel_rise, "on_edit")
    show(heel_rise)
    finger.tap("field:heel_rise=marked")
    finger.tap("field:heel_rise=slight")
    assert heel_rise.value == "slight" and edits == ["marked", "slight"]


def test_the_bars_rise_with_the_grade(show, finger):
    show(GradedChoice(test_name="field:heel_rise"))
    grades = [finger.find(f"field:heel_rise={key}").grade for key in ("none", "slight", "marked")]
    assert grades == [0, 1, 2]


def test_an_answer_set_by_the_program_shows_but_is_no_edit(show, finger, heard):
    safe = YesNoChoice(test_name="field:safe", label="Felt safe?")
    edits = heard(safe, "on_edit")
    show(safe)
    assert safe.answer is None
    safe.value = "no"
    assert finger.find("field:safe=no").chosen and not finger.find("field:safe=yes").chosen
    assert safe.answer is False and edits == []


def test_a_second_press_leaves_the_answer_unless_it_can_be_taken_back(show, finger):
    safe = YesNoChoice(test_name="field:safe")
    show(safe)
    finger.tap("field:safe=yes")
    finger.tap("field:safe=yes")
    assert safe.value == "yes"
    safe.clearable = True
    finger.tap("field:safe=yes")
    assert safe.value == ""


@pytest.mark.parametrize("width, lines", [(1200, 1), (520, 2), (200, 4)])
def test_answers_wrap_onto_as_many_even_lines_as_they_need(show, finger, width, lines):
    shoe = ChoiceRow(
        test_name="field:shoe",
        options=[("walking", "walking shoe"), ("sport", "sport shoe"), ("work", "work boot"),
                 ("bare", "barefoot")],
    )  # fmt: skip
    show(shoe, width=width)
    cells = finger.find_all("field:shoe=")
    assert len({cell.y for cell in cells}) == lines
    assert len({round(cell.width) for cell in cells}) == 1
