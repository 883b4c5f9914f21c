"""What the export says, read by a library of another language with the structure definitions of R4."""

from __future__ import annotations

import copy
import random

import pytest

from shared_models.checks.verdict import judge
from shared_models.entries.fitting import FittingView
from shared_models.exports.fhir_bundle import fitting_bundle
from shared_models.quantities.moments import now_here
from tests.fitting_desk import Desk
from tests.properties.desk_moves import EVERY_MOVE, finished_desks, play
from tests.shared_models.exports.fhir_by_node import errors_of, why_not
from tests.shared_models.exports.test_fhir_export import FITTINGS, MISTAKES, read

pytestmark = pytest.mark.skipif(bool(why_not()), reason=why_not())

#: Mistakes that it sees; the others are left to the other checks.
SEEN = {
    "a document without content", "a field that FHIR has not", "a fitting without a person",
    "a form with a status that FHIR has not", "a reference to another sort of thing", "a resource of no type",
    "a signature by nobody", "a status that FHIR has not", "a use without its device", "an amount as text",
    "an answer without its question", "an observation without code", "an observation without status",
}


def generated() -> list[dict]:
    chance, found = random.Random(21), []
    for _ in range(FITTINGS):
        desks = finished_desks("tablet-a", "tablet-b")
        play(desks, [(chance.choice(EVERY_MOVE)[0], chance.randint(0, 90), chance.randint(0, 1)) for _ in range(chance.randint(0, 25))])
        desks[0].take(desks[1])
        view = FittingView(desks[0].record, desks[0].fitting.id)
        found.append(read(fitting_bundle(view, judge(view, now_here().date()), b"%PDF-1.4 sheet", b"%PDF-1.4 record")))
    return found


def test_it_finds_nothing_wrong_in_the_export_of_any_fitting():
    bundles = generated()
    assert errors_of(bundles) == [[] for _ in bundles]


def test_it_finds_the_mistakes_that_it_is_asked_for():
    whole = Desk.finished()
    exported = read(fitting_bundle(whole.view, whole.verdict(), b"%PDF-1.4 a sheet", b"%PDF-1.4 a record"))
    planted = []
    for make in MISTAKES.values():
        bundle = copy.deepcopy(exported)
        make(bundle)
        planted.append(bundle)
    assert {mistake for mistake, errors in zip(MISTAKES, errors_of(planted)) if errors} == SEEN
