"""What a person waits for at the tablet, each as one call on real parts."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from random import Random
from typing import Callable

from shared_models.calculations.alignment.load_line import TwoScales, load_line_from
from shared_models.calculations.findings import explain
from shared_models.calculations.model_leg.people import model_person
from shared_models.calculations.part_codes import read_part_code
from shared_models.calculations.timing.contacts import Contact
from shared_models.calculations.timing.figures import INITIAL_CONTACT, Basis
from shared_models.calculations.timing.walk import walk_figures
from shared_models.calculations.tuning import Tried, suggest
from shared_models.calculations.tuning.suggesting import belief_after
from shared_models.catalogue.edition import load_edition
from shared_models.catalogue.sheets import demo_sheet, sheet_from
from shared_models.checks.alignment_reading import read_alignment
from shared_models.checks.torque_reading import torque_reading
from shared_models.checks.tuning_course import course_of
from shared_models.checks.verdict import judge, judge_step
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.quantities.moments import now_here
from shared_models.rehearsing.clinic_desk import Clinic
from shared_models.rehearsing.people_run import leg_of
from shared_models.rehearsing.whole_fitting import WholeFitting
from tests.fitting_desk import Desk

LONG_COURSE = 1000


@dataclass(frozen=True)
class Case:
    """A calculation, when it is waited for, and what prepares one call of it."""

    what: str
    when: str
    prepare: Callable[[], Callable[[], object]]


def _adjuster(function: str):
    return sheet_from(demo_sheet("knee_alder")).adjuster(function)


def _suggestion(function: str, trials: int) -> Callable[[], object]:
    """Ask after a course around a good window from 12 to 13, the latest trial just below it."""
    adjuster, known = _adjuster(function), load_edition().findings_of(function)
    by_turn = {f.turn: f.key for f in known if f.trial == function and f.turn}
    places = [11 + (trials - 1 - k) * 3 % 4 for k in range(trials)]
    course = []
    for place in places:
        turn = "more" if place < 12 else "less" if place > 13 else ""
        found = ({"finding": by_turn[turn], "grade": "slight", "perceived": "seen"},) if turn else ()
        course.append(Tried(adjuster.lowest + place * adjuster.smallest_step, found, damping_came_in=True))
    return lambda: suggest(adjuster, course[-1].position, course, known, None)


def _belief() -> Callable[[], object]:
    adjuster, known = _adjuster("swing_flexion"), load_edition().findings_of("swing_flexion")
    course = [Tried(Decimal(8)), Tried(Decimal(11))]
    return lambda: belief_after(adjuster, course, known)


def _scales() -> Callable[[], object]:
    scales = TwoScales(600, 22.0, 19.7, 2.1, 2.1, 0.1, 150, 95, 2)
    return lambda: load_line_from(scales)


def _alignment() -> Callable[[], object]:
    desk = Desk.finished()
    view, body = desk.view, {**desk.head("alignment/static").body, "load_line_offset_mm": "22"}
    return lambda: read_alignment(view, "static_alignment", body)


def _contacts(steps: int) -> Callable[[], object]:
    chance = Random(1)
    taps = [Contact(("left", "right")[k % 2], 0.57 * k + chance.gauss(0, 0.02)) for k in range(steps)]
    basis = Basis("thumb", INITIAL_CONTACT)
    return lambda: walk_figures(taps, basis=basis, distance_m=10.0)


def _walk(function: str) -> Callable[[], object]:
    """Walk a trial of somebody new each time, since a model person remembers a swing."""
    knee = sheet_from(demo_sheet("knee_alder"))
    positions = {a.function: a.start for a in knee.adjusters}
    numbers, chance = iter(range(10**9)), Random(1)

    def walk() -> object:
        person = model_person(next(numbers))
        return person.walk(function, positions, chance, observer_error=1.0, hands_on_bars=False)

    return walk


def _causes() -> Callable[[], object]:
    edition = load_edition()
    found = [
        {"finding": key, "grade": "marked", "perceived": "seen"}
        for key in ("heel_rise_too_high", "terminal_impact", "extension_incomplete")
    ]
    return lambda: explain(found, edition.findings, edition.contradictions)


def _torque() -> Callable[[], object]:
    body = Desk.finished().head("torque_final/foot.front").body
    return lambda: torque_reading(body)


def _new_person() -> Callable[[], object]:
    numbers = iter(range(10**9))
    return lambda: model_person(next(numbers))


def _whole_fitting() -> Callable[[], object]:
    clinic, numbers = Clinic.founded(), iter(range(1, 10**9))

    def fit() -> object:
        number = next(numbers)
        return WholeFitting(clinic, number, leg_of(1, number), Random(number)).run()

    return fit


def _verdict() -> Callable[[], object]:
    desk, day = Desk.finished(), now_here().date()
    return lambda: judge(FittingView(desk.record, desk.fitting.id), day)


def _step() -> Callable[[], object]:
    desk, day = Desk.finished(), now_here().date()
    return lambda: judge_step(FittingView(desk.record, desk.fitting.id), day, "stance_damping")


def _course() -> Callable[[], object]:
    desk = Desk.finished()
    return lambda: course_of(FittingView(desk.record, desk.fitting.id), "swing_flexion")


def _fold() -> Callable[[], object]:
    entries = list(Desk.finished().record.entries.values())

    def fold() -> Record:
        record = Record()
        record.add(entries)
        return record

    return fold


def _save() -> Callable[[], object]:
    desk = Desk.finished()
    body = desk.head("trial/swing_flexion").body
    return lambda: desk.author.record_fact("trial_swing_flexion", desk.fitting, body, "demo-prosthetist")


def _code() -> Callable[[], object]:
    scanned = "]d2" + "01" + "09506000134352" + "17" + "301231" + "10" + "D26A" + "\x1d" + "21" + "0417"
    today = now_here().date()
    return lambda: read_part_code(scanned, today)


CASES = (
    Case("suggestion, swing, 3rd trial", "a trial was saved", lambda: _suggestion("swing_flexion", 3)),
    Case("suggestion, swing, 12th trial", "a trial was saved", lambda: _suggestion("swing_flexion", 12)),
    Case("suggestion, threshold, 12th trial", "a trial was saved", lambda: _suggestion("stance_threshold", 12)),
    Case("belief about the window", "the trial page opens", _belief),
    Case("course of trials from the record", "the trial page opens", _course),
    Case("load line from two scales", "a reading is typed", _scales),
    Case("alignment with its suggestions", "a reading is typed", _alignment),
    Case("figures of 20 contacts", "the last tap", lambda: _contacts(20)),
    Case("figures of 240 contacts", "a file is attached", lambda: _contacts(240)),
    Case("what findings may mean", "a trial was saved", _causes),
    Case("torque reading at the screw", "a reading is typed", _torque),
    Case("part code read", "a code is scanned", _code),
    Case("fold of a whole fitting", "a fitting is opened", _fold),
    Case("verdict of a whole fitting", "anything was saved", _verdict),
    Case("verdict of one step", "anything was saved", _step),
    Case("entry composed, digested", "anything is saved", _save),
    Case("model person made", "a rehearsal begins", _new_person),
    Case("model person made, one swing simulated", "a rehearsed trial", lambda: _walk("swing_extension")),
    Case("model person made, one step down", "a rehearsed trial", lambda: _walk("stance_damping")),
    Case("whole fitting without screens", "rehearse --people", _whole_fitting),
)


def long_course_record(trials: int = LONG_COURSE) -> Desk:
    """Return a fitting in which one adjuster was tried very often."""
    desk = Desk().staff().before_the_bench().on_the_bench()
    desk.stand()
    desk.walk("stance_threshold")
    for number in range(trials):
        if number % 2:
            desk.turn("swing_flexion", str(6 + number % 9))
        desk.walk("swing_flexion", "change", findings=[{"finding": "heel_rise_too_high", "grade": "slight", "perceived": "seen"}])
    return desk


def long_course() -> tuple[Case, ...]:
    """Return what is waited for in such a fitting."""
    desk = long_course_record()
    day = now_here().date()

    def verdict() -> Callable[[], object]:
        return lambda: judge(FittingView(desk.record, desk.fitting.id), day)

    def course() -> Callable[[], object]:
        return lambda: course_of(FittingView(desk.record, desk.fitting.id), "swing_flexion")

    def advice() -> Callable[[], object]:
        tried = course_of(desk.view, "swing_flexion")
        adjuster, known = _adjuster("swing_flexion"), load_edition().findings_of("swing_flexion")
        return lambda: suggest(adjuster, tried[-1].position, tried, known, None)

    return (
        Case("verdict after 1 000 trials", "anything was saved", verdict),
        Case("course of 1 000 trials", "the trial page opens", course),
        Case("suggestion after 1 000 trials", "a trial was saved", advice),
    )
