"""A line drawn by hand is kept as it was drawn, to a ten-thousandth of its frame."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.checks.strokes import (
    MOST_POINTS, MOST_STROKES, UNITS, WAYS, Stroke, are_strokes, strokes_body, strokes_from,
)
from shared_models.drawings.strokes import paths_of
from shared_models.entries.canonical import canonical_bytes, strict_json
from shared_models.quantities.refusals import Refusal

_share = st.floats(0, 1)
_stroke = st.builds(
    Stroke, st.lists(st.tuples(_share, _share), min_size=1, max_size=30).map(tuple),
    st.floats(0.001, 0.05), st.sampled_from(WAYS),
)


@given(st.lists(_stroke, max_size=12))
def test_what_was_drawn_comes_back_within_rounding_and_stays_so(strokes):
    body = strict_json(canonical_bytes({"strokes": strokes_body(strokes)}))["strokes"]
    assert are_strokes(body)
    back = strokes_from(body)
    assert [s.way for s in back] == [s.way for s in strokes]
    for drawn, kept in zip(strokes, back, strict=True):
        assert len(drawn.points) == len(kept.points)
        for point, found in zip(drawn.points, kept.points):
            assert math.dist(point, found) <= 0.71 / UNITS
        assert abs(drawn.width - kept.width) <= 0.51 / UNITS
    assert strokes_body(back) == body, "kept again, it is the same to the last digit"


@given(st.lists(_stroke, min_size=1, max_size=6), st.floats(20, 3000), st.floats(20, 3000))
def test_a_drawing_lies_in_its_frame_at_any_size(strokes, wide, high):
    drawn = [s for s in strokes if s.way != "arrow"]
    for path in paths_of(drawn, wide, high):
        assert all(-1e-6 <= x <= wide + 1e-6 and -1e-6 <= y <= high + 1e-6 for x, y in path.points)


@given(st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(-5, 20000), st.text(max_size=3)),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(["as", "width", "points", "x"]), inner, max_size=4),
    max_leaves=12,
))
def test_what_another_machine_sends_is_strokes_or_nothing(value):
    found = strokes_from(value)
    assert bool(found) <= are_strokes(value)
    assert not found or strokes_body(found) == json.loads(json.dumps(value))


@pytest.mark.parametrize("strokes", [
    [Stroke(((0.5, 0.5),))] * (MOST_STROKES + 1),
    [Stroke(((0.5, 0.5),) * (MOST_POINTS + 1))],
])
def test_more_than_is_kept_is_refused_and_not_cut(strokes):
    with pytest.raises(Refusal) as caught:
        strokes_body(strokes)
    assert caught.value.code == "too_much_drawn"
