"""Random but possible things that people do to a fitting, for the property tests.

A move is a name, a number that picks among what is there, and the tablet it
happens on.  A move that the program refuses (settle first, already replaced)
is a move that does not happen.
"""

from __future__ import annotations

import functools

import uuid6
from hypothesis import strategies as st

from shared_models.catalogue.sheets import demo_sheet
from shared_models.entries.composing import ChainEnd
from shared_models.entries.envelope import Entry, Subject, entry_from
from shared_models.quantities.refusals import Refusal
from tests.fitting_desk import CLINIC, LEAD, PROSTHETIST, TECHNICIAN, Desk, undrawn

FUNCTIONS = ("stance_threshold", "swing_flexion", "swing_extension", "stance_damping")
TRIALS = FUNCTIONS[:3] + ("ramp", "low_steps", "stairs", "final_walk")
OUTCOMES = ("confirmed", "change", "stopped")
#: For each kind, a field that a slip of the finger may change, and to what.
SLIPS = {
    "body": ("body_mass_kg", "83.0"), "footwear": ("shoe_heel_height_mm", "11"),
    "component": ("serial", "K-7"), "setting": ("position", "3"), "identity": ("given_name", "Ashe"),
    "torque_final": ("wrench", "W2"), "static_alignment": ("load_line_offset_mm", "35"),
}


@functools.cache
def _finished() -> Desk:
    return Desk.finished()


def finished_desks(*tablets: str, desk_class: type[Desk] = Desk) -> list[Desk]:
    """Return tablets that all know one complete fitting, and nothing of each other."""
    desks = []
    for tablet in tablets:
        beside = _finished().beside(tablet)
        desk = desk_class(tablet, beside.record, dict(_finished().keys))
        desk.author.end = ChainEnd(CLINIC, tablet)
        desk.author.clock.see(_finished().author.clock.last)
        desks.append(desk)
    return desks


def pick(items, number: int):
    """Return one of the items, whatever the number."""
    return items[number % len(items)]


def held(desk: Desk) -> list[tuple[str, Entry]]:
    """Every slot of the fitting with each entry that holds it now."""
    names = sorted(desk.record.slots(desk.fitting))
    found = [(n, h) for n in names for h in desk.view.heads(n)]
    return [(n, h) for n, h in found if h.kind in desk.view.edition.kinds and desk.record.kind_of(h)]


def strange(desk: Desk, kind: str, body: dict, replaces: tuple[str, ...] = (), version: int = 1, **more) -> Entry:
    """Keep an entry that this program did not compose: a kind of its own, or a body."""
    by = max(desk.record.entries.values(), key=lambda e: e.order)
    return desk.keep(entry_from({
        **by.envelope, "id": str(uuid6.uuid7()), "kind": kind, "kind_version": version,
        "subject": {"type": "fitting", "id": desk.fitting.id}, "body": body,
        "tablet": desk.author.end.tablet, "number": desk.author.end.number + 1,
        "previous": desk.author.end.digest, "clock": desk.author.clock.tick(),
        "rests_on": [], "replaces": sorted(replaces),
        "because": {"code": "changed", "note": ""} if replaces else {}, **more,
    }))


def turn(desk: Desk, n: int) -> None:
    desk.turn(pick(FUNCTIONS, n), str(n % 9))


def walk(desk: Desk, n: int) -> None:
    outcome = pick(OUTCOMES, n // 7)
    more = {"stop_reason": "pain"} if outcome == "stopped" else {}
    desk.walk(pick(TRIALS, n), outcome, **more)


def correct(desk: Desk, n: int) -> None:
    _, wrong = pick(held(desk), n)
    field, value = SLIPS.get(wrong.kind, ("note", str(n)))
    desk.correct(wrong, **{field: value})


def withdraw(desk: Desk, n: int) -> None:
    places = [(slot, h) for slot, h in held(desk) if slot != "opened"]
    desk.withdraw(pick(places, n)[1])


def again(desk: Desk, n: int) -> None:
    _, head = pick([(s, h) for s, h in held(desk) if s not in ("sign_off", "review")], n)
    desk.note(head.kind, dict(head.body))


def slacken(desk: Desk, n: int) -> None:
    # A visit whose opening is in dispute has no parts of the one before, and no screws.
    if desk.view.screws():
        desk.note("screw_moved", {"screw": pick(desk.view.screws(), n).key, "what": "slackened", "why": "turned"})


def tighten(desk: Desk, n: int) -> None:
    if desk.view.screws():
        desk.tighten(pick(desk.view.screws(), n).key)


def sign(desk: Desk, n: int) -> None:
    desk.sign_off(pick((TECHNICIAN, PROSTHETIST, LEAD), n))


def restrict(desk: Desk, n: int) -> None:
    what = pick(("ramp", "low_steps", "stairs"), n)
    desk.note("restriction", {"what": what, "because": "no_place", "follow_up_on": "2999-01-01"})


def answer(desk: Desk, n: int) -> None:
    stops = desk.view.unanswered_stops()
    if stops:
        desk.note("stop_answered", {"stopped": pick(stops, n).digest, "restored": n % 2 == 0})


def exchange_foot(desk: Desk, n: int) -> None:
    body = undrawn(demo_sheet("foot_elm")) | {"sheet": f"demo-foot-{n % 3}"}
    body["screws"] = [dict(body["screws"][0], key=pick(("front", "toe", "heel"), n))]
    subject = Subject("component_sheet", body["sheet"])
    desk.component("foot", desk.note("component_sheet", body, by=LEAD, subject=subject), str(n))


def unknown(desk: Desk, n: int) -> None:
    _, head = pick(held(desk), n)
    strange(desk, "film_of_gait", {"position": "2", "outcome": "stopped"}, (head.digest,) if n % 2 else ())


def newer(desk: Desk, n: int) -> None:
    _, head = pick(held(desk), n)
    strange(desk, head.kind, {"figure": {"of": "another form"}}, (head.digest,), version=9)


def settle(desk: Desk, n: int) -> None:
    disputed = [s for s in desk.record.slots(desk.fitting) if len(desk.view.heads(s)) > 1]
    if disputed:
        sides = [h for h in desk.view.heads(pick(sorted(disputed), n)) if desk.record.kind_of(h)]
        if sides:
            side = pick(sides, n // 3)
            desk.note(side.kind, dict(side.body), settles=True)


def review(desk: Desk, n: int) -> None:
    desk.request_review() if n % 2 else desk.decide(pick(("accepted", "rejected"), n // 2))


def set_aside(desk: Desk, n: int) -> None:
    desk.note(pick(("waiver", "not_applicable"), n), {"step": pick(("outcome", "sign_off"), n // 2), "because": "no stop watch"})


MOVES = {
    f.__name__: f for f in (
        turn, walk, correct, withdraw, again, slacken, tighten, sign, restrict,
        answer, exchange_foot, unknown, newer, settle, review, set_aside,
    )
}


def moves(tablets: int = 2, most: int = 12):
    """A strategy: a list of (name of a move, number, tablet)."""
    names = st.sampled_from([*MOVES, "exchange_all"] if tablets > 1 else list(MOVES))
    one = st.tuples(names, st.integers(0, 10_000), st.integers(0, tablets - 1))
    return st.lists(one, min_size=1, max_size=most)


def play(desks: list[Desk], played: list[tuple[str, int, int]]) -> None:
    """Make the moves; what is refused does not happen."""
    for name, number, tablet in played:
        if name == "exchange_all":
            desks[tablet].take(desks[1 - tablet])
            continue
        try:
            MOVES[name](desks[tablet], number)
        except Refusal:
            continue


#: Each move twice, on either tablet, with an exchange between: tried every time.
EVERY_MOVE = [
    *((name, 3 * n, n % 2) for n, name in enumerate(MOVES)), ("exchange_all", 0, 0),
    *((name, 5 * n + 1, n % 2) for n, name in enumerate(MOVES)),
    ("turn", 1, 0), ("turn", 1, 1),
]
