"""A newcomer practises at the screen, by touches, knowing only what the screen shows."""

from __future__ import annotations

from decimal import Decimal

import pytest

from shared_models.quantities.moments import now_here
from shared_models.rehearsing.practice_people import person_named, told_values
from mobile.flows.forms import SlotForm
from mobile.flows.people import NewFitting
from mobile.flows.practice import choose
from tests.journeys.at_work import alone


@pytest.fixture
def locked(tmp_path, on_screen):
    """A real tablet with the demo clinic, locked on the screen."""
    tablet, _ = alone(tmp_path / "tablet")
    stage = on_screen(tablet)
    yield stage, tablet
    stage.practising.close()
    tablet.close()


@pytest.fixture
def newcomer(locked, finger, monkeypatch):
    """Somebody at the locked screen who practises; figures walk by a clock that runs ahead."""
    from tests.journeys.newcomer import practising

    return practising(locked[0], finger, monkeypatch)


def confirm(session, fitting: str, slot: str, person) -> None:
    """Turn a trial's adjuster to where it suits the person, and confirm it there."""
    view = session.fitting(fitting)
    kind = view.edition.kind_of_slot(slot)
    if kind.function:
        session.save("setting", view.subject, {
            "function": kind.function, "position": str(person.walker.ranges[kind.function].suits), "reason": "trial",
        })
    judged = {f.key: True for f in kind.fields if f.type == "yes_no"}
    told = told_values(person, slot, session.fitting(fitting), now_here().date())
    session.save(kind.key, view.subject, {**told, **judged, "findings": [], "outcome": "confirmed"})


def go_to(stage, key: str, until: str) -> str:
    """Go into practice with a person's fitting recorded up to a step; return the fitting."""
    stage.practising.enter()
    session, person = stage.session, person_named(key)
    choose(session, person)
    form = NewFitting(session)
    for name, value in person.identity.items():
        form.edit(name, value)
    fitting = form.save()
    stage.go_fitting(fitting)
    for step in session.fitting(fitting).edition.steps:
        if step.key == until:
            break
        for slot in [s for p in step.asks for s in session.fitting(fitting).expand(p)]:
            view = session.fitting(fitting)
            if slot.startswith("trial/"):
                confirm(session, fitting, slot, person)
            elif view.head(slot) is None:
                entry = SlotForm(session, fitting, slot)
                for name, value in told_values(person, slot, view, now_here().date()).items():
                    entry.edit(name, value)
                entry.save()
    stage.go_fitting(fitting)
    return fitting


def test_a_newcomer_enters_practice_and_opens_a_fitting_from_what_is_shown(locked, finger, newcomer):
    stage, real = locked
    newcomer.run_until(lambda: getattr(stage.page, "slot", "") == "activity")
    fitting, = stage.session.fittings()
    body = stage.session.fitting(fitting).head("body").body
    assert body["body_mass_kg"] == f"{newcomer_walker().mass_kg:.1f}"
    assert {"HomePage", "PracticePeoplePage", "NewFittingPage", "FittingPage"} <= newcomer.marked
    finger.tap("practice:leave")
    assert stage.tablet is real and not finger.is_there("practice:mark")
    assert real.unlock("demo-prosthetist", "270913").fittings() == []
    # Several may be kept: the fitting is there again when practice is entered again.
    finger.tap("practise")
    assert stage.session.fittings() == [fitting]


def newcomer_walker():
    return person_named("even").walker


def steps_done(stage, *keys):
    return lambda: all(stage.page.verdict.step(key).state == "met" for key in keys)


@pytest.mark.parametrize("function, before", [
    ("stance_threshold", "stance_threshold"), ("swing_flexion", "swing_flexion"),
    ("swing_extension", "swing_extension"), ("stance_damping", "stance_damping"),
])
def test_a_newcomer_tunes_each_function_by_watching_the_leg(locked, newcomer, function, before):
    stage, _ = locked
    fitting = go_to(stage, "even", before)
    # A little below what suits, so that some walks and turns lead there.
    low = person_named("even").walker.wanted_window(function)[0]
    view = stage.session.fitting(fitting)
    stage.session.save("setting", view.subject, {"function": function, "position": str(max(low - 1, 0)), "reason": "start"})
    stage.go_fitting(fitting)
    newcomer.run_until(steps_done(stage, before))
    practice = stage.practising.practice
    report = dict(practice.report())
    assert report["judged otherwise than the leg showed"] == "0", newcomer.lines()
    assert int(report["walks watched"]) >= int(report["trials recorded"]) >= 1
    settings = {f: Decimal(p) for f, p in stage.page.view.settings().items()}
    window = practice.person.walker.good_window(function, settings)
    assert window[0] <= settings[function] <= window[1]
