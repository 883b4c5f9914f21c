"""Figures of timed walks and outcome measures on the page that the lead clinician reads."""

from __future__ import annotations

import html
import re

from shared_models.checks.walk_timing import timed_trial
from shared_models.entries.envelope import Subject
from shared_models.wording.timing_lines import timing_lines


def words_of(answer) -> str:
    """Return what a page says, without its markup."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


def contacts(count: int, longer_right_s: float = 0.0) -> str:
    at_s, found = 0.0, []
    for number in range(count):
        side = ("left", "right")[number % 2]
        at_s += 0 if not number else 0.6 + (longer_right_s if side == "right" else -longer_right_s)
        found.append(f"{side} {at_s:.3f}")
    return ", ".join(found)


def timing(trial, name: str, text: str) -> dict:
    return {
        "timing": name, "trial": trial.digest, "way": "level", "instrument": "thumb taps on the tablet",
        "event": "foot first touches the floor", "distance_m": "10", "contacts": text,
    }


def test_the_page_shows_the_same_figures_as_the_tablet(house, tablet):
    desk = tablet.desk
    entry = desk.note("walk_timing", timing(desk.head("trial/swing_flexion"), "one", contacts(24, 0.2)))
    desk.note("walk_timing", timing(desk.head("trial/final_walk"), "two", contacts(24)))
    assert desk.verdict().state == "complete", "a timing takes nothing from a complete fitting"
    assert tablet.push().status_code == 200
    said = words_of(house.lead().open())
    figures = timed_trial(desk.view, entry).figures
    for line in timing_lines(figures):
        assert line.what in said and (line.value in said) and line.says in said
    assert "Final walk, number 1" in said and "longer on the right, sound side" in said
    assert "Step time, symmetry index: changed since the timing before it" in said
    assert "coefficient of variation not shown: " in said


def test_a_timing_that_can_not_be_read_shows_its_sentence_and_the_page_stands(house, tablet):
    desk = tablet.desk
    desk.note("walk_timing", timing(desk.head("trial/swing_flexion"), "one", "left 3, right 1"))
    assert tablet.push().status_code == 200
    assert "comes before 3.0 s" in words_of(house.lead().open())


def test_outcome_measures_are_compared_with_the_persons_last_fitting(house, tablet):
    desk = tablet.desk
    desk.fitting = Subject("fitting", "fitting-2")
    desk.note("opened", {**desk.view.record.head(Subject("fitting", "fitting-1"), "opened").body})
    measures = {"timed_up_and_go_s": "6.3", "two_minute_walk_m": "150", "ten_metre_walk_s": "9.43", "socket_comfort_0_10": "8", "aid": "none"}
    desk.note("outcome_measures", {**measures, "ten_metre_timed_m": "10", "ten_metre_run_up_m": "2", "ten_metre_pace": "usual"})
    assert tablet.push().status_code == 200
    said = words_of(house.lead().open("fitting-2"))
    # 9.9 s in the fitting before; Resnik and Borgia 2011: 3.6 s is the smallest change that counts.
    assert re.search(r"Timed up and go 6\.3 s better since \d+ \w+ \d+ \(9\.9 s\): -3\.6 s; minimal detectable change 3\.6 s", said)
    assert "not changed since" in said and "within the minimal detectable change 34.3 m" in said
    # Batten et al. 2019: 1.06 m/s is the median of level 4 on leaving hospital; it sets no level here.
    assert "Ten-metre walk, speed 1.06 m/s" in said and "No level follows from a speed" in said
    assert "level 4" not in words_of(house.lead().open("fitting-2")).partition("published")[0].partition("Outcome measures")[2]
