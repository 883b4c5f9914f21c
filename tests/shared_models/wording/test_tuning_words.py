"""The guidance explains itself in two sentences: what is known, and why this step."""

from __future__ import annotations

import pytest

from shared_models.calculations.tuning import suggest
from shared_models.wording.tuning import known_words, range_shown, reason_words, recheck_words, suggestion_words
from tests.shared_models.calculations.tuning.making import adjuster, known, tried


def advised(function, *course, confirmed=None, **sheet):
    own, trials = adjuster(function, **sheet), [tried(function, *each) for each in course]
    found = suggest(own, trials[-1].position, trials, known(function), confirmed)
    return own, trials[-1].position, found


def test_it_says_what_is_too_low_what_is_too_high_and_why_this_step():
    own, at, found = advised("swing_flexion", ("8", "marked"), ("11", "slight"), ("14", "none"), ("17", "none", "marked"))
    what, why = reason_words(found, own, at)
    assert what.startswith("Clearly too low up to ") and ", clearly too high from " in what
    assert str(found.position) in why and "chance" in why
    assert suggestion_words(found, own, at, known("swing_flexion")).startswith(f"Turn the flexion valve anticlockwise to {found.position}, then walk again.")


def test_the_direction_follows_the_sheets_sense_and_its_unit_of_quarter_turns():
    own, at, found = advised("swing_flexion", ("1.25", "marked"), unit="turns", lowest="0", highest="5", start="1.25", smallest_step="0.25", largest_step="0.75", clockwise="less")
    assert suggestion_words(found, own, at, known("swing_flexion")).startswith("Turn the flexion valve anticlockwise to 2, then walk again.")


def test_a_step_held_by_the_sheet_says_so():
    own, at, found = advised("swing_flexion", ("2", "marked"))
    assert reason_words(found, own, at)[1] == "5 is one largest step towards the positions that are likely to be good."


def test_missing_damping_says_from_where_no_threshold_is_suggested_again():
    own, at, found = advised("stance_threshold", ("2", "slight"), ("3", "none", "marked"))
    assert reason_words(found, own, at)[1] == "Stance damping was missing at 3, so 3 and above are not suggested again."
    assert "oo high from 3" in known_words(found)


def test_a_closed_bracket_is_said_plainly_with_what_else_to_look_at():
    own, at, found = advised("stance_threshold", ("7", "marked"), ("8", "none", "marked"), ("7", "marked"), ("7", "marked"))
    words = suggestion_words(found, own, at, known("stance_threshold"))
    assert words.startswith("Every position from 0 to 24 was tried or is excluded, so a good one is unlikely here: look at alignment, foot, socket and weight.")


@pytest.mark.parametrize("course", [
    [("8", "marked")], [("8", "none")], [("8", "none"), ("8", "none"), ("8", "none")], [("20", "marked")] * 3,
    [("8", "slight", "slight")],
])
def test_two_sentences_whatever_is_advised(course):
    own, at, found = advised("swing_flexion", *course)
    for sentence in reason_words(found, own, at):
        assert sentence.endswith(".") and "{" not in sentence and "None" not in sentence


def test_the_bar_shows_what_the_words_say():
    own, at, found = advised("swing_flexion", ("8", "marked"))
    shown = range_shown(found, own, at)
    assert (shown.low, shown.high, shown.here, shown.there) == (8.0, None, 8.0, 11.0)
    assert (shown.low_words, shown.maybe_words, shown.high_words) == ("too low up to 8", "may be right: 9 to 20", "to 20")
    assert (shown.here_words, shown.there_words) == ("now 8", "next 11")


def test_it_says_what_a_turn_disturbs():
    assert recheck_words(["Swing extension"]) == "This turn disturbs swing extension: walk that again afterwards."
    assert recheck_words(["Swing flexion", "Swing extension"]).endswith("swing flexion and swing extension: walk those again afterwards.")
    assert recheck_words([]) == ""
