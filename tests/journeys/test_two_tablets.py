"""Two tablets change the same fitting apart; nothing is hidden, a named person settles it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from mobile.flows.people import NewFitting
from mobile.rehearsal import person
from tests.journeys.at_work import (
    PROSTHETIST,
    correct,
    joined,
    must_be_sound,
    open_fitting,
    record,
    server_digest,
    sync,
    to_the_bench,
)

VALVE = "setting/swing_flexion"
_numbers = iter(range(1, 100))


@pytest.fixture
def pair(server, new_code, tmp_path):
    """Two tablets of one clinic that know the same fitting, as far as the bench."""
    number = next(_numbers)
    tablets = []
    for name in ("a", "b"):
        tablets.append(joined(
            tmp_path / name, server.address, new_code(), f"tablet-{name}-{number}"
        ))
    (tablet_a, a), (tablet_b, b) = tablets
    fitting = open_fitting(a, f"D-30{number:02}")
    to_the_bench(a, fitting)
    for session in (a, b):
        sync(session)
    assert b.fitting(fitting).head(VALVE).body["position"] == "8"
    yield SimpleNamespace(
        a=a, b=b, tablet_a=tablet_a, tablet_b=tablet_b, fitting=fitting,
        meet=lambda: [sync(session) for session in (a, b, a)],
    )
    tablet_a.close()
    tablet_b.close()


def agree(pair) -> None:
    """Tablet A, tablet B and the server judge the fitting alike, to the figure."""
    digests = {pair.a.verdict(pair.fitting).digest, pair.b.verdict(pair.fitting).digest,
               server_digest(pair.a, pair.fitting)}
    assert len(digests) == 1
    for session in (pair.a, pair.b):
        must_be_sound(session)


def step_of(session, fitting, slot):
    view = session.fitting(fitting)
    key = view.edition.step_of_slot(slot).key
    return key, session.verdict(fitting).step(key)


def disputed_on_both(pair, slot, field, figures) -> None:
    for session in (pair.a, pair.b):
        view = session.fitting(pair.fitting)
        assert sorted(head.body[field] for head in view.heads(slot)) == sorted(figures)
        assert view.head(slot) is None
        _, step = step_of(session, pair.fitting, slot)
        assert step.state == "disputed"


def open_dispute(stage, finger, fitting, slot) -> None:
    key, _ = step_of(stage.session, fitting, slot)
    stage.go_fitting(fitting)
    finger.settle()
    if stage.page.step_key != key:  # the step at hand would say why it stands so
        finger.tap(f"step_rail:{key}")
    if finger.is_there(f"card:{slot}"):
        finger.tap(f"card:{slot}")


def press_the_one(finger, words) -> None:
    """Press 'this one stands' beneath the version whose banner says these words."""
    banner, = [b for b in finger.find_all("stands:") if hasattr(b, "lead") and words in b.text]
    finger.tap(f"{banner.test_name}:act")


def test_a_valve_turned_apart_is_disputed_on_both_tablets_until_a_person_says_which_stands(
    pair, on_screen, finger
):
    turned_a = record(pair.a, pair.fitting, VALVE, position="9", reason="trial")
    turned_b = record(pair.b, pair.fitting, VALVE, position="7", reason="trial")
    pair.meet()
    disputed_on_both(pair, VALVE, "position", ["7", "9"])
    agree(pair)

    stage = on_screen(pair.tablet_b, pair.b)
    open_dispute(stage, finger, pair.fitting, VALVE)
    assert finger.sees("Changed apart")
    banners = [b for b in finger.find_all("stands:") if hasattr(b, "lead")]
    said = " ".join(b.text for b in banners)
    assert len(banners) == 2 and "9" in said and "7" in said, said
    press_the_one(finger, "9")

    settled = pair.b.fitting(pair.fitting).head(VALVE)
    assert settled.body["position"] == "9"
    assert settled.because_code == "settled"
    assert settled.recorded_by == PROSTHETIST
    assert set(settled.replaces) == {turned_a.digest, turned_b.digest}
    pair.meet()
    for session in (pair.a, pair.b):
        view = session.fitting(pair.fitting)
        assert view.head(VALVE).digest == settled.digest
        assert {turned_a.digest, turned_b.digest} <= set(view.slot(VALVE).entries)
        assert step_of(session, pair.fitting, VALVE)[1].state != "disputed"
    agree(pair)


def test_two_corrections_of_one_body_mass_stay_both_readable_until_one_is_chosen(
    pair, on_screen, finger
):
    first = pair.a.fitting(pair.fitting).head("body")
    by_a = correct(pair.a, pair.fitting, "body", body_mass_kg="82.0")
    by_b = correct(pair.b, pair.fitting, "body", body_mass_kg="83.5")
    assert list(by_a.replaces) == list(by_b.replaces) == [first.digest]
    pair.meet()
    disputed_on_both(pair, "body", "body_mass_kg", ["82.0", "83.5"])
    agree(pair)

    stage = on_screen(pair.tablet_a, pair.a)
    open_dispute(stage, finger, pair.fitting, "body")
    assert finger.sees("82.0") and finger.sees("83.5")
    press_the_one(finger, "82.0")
    pair.meet()
    for session in (pair.a, pair.b):
        view = session.fitting(pair.fitting)
        assert view.head("body").body["body_mass_kg"] == "82.0"
        assert {first.digest, by_a.digest, by_b.digest} <= set(view.slot("body").entries)
    agree(pair)


def test_a_number_given_while_two_words_on_who_it_is_stand_goes_to_both_and_settles_neither(pair):
    correct(pair.a, pair.fitting, "identity", given_name="June")
    correct(pair.b, pair.fitting, "identity", given_name="Juno")
    pair.meet()
    disputed_on_both(pair, "identity", "given_name", ["June", "Juno"])
    known = pair.a.fitting(pair.fitting).person
    form = NewFitting(pair.a)
    for key, value in {**person.NEW_FITTING, "telephone": "01632 960123"}.items():
        form.edit(key, value)
    form.save(same_as=known.id)
    pair.meet()
    disputed_on_both(pair, "identity", "given_name", ["June", "Juno"])
    disputed_on_both(pair, "identity", "telephone", ["01632 960123"] * 2)
    agree(pair)


def test_a_settlement_beside_a_further_turn_is_disputed_again_and_hides_neither(pair):
    record(pair.a, pair.fitting, VALVE, position="9", reason="trial")
    record(pair.b, pair.fitting, VALVE, position="7", reason="trial")
    sync(pair.a), sync(pair.b)
    heads = pair.b.fitting(pair.fitting).heads(VALVE)
    assert len(heads) == 2
    # B settles while A, that does not know of it yet, turns on.
    chosen = next(h for h in heads if h.body["position"] == "7")
    pair.b.save(chosen.kind, chosen.subject, chosen.body, settles=True)
    record(pair.a, pair.fitting, VALVE, position="10", reason="trial")
    pair.meet()
    disputed_on_both(pair, VALVE, "position", ["7", "10"])
    agree(pair)
    pair.a.save(chosen.kind, chosen.subject, {**chosen.body, "position": "10"}, settles=True)
    pair.meet()
    assert pair.b.fitting(pair.fitting).head(VALVE).body["position"] == "10"
    agree(pair)
