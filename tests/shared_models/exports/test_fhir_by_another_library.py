"""What the export says, read by a library of another language with the structure definitions of R4."""

from __future__ import annotations

import copy
import random

import pytest

from shared_models.checks.verdict import judge
from shared_models.exports.fhir_bundle import fitting_bundle
from shared_models.quantities.moments import now_here
from tests.shared_models.exports.fhir_by_node import errors_of, why_not
from tests.shared_models.exports.generated_fittings import grown, views_of
from tests.shared_models.exports.test_fhir_export import FITTINGS, MISTAKES, exported_visit, read, visited

pytestmark = pytest.mark.skipif(bool(why_not()), reason=why_not())

#: Mistakes that it sees; the others are left to the other checks.
SEEN = {
    "a document without content", "a field that FHIR has not", "a fitting without a person",
    "a form with a status that FHIR has not", "a reference to another sort of thing", "a resource of no type",
    "a signature by nobody", "a status that FHIR has not", "a use without its device", "an amount as text",
    "a day of an event in words", "a suspicion of nothing", "an event of nobody", "an event that is neither actual nor potential",
    "an event without saying whether it came about", "an outcome that FHIR has not", "a use with a day where a period belongs",
    "an answer without its question", "an observation without code", "an observation without status",
    "a telephone of no known system",
}


def generated() -> list[dict]:
    chance, found = random.Random(21), []
    for _ in range(FITTINGS):
        views = views_of(grown(chance)[0])
        for view in views:
            found.append(read(fitting_bundle(view, judge(view, now_here().date()), b"%PDF-1.4 sheet", b"%PDF-1.4 record", views)))
    return found


def test_it_finds_nothing_wrong_in_the_export_of_any_fitting():
    bundles = generated()
    assert errors_of(bundles) == [[] for _ in bundles]


def test_it_finds_the_mistakes_that_it_is_asked_for():
    exported = exported_visit(visited())
    planted = []
    for make in MISTAKES.values():
        bundle = copy.deepcopy(exported)
        make(bundle)
        planted.append(bundle)
    assert {mistake for mistake, errors in zip(MISTAKES, errors_of(planted)) if errors} == SEEN
