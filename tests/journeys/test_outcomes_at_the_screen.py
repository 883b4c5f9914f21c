"""Outcome measures on their page are held against the same person's last fitting, and nobody else's."""

from __future__ import annotations

import pytest

from shared_models.entries.envelope import Subject
from tests.journeys.at_work import alone, open_fitting, record


@pytest.fixture
def at_work(tmp_path):
    """A tablet alone, with the outcome of one fitting and three other people's fittings."""
    tablet, session = alone(tmp_path / "tablet")
    fitting = open_fitting(session, "D-1")
    record(session, fitting, "outcome")
    others = [open_fitting(session, f"D-{number}") for number in (2, 3, 4)]
    yield tablet, session, fitting, others
    tablet.close()


def second_fitting(session, fitting) -> str:
    """Open another fitting for the same person, slower to get up and go."""
    opened = session.fitting(fitting).head("opened")
    session.save("opened", Subject("fitting", "fitting-again"), dict(opened.body))
    record(session, "fitting-again", "outcome", timed_up_and_go_s="14.9")
    session.summaries()
    session.work_out_summaries(20)  # as the list does between two frames
    return "fitting-again"


def test_the_page_of_outcomes_reads_no_fitting_of_another_person(at_work, monkeypatch):
    _tablet, session, fitting, others = at_work
    again = second_fitting(session, fitting)
    read, whole = [], type(session).fitting
    monkeypatch.setattr(type(session), "fitting", lambda own, key: read.append(key) or whole(own, key))
    found = session.others_of_person(session.fitting(again))
    assert [view.subject.id for view in found] == [fitting]
    assert set(read) == {again, fitting} and not set(read) & set(others)


def test_a_measure_is_held_against_the_persons_last_fitting_on_its_page(at_work, on_screen, finger):
    tablet, session, fitting, _others = at_work
    again = second_fitting(session, fitting)
    stage = on_screen(tablet, session)
    stage.go_fitting(again, "outcome", "outcome")
    finger.settle()
    assert "worse since" in finger.find("outcome:2").subtitle and "+5.0 s" in finger.find("outcome:2").subtitle
