"""The lead clinician's morning list: what waits, found and read page by page, each link to be kept or shared."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy import text, update

from shared_models.checks.lead_list import SYNC_OVERDUE_DAYS, awaited
from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import new_key
from shared_models.ledger.columns import SERVER
from shared_models.ledger.opening import open_store
from shared_models.ledger.judging_anew import judge_piece
from shared_models.ledger.server_read_rows import read_rows
from shared_models.ledger.tables import tablet_access
from shared_models.quantities.moments import moment_text, now_here
from shared_models.wording import morning as words
from shared_models.wording.dates import day_words
from sync_server.services.listing import BESIDE_OTHERS, ON_A_PAGE
from sync_server.services.station import Station
from tests.fitting_desk import CLINIC, LEAD, PROSTHETIST, Desk
from tests.sync_server.looked_over import findings_on
from tests.sync_server.test_in_a_browser import address, browser, log_in, picture, watched  # noqa: F401
from tests.sync_server.test_timings_on_the_page import words_of

both = pytest.mark.both_stores
TODAY = now_here().date()


def days_ago(days: int) -> str:
    return (TODAY - timedelta(days=days)).isoformat()


def look(house, status: int = 200, **said: str):
    answer = house.lead().client.get("/fittings", params=said)
    assert answer.status_code == status, answer.text[:400]
    return answer


def parts_of(answer) -> dict[str, list[str]]:
    """The names of people by the part that they stand in."""
    found = {}
    for key, inside in re.findall(r'<section aria-labelledby="part-(\w+)">(.*?)</section>', answer.text, re.S):
        found[key] = [unescape(n) for n in re.findall(r'<th scope="row"><a href="[^"]*">([^<]*)</a>', inside)]
    return found


def counts_of(answer) -> dict[str, int]:
    nav = re.search(r'<nav class="parts".*?</nav>', answer.text, re.S)[0]
    return {unescape(name): int(count) for name, count in re.findall(r">([^<>]+) <b>(\d+)</b>", nav)}


def next_of(answer) -> str:
    found = re.findall(r'<a class="plain-button" href="([^"]*after=[^"]*)"', answer.text)
    return unescape(found[0]) if found else ""


def thin(desk, number: int, by: str = PROSTHETIST, review_on: str = "", given: str = "Bo") -> Subject:
    """A fitting of somebody else, hardly begun."""
    fitting, person = Subject("fitting", f"thin-{number:03d}"), Subject("person", f"somebody-{number:03d}")
    desk.note("identity", {"given_name": given, "family_name": f"Sample-{number:03d}", "file_number": f"S-{number:03d}", "born_on": "1970-01-01"}, subject=person)
    desk.note("opened", {"person": person.id, "prosthetist": by, "side": "left"}, subject=fitting)
    if review_on:
        desk.note("review_plan", {"review_on": review_on}, subject=fitting)
    return fitting


@both
def test_what_was_sent_for_review_stands_first_and_says_since_when(house, tablet):
    assert tablet.push().status_code == 200
    page = look(house)
    assert parts_of(page) == {"waiting": ["Ash Example"]}
    assert f"waits since {day_words(TODAY)} (today)" in words_of(page)
    assert counts_of(page) == {
        words.PARTS[k]: 1 if k == "waiting" else 0 for k in words.PARTS
    }


@both
def test_a_returned_fitting_waits_for_its_answer_until_it_is_sent_again(house, tablet):
    tablet.push()
    lead = house.lead()
    lead.decide(lead.open(), "rejected", **{"remark-caps": "Cap loose."})
    assert parts_of(look(house)) == {"returned": ["Ash Example"]}
    tablet.take_all(), tablet.desk.caps(), tablet.push()
    assert parts_of(look(house)) == {"returned": ["Ash Example"]}, "mended, but not sent again"
    tablet.desk.walk("final_walk"), tablet.desk.request_review(), tablet.push()
    assert parts_of(look(house)) == {"waiting": ["Ash Example"]}


@both
def test_a_planned_review_is_overdue_from_the_day_after_and_until_a_later_visit(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("review_plan"), review_on=TODAY.isoformat())
    tablet.push()
    assert "overdue" not in parts_of(look(house)), "the day itself is in time"
    desk.correct(desk.head("review_plan"), review_on=days_ago(3))
    tablet.push()
    assert parts_of(look(house))["overdue"] == ["Ash Example"]
    assert f"review planned for {day_words(days_ago(3))} (3 days ago)" in words_of(look(house))
    desk.visit().asked()
    tablet.push()
    assert "overdue" not in parts_of(look(house)), "the person was seen again"


@both
def test_a_fall_stands_first_until_a_follow_up_at_any_visit_closes_it(house, tablet):
    desk = tablet.desk
    desk.event(injury="care", knee_involved="perhaps", happened_on=days_ago(9))
    desk.event("e2", what="fault", happened_on=days_ago(3))
    tablet.push()
    answer = look(house)
    assert list(parts_of(answer))[0] == "events" and counts_of(answer)["Falls and faults still open"] == 1
    said = words_of(answer)
    assert f"2 falls or faults open, 1 of them with harm that needed care, since {day_words(TODAY - timedelta(days=9))} (9 days ago)" in said
    # At a later visit it stands where the person was seen last, and only there.
    desk.visit().asked(falls="1")
    tablet.push()
    answer = look(house, show="events")
    assert parts_of(answer) == {"events": ["Ash Example"]} and 'href="/fittings/visit-1"' in answer.text
    assert 'href="/fittings/fitting-1"' not in answer.text
    desk.follow_up("e1")
    tablet.push()
    assert "1 fall or fault open, since" in words_of(look(house, show="events"))
    # Closed in the record of the fitting before, it is closed.
    desk.fitting = Subject("fitting", "fitting-1")
    desk.follow_up("e2")
    tablet.push()
    assert counts_of(look(house))["Falls and faults still open"] == 0


def test_a_store_made_before_falls_were_listed_lists_them_once_the_server_has_judged_anew(house, tablet):
    desk = tablet.desk
    desk.event(happened_on=days_ago(9))
    tablet.push()
    kept = read_rows_of(house)
    # As the migration leaves it: columns without anything in them, and the fitting marked.
    with house.station.store.writing() as connection:
        connection.execute(text("UPDATE read_standing SET open_events = 0, event_open_since = NULL"))
        connection.execute(text("INSERT INTO judge_anew (clinic, sort, subject) VALUES (:c, 'fitting', 'fitting-1')"), {"c": CLINIC})
    assert counts_of(look(house))["Falls and faults still open"] == 0
    with house.station.writing(CLINIC) as reading:
        judge_piece(reading, house.station.today())
    assert read_rows_of(house) == kept
    assert counts_of(look(house))["Falls and faults still open"] == 1


def read_rows_of(house):
    with house.station.store.reading() as connection:
        return read_rows(connection, CLINIC)["read_standing"]


@both
def test_two_corrections_of_one_entry_wait_until_one_is_chosen(house, tablet):
    desk = tablet.desk
    tablet.push()
    other = desk.beside("tablet-b")
    second = house.tablet(other)
    desk.stand("37"), other.stand("41")
    assert tablet.push().status_code == 200 and second.push().status_code == 200
    page = look(house)
    assert parts_of(page)["double"] == ["Ash Example"] and "1 place corrected twice" in words_of(page)
    tablet.take_all()
    desk.note("static_alignment", desk.view.heads("alignment/static")[0].body, settles=True)
    assert tablet.push().status_code == 200
    assert "double" not in parts_of(look(house))


def was_here(house, tablet: str, days: float) -> None:
    at = moment_text(now_here() - timedelta(days=days))
    with house.station.store.writing() as connection:
        connection.execute(update(tablet_access).where(tablet_access.c.tablet == tablet).values(last_here_at=at))


@both
def test_a_tablet_that_was_not_here_for_long_is_named_until_it_comes_again(house, tablet):
    tablet.push()
    assert words.TABLETS not in words_of(look(house))
    was_here(house, tablet.name, SYNC_OVERDUE_DAYS - 1)
    assert words.TABLETS not in words_of(look(house))
    was_here(house, tablet.name, SYNC_OVERDUE_DAYS)
    day = day_words(TODAY - timedelta(days=SYNC_OVERDUE_DAYS))
    assert words.TABLET.format(tablet=tablet.name, day=day, days=SYNC_OVERDUE_DAYS) in words_of(look(house))
    tablet.pull()
    assert words.TABLETS not in words_of(look(house)), "to ask is contact too, though it had nothing to send"
    was_here(house, tablet.name, 30)
    house.server.gate.revoke(tablet.name)
    assert words.TABLETS not in words_of(look(house)), "its access was taken away: nobody waits for it"


@both
def test_a_long_part_is_read_page_by_page_each_fitting_once(house, tablet):
    for number in range(ON_A_PAGE + 7):
        thin(tablet.desk, number, review_on=days_ago(1 + number % 5))
    assert tablet.push().status_code == 200
    beside = look(house)
    assert len(parts_of(beside)["overdue"]) == BESIDE_OTHERS
    assert counts_of(beside)[words.PARTS["overdue"]] == ON_A_PAGE + 7
    for show in ("overdue", "in_progress"):
        first = look(house, show=show)
        assert len(parts_of(first)[show]) == ON_A_PAGE
        second = house.lead().client.get(next_of(first))
        assert second.status_code == 200 and next_of(second) == ""
        names = parts_of(first)[show] + parts_of(second)[show]
        assert len(set(names)) == len(names) == ON_A_PAGE + 7
        assert house.lead().client.get(next_of(first)).text.count("<tr>") == second.text.count("<tr>"), "the link stays good"
    planned = re.findall(r"review planned for [^(]* \((\d) day", words_of(look(house, show="overdue")))
    assert planned == sorted(planned, reverse=True), "the longest overdue first"


@both
@pytest.mark.parametrize("search, found", [
    ("sample-001", ["Bo Sample-001"]), ("bo 001", ["Bo Sample-001"]), ("s-001", ["Bo Sample-001"]),
    ("somebody-002", ["José Sample-002"]), ("jose", ["José Sample-002"]), ("JOSÉ", ["José Sample-002"]),
    ("THIN-001", ["Bo Sample-001"]), ("Prosper", ["Ash Example", "Bo Sample-001"]), ("elm", ["Ash Example"]),
    ("f-7731", ["Ash Example"]), ("ash elm prosper", ["Ash Example"]), ("bo elm", []), ("%", []), ("_", []),
    ("ample", []), ("bo\0", ["Bo Sample-001"]), ("'; drop table entry", []), ("\U0010ffff", []),
])
def test_a_search_finds_by_person_fitting_prosthetist_and_component(house, tablet, search, found):
    desk = tablet.desk
    desk.correct(desk.head("component/foot"), serial="F-7731")
    thin(desk, 1), thin(desk, 2, by=LEAD, given="José")
    assert tablet.push().status_code == 200
    said = {name for names in parts_of(look(house, search=search)).values() for name in names}
    assert sorted(said) == found


@both
def test_the_list_is_narrowed_to_one_prosthetist_and_the_links_keep_it(house, tablet):
    thin(tablet.desk, 1), thin(tablet.desk, 2, by=LEAD)
    tablet.push()
    page = look(house, by=LEAD)
    assert parts_of(page) == {"in_progress": ["Bo Sample-002"]}
    links = [unescape(link) for link in re.findall(r'href="(/fittings\?[^"]*)"', page.text)]
    assert links and all(f"by={LEAD}" in link for link in links)
    assert parts_of(look(house, by=LEAD, show="in_progress", search="sample")) == {"in_progress": ["Bo Sample-002"]}


@both
@pytest.mark.parametrize("said, sentence", [
    ({"show": "no such part"}, "'no such part' is no part of this list."),
    ({"by": "staff-nobody"}, "There is no prosthetist 'staff-nobody'"),
    ({"show": "waiting", "after": "yesterday~fitting-1"}, words.BROKEN_PLACE),
    ({"show": "waiting", "after": "2026-01-01~fitting-1"}, words.BROKEN_PLACE),
    ({"show": "waiting", "after": "2026-01-01T00:00:00+00:00"}, words.BROKEN_PLACE),
    ({"show": "overdue", "after": "2026-13-01~fitting-1"}, words.BROKEN_PLACE),
    ({"show": "overdue", "after": "~" * 300}, words.BROKEN_PLACE),
    ({"after": "2026-01-01T00:00:00+00:00~fitting-1"}, words.BROKEN_PLACE),
])
def test_an_address_that_is_not_understood_is_said_and_the_list_is_shown(house, tablet, said, sentence):
    tablet.push()
    page = look(house, 400, **said)
    assert sentence in words_of(page)
    assert page.text.count('role="alert"') == 1
    assert said.get("show") == "overdue" or "Ash Example" in page.text


def test_only_the_lines_shown_are_noted_as_read(house, tablet):
    for number in range(BESIDE_OTHERS + 5):
        thin(tablet.desk, number, review_on=days_ago(2))
    tablet.push()
    before = len(house.audit(CLINIC))
    page = look(house)
    rows = [r for r in house.audit(CLINIC)[before:] if r.what == "list"]
    assert {r.subject for r in rows} == {f"fitting/{f}" for f in re.findall(r'href="/fittings/([\w-]+)"', page.text)}
    assert len(rows) == BESIDE_OTHERS + 1


@both
def test_each_part_is_read_along_an_index_and_never_the_whole_table(house, tablet):
    from shared_models.ledger import lead_queries

    tablet.push()
    with house.station.store.reading() as connection:
        wanted = lead_queries.Wanted(CLINIC, TODAY, (lead_queries.Word("ash", "ash"),))
        asked = []
        connection_execute = connection.execute
        if connection.dialect.name != "sqlite":
            connection.execute(text("SET LOCAL enable_seqscan = off"))
        for part in words.PARTS:
            statement = lead_queries.asked_for(wanted, part, 10, None)
            plain = statement.compile(connection, compile_kwargs={"literal_binds": True})
            how = "EXPLAIN QUERY PLAN " if connection.dialect.name == "sqlite" else "EXPLAIN "
            asked.append("\n".join(str(row[-1]) for row in connection_execute(text(how + str(plain).replace(":", r"\:")))))
    for plan in asked:
        assert "Seq Scan" not in plan and not re.search(r"SCAN read_", plan), plan


# Kept and made anew ------------------------------------------------------------------------

MOVES = ("open", "open again", "plan", "plan past", "ask", "rename", "twice", "withdraw")


@settings(max_examples=12, deadline=None, phases=(Phase.explicit, Phase.reuse, Phase.generate), suppress_health_check=[HealthCheck.too_slow])
@given(moves=st.lists(st.tuples(st.sampled_from(MOVES), st.integers(0, 2)), min_size=1, max_size=14),
       cuts=st.sets(st.integers(1, 40), max_size=4), turned=st.booleans())
def test_the_list_made_anew_from_entries_is_the_kept_one_whatever_was_done(tmp_path_factory, moves, cuts, turned):
    desk = Desk()
    for number, (move, which) in enumerate(moves):
        do(desk, move, which, number)
    entries = sorted(desk.record.entries.values(), key=lambda e: e.order)
    pieces = [entries[a:b] for a, b in zip([0, *sorted(cuts)], [*sorted(cuts), len(entries)]) if entries[a:b]]
    store = open_store(tmp_path_factory.mktemp("kept") / "s.sqlite", SERVER)
    station = Station(store, new_key())
    for piece in reversed(pieces) if turned else pieces:
        with station.writing(CLINIC) as reading:
            station.keep(reading, piece)
    kept = rows_of(store)
    station.rebuild(CLINIC)
    assert rows_of(store) == kept
    with station.writing(CLINIC) as reading:  # a store of before the list has no rows of it
        reading.connection.execute(text("DELETE FROM read_standing"))
    station.fill_lists()
    assert rows_of(store) == kept
    store.close()


def rows_of(store):
    with store.reading() as connection:
        return read_rows(connection, CLINIC)


def do(desk: Desk, move: str, which: int, number: int) -> None:
    person, fitting = Subject("person", f"p{which}"), Subject("fitting", f"f{which}")
    if move == "open" or move == "open again":
        at = Subject("fitting", f"f{number}") if move == "open again" else fitting
        desk.note("opened", {"person": person.id, "prosthetist": PROSTHETIST, "side": ("left", "right")[which % 2]}, subject=at, settles=True)
    elif move in ("plan", "plan past"):
        desk.note("review_plan", {"review_on": days_ago(4 if move == "plan past" else -4)}, subject=fitting, settles=True)
    elif move == "ask":
        desk.note("review_requested", {}, subject=fitting, settles=True)
    elif move == "rename":
        desk.note("identity", {"given_name": f"Given{number}", "family_name": "Sample"}, subject=person, settles=True)
    elif move == "twice":
        other = desk.beside(f"tablet-{number}")
        desk.note("limb", {"note": "one"}, subject=fitting, settles=True)
        desk.record.add([other.note("limb", {"note": "two"}, subject=fitting, settles=True)])
    elif move == "withdraw":
        held = desk.record.slot(fitting, "review_plan").heads()
        if held and held[-1].kind == "review_plan":
            desk.withdraw(held[-1])


VISITS = st.lists(st.tuples(st.sampled_from(["left", "right"]), st.integers(0, 9), st.one_of(st.none(), st.sampled_from(["2026-01-02", "soon", ""]))), max_size=8)


@given(VISITS, st.randoms())
def test_only_the_latest_visit_of_a_side_awaits_its_review_in_whatever_order_they_came(found, random):
    visits = [(f"f{n}", side, f"2025-01-01T00:00:0{at}+00:00", day) for n, (side, at, day) in enumerate(found)]
    still = awaited(visits)
    mixed = list(visits)
    random.shuffle(mixed)
    assert awaited(mixed) == still
    for side in ("left", "right"):
        newest = max(((v[2], v[0], v[3]) for v in visits if v[1] == side), default=None)
        assert {f: d for f, d in still.items() if (f, side) in {(v[0], v[1]) for v in visits}} == (
            {newest[1]: newest[2]} if newest and newest[2] == "2026-01-02" else {})


def test_moments_of_other_offsets_are_compared_as_moments():
    late, early = "2026-01-01T01:00:00+00:00", "2026-01-01T02:00:00+05:00"
    assert awaited([("a", "left", late, "2026-02-01"), ("b", "left", early, "2026-03-01")]) == {"a": "2026-02-01"}
    assert awaited([("a", "left", "0001-01-01T00:00:00+14:00", "2026-02-01")]) == {"a": "2026-02-01"}


# In a browser ------------------------------------------------------------------------------

@pytest.mark.browser
def test_the_morning_list_is_worked_through_with_the_keyboard_and_the_back_button(
    house, tablet, address, browser  # noqa: F811
):
    desk = tablet.desk
    for number in range(BESIDE_OTHERS + 3):
        thin(desk, number, review_on=days_ago(1 + number))
    tablet.push()
    other = desk.beside("tablet-b")
    second = house.tablet(other)
    desk.stand("37"), other.stand("41")
    assert tablet.push().status_code == 200 and second.push().status_code == 200
    was_here(house, "tablet-b", 20)
    page, complaints = watched(browser)
    log_in(page, address)
    page.get_by_role("heading", name=words.TITLE).wait_for()
    assert findings_on(page) == []
    picture(page, "morning-list")
    page.set_viewport_size({"width": 390, "height": 844})
    assert findings_on(page) == []
    page.set_viewport_size({"width": 1280, "height": 900})

    page.get_by_label(words.SEARCH).fill("sample")
    page.keyboard.press("Enter")
    page.wait_for_url("**search=sample**")
    page.get_by_role("navigation", name="Parts of the list").get_by_role("link", name=words.PARTS["overdue"]).focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**show=overdue**")
    assert "search=sample" in page.url and page.locator("tbody tr").count() == BESIDE_OTHERS + 3
    picture(page, "morning-overdue")
    page.go_back()
    page.wait_for_url(lambda url: "show=overdue" not in url)
    assert page.get_by_label(words.SEARCH).input_value() == "sample"
    page.goto(f"{address}/fittings?show=nothing-such")
    page.get_by_role("alert").wait_for()
    picture(page, "morning-not-understood")
    page.goto(f"{address}/fittings")
    page.emulate_media(media="print")
    assert page.locator(".parts").is_hidden() and page.locator("#part-waiting").is_visible()
    assert [c for c in complaints if "400" not in c] == []
