"""The clinic's list: what came back, today's people, what waits, and finding one of many."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shared_models.checks.summarising import FittingSummary, followed_where_newest
from mobile.flows.home_groups import ACCEPTED, ALL, BACK, FOLLOW, OPEN, READY, TODAY, UNSENT, WAITING
from mobile.flows.home_groups import SearchIndex, filters, group_of, is_unsent, line, lines
from shared_models.entries.envelope import Subject
from tests.journeys.at_work import alone, open_fitting, record
from tests.journeys.ways import LANDSCAPE, PORTRAIT, assert_in_sight

DAY = "2026-06-01"
PLAIN = FittingSummary(
    fitting="f-1", person="p-1", given_name="Åsa", family_name="Exämple", born_on="1990-02-03",
    file_number="D-77", side="left", amputation_level="transfemoral", edition="2026.1", state="incomplete",
    next_step="static", review="", changed_since_review=False, restricted=False, opened_on="2026-05-01",
    touched_on="2026-05-02", review_on="", judged_on=DAY, own_newest=9,
)


@pytest.fixture
def clinic(tmp_path):
    """A tablet with the demo clinic, its prosthetist at work."""
    tablet, session = alone(tmp_path)
    yield tablet, session
    tablet.close()


@pytest.fixture
def summary():
    from shared_models.catalogue.edition import load_edition

    return replace(PLAIN, edition=load_edition().name)


@pytest.mark.parametrize(("changed", "group"), [
    ({}, OPEN),
    ({"touched_on": DAY}, TODAY),
    ({"state": "complete", "next_step": "", "review_on": DAY, "review": "requested"}, TODAY),
    ({"state": "complete", "next_step": ""}, READY),
    ({"state": "complete", "next_step": "", "review": "requested"}, WAITING),
    ({"state": "complete", "next_step": "", "review": "accepted"}, ACCEPTED),
    ({"state": "complete", "review": "accepted", "review_on": DAY}, ACCEPTED),
    ({"review": "rejected"}, BACK),
    ({"review": "rejected", "touched_on": DAY}, BACK),
    ({"review": "disputed"}, BACK),
    # A fall that nobody has followed up is not buried among what was accepted long ago.
    ({"state": "complete", "next_step": "", "review": "accepted", "open_events": 1}, FOLLOW),
    ({"open_events": 1, "touched_on": DAY}, TODAY),
    ({"review": "rejected", "open_events": 1}, BACK),
    # Taken up again after it came back: it is no longer what was returned.
    ({"review": "rejected", "changed_since_review": True, "touched_on": DAY}, TODAY),
    ({"state": "complete", "next_step": "", "review": "accepted", "changed_since_review": True}, READY),
])
def test_a_fitting_stands_in_the_one_group_that_says_what_it_waits_for(summary, changed, group):
    assert group_of(replace(summary, **changed), DAY) == group


def test_each_group_has_its_heading_and_number_and_no_fitting_stands_twice(summary):
    all_ = [
        replace(summary, fitting=f"f-{n}", review=review)
        for n, review in enumerate(("", "rejected", "requested", "", "rejected"))
    ]
    all_[2] = replace(all_[2], state="complete", next_step="")
    shown = lines(all_, DAY, acknowledged=99)
    assert [said.title for said in shown if not said.fitting] == ["Came back · 2", "Not finished · 2", "Waiting for review · 1"]
    assert sorted(said.fitting for said in shown if said.fitting) == [s.fitting for s in all_]
    assert [said.fitting for said in lines(all_, DAY, 99, BACK)][1:] == ["f-1", "f-4"]


def test_a_fall_that_nobody_followed_up_is_said_where_the_person_was_seen_last(summary):
    first = replace(summary, fitting="f-1", state="complete", next_step="", review="accepted", open_events=2, serious_events=1)
    visit = replace(first, fitting="f-2", after="f-1", open_events=1, serious_events=0)
    seen = followed_where_newest([visit, first])
    assert [(s.fitting, s.open_events, group_of(s, DAY)) for s in seen] == [("f-2", 1, FOLLOW), ("f-1", 0, ACCEPTED)]
    said = line(seen[0], 99)
    assert (said.trailing, said.mark) == ("1 fall or fault open", "stale")
    assert line(followed_where_newest([first])[0], 99).trailing == "1 fall or fault with harm open"
    assert lines(seen, DAY, 99)[0].title == "Falls and faults to follow up · 1"
    assert line(replace(visit, next_step="static"), 99).subtitle.startswith("1 fall or fault open · file D-77")


def test_the_list_of_the_tablet_keeps_a_fall_in_sight_until_it_is_closed(clinic):
    tablet, session = clinic
    fitting = open_fitting(session, "D-7")
    subject = Subject("fitting", fitting)
    session.save("adverse_event", subject, {
        "event": "e1", "what": "fall", "during": "kerb", "injury": "none", "follow_up": "look at the knee", "happened_on": "2026-01-02",
    })
    visit = Subject("fitting", "visit-1")
    session.save("opened", visit, {**session.fitting(fitting).opened.body, "after": fitting})
    here = {s.fitting: s.open_events for s in followed_where_newest(session.summaries())}
    assert here == {"visit-1": 1, fitting: 0}
    session.save("event_follow_up", visit, {"event": "e1", "what": "sound", "told": "", "closes": True})
    assert {s.open_events for s in followed_where_newest(session.summaries())} == {0}


def test_what_the_server_has_not_named_is_marked_unsent(summary):
    assert is_unsent(summary, acknowledged=8) and not is_unsent(summary, acknowledged=9)
    assert "not yet sent" in line(summary, 8).subtitle and "not yet sent" not in line(summary, 9).subtitle
    assert (UNSENT, "Unsent 1") in filters([summary, replace(summary, fitting="f-2", own_newest=0)], DAY, 8)


def test_the_list_offers_no_choice_where_there_is_nothing_to_tell_apart(summary):
    assert filters([summary], DAY, 9) == []
    assert [key for key, _ in filters([summary, replace(summary, review="rejected")], DAY, 9)] == [ALL, BACK, OPEN]


@pytest.mark.parametrize("typed", ["åsa", "ASA", "exam", "d-77", "exam asa", "1990-02"])
def test_a_search_finds_a_person_however_the_name_is_written(summary, typed):
    index = SearchIndex([summary, replace(summary, fitting="f-2", given_name="Bo", family_name="Other", file_number="D-8", born_on="1970-01-01")])
    assert [s.fitting for s in index.narrowed(typed)] == ["f-1"]


def test_several_people_are_fitted_in_one_day_and_each_is_taken_up_where_it_was_left(
    clinic, on_screen, finger
):
    tablet, session = clinic
    first, second = open_fitting(session, "D-6201"), open_fitting(session, "D-6202")
    stage = on_screen(tablet, session)
    stage.go_home()
    finger.settle()
    finger.tap(f"fitting:{first}")
    stage.go_fitting(first, "person", "body")
    finger.settle()
    from mobile.rehearsal.hands import Hands

    Hands(finger).enter("body_mass_kg", "81")
    finger.tap("header:leave")
    finger.tap(f"fitting:{second}")
    assert stage.page.fitting == second
    finger.tap("header:leave")
    finger.tap(f"fitting:{first}")
    assert stage.page.slot == "body", "what was being typed is taken up again"
    assert finger.find("field:body_mass_kg").text == "81"


def test_the_list_says_what_is_next_and_follows_what_was_recorded(clinic, on_screen, finger):
    tablet, session = clinic
    fitting = open_fitting(session, "D-6203")
    stage = on_screen(tablet, session)
    stage.go_home()
    finger.settle()
    assert finger.find(f"fitting:{fitting}").trailing == "next: Person"
    for slot in ("body", "activity", "limb", "footwear", "consent"):
        record(session, fitting, slot)
    stage.go_home()
    finger.settle()
    assert finger.find(f"fitting:{fitting}").trailing == "next: Components"


def test_one_of_many_is_found_by_typing_and_only_what_is_in_sight_is_made(clinic, on_screen, finger):
    tablet, session = clinic
    wanted = open_fitting(session, "D-6300")
    for number in range(1, 60):
        open_fitting(session, f"D-{6300 + number}")
    stage = on_screen(tablet, session)
    stage.go_home()
    finger.settle()
    finger.wait_for(lambda: len(finger.find("fittings").data) > 60, what="the whole list")
    made = [w for w in finger.find_all("fitting:")]
    assert 0 < len(made) < 30
    from mobile.rehearsal.hands import Hands

    Hands(finger).enter("search", "6300")
    finger.settle()
    assert [w.test_name for w in finger.find_all("fitting:")] == [f"fitting:{wanted}"]
    finger.tap(f"fitting:{wanted}")
    assert stage.page.fitting == wanted


@pytest.mark.parametrize("size", [LANDSCAPE, PORTRAIT])
def test_a_field_that_is_refused_comes_into_sight_wherever_the_form_stood(clinic, on_screen, finger, window, size):
    tablet, session = clinic
    stage = on_screen(tablet, session)
    window.set_size(*size)
    from mobile.widgets.theme import theme

    theme.font_scale = 1.5
    stage.go_home()
    finger.tap("main")
    stage.page.body.parent.scroll_y = 0
    finger.settle()
    finger.tap("save")
    finger.settle()
    refused = finger.find("field:family_name")
    assert refused.message and refused.message_kind == "refusal"
    assert_in_sight(refused)


def test_a_fitting_that_is_left_while_its_page_still_comes_stays_left(clinic, on_screen, finger):
    tablet, session = clinic
    first, second = open_fitting(session, "D-6401"), open_fitting(session, "D-6402")
    stage = on_screen(tablet, session)
    stage.go_home()
    finger.settle()
    home = stage.page
    home.list.dispatch("on_choose", first)
    stage.go_lock()  # before the page stands
    finger.settle()
    assert type(stage.page).__name__ == "LockPage"
    stage.unlocked(session)
    stage.go_home()
    finger.settle()
    stage.page.list.dispatch("on_choose", first)
    finger.pump(2)  # the page stands, its content does not
    stage.go_home()
    stage.page.list.dispatch("on_choose", second)
    finger.settle()
    assert stage.page.fitting == second and stage.page.step_key
    assert len(finger.find_all("step_rail:")) == len(stage.page.verdict.steps) + 1
    stage.page.show_cards()
    assert finger.find_all("card:"), "later moves on the page are whole at once"


def test_a_search_that_finds_nobody_says_so_and_an_empty_clinic_says_how_to_begin(clinic, on_screen, finger):
    tablet, session = clinic
    stage = on_screen(tablet, session)
    stage.go_home()
    finger.settle()
    assert finger.sees("No fitting yet. Begin with 'New fitting'.")
    open_fitting(session, "D-6204")
    stage.go_home()
    finger.settle()
    from mobile.rehearsal.hands import Hands

    Hands(finger).enter("search", "nobody at all")
    finger.settle()
    assert finger.sees("Nobody fits this search.")
