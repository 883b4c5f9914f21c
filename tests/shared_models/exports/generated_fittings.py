"""Fittings and later visits that grew on two tablets, for what every export must bear."""

from __future__ import annotations

import random
from datetime import timedelta

from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import now_here
from shared_models.quantities.refusals import Refusal
from tests.fitting_desk import Desk
from tests.properties.desk_moves import EVERY_MOVE, finished_desks, pick, play

PLACES = ("foot", "knee", "tube")


def _event(desk: Desk, n: int) -> None:
    what, knee = pick(("fall", "near_fall", "fault", "pain"), n), pick(("yes", "perhaps", "no", "not_known"), n // 3)
    desk.event(f"e{n % 5}", what=what, injury=pick(("none", "minor", "care", "serious"), n // 2), knee_involved=knee)


def _follow_up(desk: Desk, n: int) -> None:
    desk.follow_up(f"e{n % 5}", closes=n % 3 > 0)


def _found(desk: Desk, n: int) -> None:
    desk.found(swing_flexion=str(n % 9))


def _serviced(desk: Desk, n: int) -> None:
    day = (now_here().date() - timedelta(days=n % 40)).isoformat()
    desk.note("service", {"place": pick(PLACES, n), "serviced_on": day, "done": "seals looked at", "done_by": "the maker"})


def _exchanged(desk: Desk, n: int) -> None:
    place = pick(PLACES, n)
    desk.note("part_out", {
        "place": place, "serial": "none marked", "reason": pick(("worn", "leak", "recall"), n),
        "condition": "worn", "goes_to": pick(("kept", "maker"), n),
    })
    sheet = pick([e for e in desk.record.entries.values() if e.kind == "component_sheet" and e.body["part"] == place], n)
    desk.component(place, sheet, f"N-{n}")


def _telephoned(desk: Desk, n: int) -> None:
    head = desk.view.head("identity")
    if head is not None:  # two tablets' corrections made apart are left to be settled
        desk.correct(head, telephone=f"+44 1632 960{n % 1000:03d}")


def _measured(desk: Desk, n: int) -> None:
    desk.note("outcome_measures", {"timed_up_and_go_s": str(8 + n % 7), "two_minute_walk_m": str(110 + n), "aid": "none"})


VISIT_MOVES = (_event, _follow_up, _found, _serviced, _exchanged, _measured, _telephoned)


def grown(chance: random.Random) -> list[Desk]:
    """Return two tablets that know the same: of three, one stays a fitting, the others have a visit, or two."""
    desks = finished_desks("tablet-a", "tablet-b")
    for number in range(chance.randint(0, 2)):
        desks[0].visit(f"visit-{number + 1}").asked(falls=str(number)).compared()
        desks[1].take(desks[0])
        desks[1].author.clock.see(desks[0].author.clock.last)
        desks[1].fitting = desks[0].fitting
        for _ in range(chance.randint(2, 8)):
            try:
                pick(VISIT_MOVES, chance.randint(0, 99))(pick(desks, chance.randint(0, 1)), chance.randint(0, 90))
            except Refusal:
                continue
        desks[0].take(desks[1])
    play(desks, [(chance.choice(EVERY_MOVE)[0], chance.randint(0, 90), chance.randint(0, 1)) for _ in range(chance.randint(0, 25))])
    desks[0].take(desks[1])
    return desks


def views_of(desk: Desk) -> list[FittingView]:
    """Return the fitting and each visit after it."""
    view = desk.view
    found = [view]
    while found[0].former is not None:
        found.insert(0, found[0].former)
    return found
