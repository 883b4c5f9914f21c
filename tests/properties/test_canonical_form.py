"""Whatever a record may hold has one canonical form, and it is the published one."""

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from shared_models.entries.canonical import (
    LARGEST_INTEGER,
    NotStrictJson,
    canonical_bytes,
    canonical_of_strict,
    strict_json,
)

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=12) | st.text(
    st.sampled_from("\x00\x08\x0b\x1f\x7f\"\\/\n\t\r\f\u2028é\ufb33\ue000😀"), max_size=8
)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-LARGEST_INTEGER, LARGEST_INTEGER) | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=5)
    | st.dictionaries(st.text("abz_09~", max_size=6), inner, max_size=5),
    max_leaves=12,
)


@given(VALUES)
@settings(max_examples=300, deadline=None)
def test_what_a_record_may_hold_has_the_form_of_rfc_8785_and_is_read_back_the_same(value):
    form = canonical_bytes(value)
    assert form == rfc8785.dumps(value)
    assert strict_json(form) == value
    assert canonical_of_strict(strict_json(form)) == form


def test_names_beyond_the_basic_plane_are_sorted_by_utf_16_units_and_half_a_character_is_refused():
    assert canonical_bytes({"\ufb33": 1, "😀": 2}) == '{"😀":2,"\ufb33":1}'.encode()
    for value in ("\ud83d", {"a": "\ude00"}, {"\ud83d": "a"}):
        with pytest.raises(NotStrictJson):
            canonical_bytes(value)
