"""Seen and felt are recorded apart; one finding stays one finding, and what a suggestion passes is said."""

from __future__ import annotations

from decimal import Decimal

from shared_models.calculations.findings import contradictions_in, most_marked, noticed_in
from shared_models.calculations.tuning import Suggestion
from shared_models.catalogue.edition import load_edition
from shared_models.checks.tuning_advice import advice, brackets_after, passed_over
from shared_models.checks.tuning_course import course_of
from shared_models.checks.walk_timing import walked_speed
from shared_models.wording.findings import before_words, noticed_words, ways_of, why
from shared_models.wording.tuning import passed_over_words
from tests.fitting_desk import Desk

HIGH, LOW = "heel_rise_too_high", "heel_rise_too_low"


def item(finding, grade, perceived="seen", **more):
    return {"finding": finding, "grade": grade, "perceived": perceived, **more}


def walking():
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.stand()
    desk.walk("stance_threshold")
    return desk


def test_a_finding_both_seen_and_felt_is_one_finding_as_marked_as_it_was_at_most():
    items = [item(HIGH, "none"), item(HIGH, "marked", "felt", pace="fast"), item(LOW, "slight"), item(LOW, "slight", "felt")]
    assert [(i["finding"], i["perceived"]) for i in most_marked(items)] == [(HIGH, "felt"), (LOW, "seen")]
    edition = load_edition()
    assert [n.finding.key for n in noticed_in(items, edition.findings)].count(HIGH) == 1
    titles = [s.title for s in why([item(HIGH, "slight"), item(HIGH, "slight", "felt")], edition, "swing_flexion")]
    assert len([t for t in titles if t.startswith("Try first")]) == 1
    assert not [t for t in titles if "more than one finding" in t], "one finding noticed twice is not two"


def test_two_findings_that_contradict_do_so_however_each_was_noticed():
    edition = load_edition()
    apart = [item(HIGH, "slight", "felt"), item(HIGH, "none"), item(LOW, "slight"), item(LOW, "none", "felt")]
    assert len(contradictions_in(apart, edition.contradictions)) == len(contradictions_in([item(HIGH, "slight"), item(LOW, "slight")], edition.contradictions)) > 0


def test_seen_and_felt_that_agree_say_more_than_one_of_them_alone():
    chances = []
    for findings in ([item(HIGH, "marked")], [item(HIGH, "marked"), item(HIGH, "marked", "felt")]):
        desk = walking()
        desk.walk("swing_flexion", "change", findings=findings)
        view = desk.view
        chances.append(advice(view, "swing_flexion", Decimal(8), course_of(view, "swing_flexion"), findings).chance)
    assert chances[1] < chances[0], "8 is the less likely to be right"


def test_how_a_finding_was_before_is_told_in_a_few_words():
    edition = load_edition()
    finding = next(f for f in edition.findings if f.key == HIGH)
    assert ways_of(finding) == ("seen", "felt")
    assert before_words([item(HIGH, "slight"), item(HIGH, "slight", "felt")], finding, edition) == "before: slight"
    assert before_words([item(HIGH, "marked"), item(HIGH, "none", "felt")], finding, edition) == "before: marked (seen)"
    assert before_words([item(HIGH, "none")], finding, edition) == "before: none"
    assert before_words([item(LOW, "slight")], finding, edition) == ""


def test_what_was_looked_for_and_not_found_is_left_out_of_the_list_of_what_was_there():
    desk = walking()
    trial = desk.walk("swing_flexion", "change", findings=[item(HIGH, "none"), item(LOW, "slight", "felt")])
    assert noticed_words(trial, desk.view) == ["heel rises too little, bending cut short: slight, felt"]


def test_a_turn_that_passes_a_position_with_a_slight_contrary_finding_says_so_and_why():
    desk = walking()
    for position, findings in (("12", [item(LOW, "slight")]), ("10", [item(HIGH, "marked")])):
        desk.turn("swing_flexion", position)
        desk.walk("swing_flexion", "change", findings=findings)
    view = desk.view
    course, known = course_of(view, "swing_flexion"), view.edition.findings_of("swing_flexion")
    passed = passed_over(view, "swing_flexion", course, Suggestion("turn", Decimal(13), HIGH))
    assert passed_over_words(passed, known) == (
        "Position 12 had a slight finding (heel rises too little, bending cut short); "
        "passed over because one slight finding alone does not settle that it is too high."
    )
    for other in (Suggestion("turn", Decimal(11), HIGH), Suggestion("turn", Decimal(12), HIGH), Suggestion("again", Decimal(10), HIGH)):
        assert passed_over(view, "swing_flexion", course, other) is None
    assert passed_over_words(None, known) == ""


def test_a_marked_contrary_finding_is_never_told_as_passed_over_for_being_slight():
    desk = walking()
    for position, findings in (("12", [item(LOW, "marked")]), ("10", [item(HIGH, "marked")])):
        desk.turn("swing_flexion", position)
        desk.walk("swing_flexion", "change", findings=findings)
    view = desk.view
    assert passed_over(view, "swing_flexion", course_of(view, "swing_flexion"), Suggestion("turn", Decimal(13), HIGH)) is None


def test_what_was_known_after_each_trial_is_told_for_the_latest_ones():
    desk = walking()
    for position in ("8", "11"):
        desk.turn("swing_flexion", position)
        desk.walk("swing_flexion", "change", findings=[item(HIGH, "marked")])
    view = desk.view
    course = course_of(view, "swing_flexion")
    assert [(b.low, b.high) for b in brackets_after(view, "swing_flexion", course, 8)] == [(8, None), (11, None)]
    assert len(brackets_after(view, "swing_flexion", course, 1)) == 1
    assert brackets_after(view, "swing_flexion", (), 8) == []


def test_a_speed_is_a_distance_over_a_time_and_none_without_either():
    assert walked_speed(Decimal("10"), Decimal("8.4")) == 10 / 8.4
    assert walked_speed(None, Decimal("8.4")) is None and walked_speed(Decimal("10"), Decimal(0)) is None
