"""Weeks of work over a weak line that is cut again and again: it ends, and little goes in vain."""

from __future__ import annotations

from tests.faults import moves, rows_link
from tests.faults.schedules import Tally


def test_three_tablets_that_were_away_agree_over_one_weak_line_with_photos(ground):
    tally = Tally()
    rows_link.weak_link(ground, tally, float("inf"), entries=100, photos=6)
    assert tally.broken == [] and tally.runs == 1
    assert (tally.lost, tally.doubled, tally.apart) == (0, 0, 0)


def test_after_a_page_was_cut_off_fewer_items_are_asked_for_until_all_is_here(world):
    first, behind, _ = world.tablets
    asked = []
    carried = behind.link._carry
    behind.link._carry = lambda a, early: (asked.append(a.url), carried(a, early))[1]
    for weights in ({}, {"drop_response": 1.0}, {"drop_response": 1.0}, {}, {}):
        moves.record(world, first)
        world.sync(first)
        # The line holds for the standing, and is cut while the page comes.
        behind.link._fate = lambda a, w=weights: "drop_response" if w and "/entries?" in a.url else ""
        world.sync(behind)
    limits = [int(url.rpartition("limit=")[2]) for url in asked if "/entries?" in url]
    assert limits == [500, 500, 125, 50, 100]
    assert behind.session.entries.fingerprint("clinic-of-faults") == first.session.entries.fingerprint("clinic-of-faults")
