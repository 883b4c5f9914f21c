"""Whatever a sheet's body or its form holds, it is judged in words, and a sound sheet comes out of its form as it went in."""

from __future__ import annotations

import copy

from hypothesis import given
from hypothesis import strategies as st

from shared_models.catalogue.sheet_troubles import sheet_troubles
from shared_models.catalogue.sheets import DEMO_SHEETS, demo_sheet
from shared_models.checks.sheet_entering import body_from
from shared_models.checks.sheet_news import limit_changes
from shared_models.checks.sheet_taking import taking_troubles
from shared_models.checks.sheet_typed import ROWS, moved_up, typed_of, with_row, without_row
from shared_models.wording.sheet_lines import sheet_lines
from shared_models.wording.sheet_troubles import trouble_sentence, troubles_with_places

SCALARS = st.one_of(st.none(), st.booleans(), st.integers(-3, 10**6), st.text(max_size=12), st.sampled_from(
    ["0", "11", "-4", "1e9", "97 lbf·in", "screw/top_front", "cap/flexion", "front", "knee", "bare", "none", "compound"]))
JUNK = st.recursive(SCALARS, lambda inner: st.one_of(
    st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=8), inner, max_size=3)), max_leaves=6)


def places_in(node, at=()):
    """Every path into a body."""
    yield at
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in items:
        yield from places_in(value, (*at, key))


@st.composite
def spoilt_sheets(draw):
    """A demo sheet with one to three of its values, rows or tables replaced by anything, or taken out."""
    body = copy.deepcopy(demo_sheet(draw(st.sampled_from(DEMO_SHEETS))))
    body["service"] = {"months": "24"}
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.sampled_from([p for p in places_in(body) if p]))
        node = body
        for key in at[:-1]:
            node = node[key]
        if draw(st.booleans()):
            node[at[-1]] = draw(JUNK)
        else:
            del node[at[-1]]
    if draw(st.booleans()):
        body[draw(st.sampled_from(["as_typed", "compared_again", "device_identifier", "cautions"]))] = draw(JUNK)
    return body


@given(spoilt_sheets())
def test_a_spoilt_sheet_is_judged_in_words_and_shown_without_a_fault(body):
    found = taking_troubles(body)
    assert len(troubles_with_places(found, body)) == len(found) and all(trouble_sentence(t) for t in found)
    assert isinstance(sheet_troubles(body), list)
    assert all(isinstance(v, str) for v in sheet_lines(body).values())
    limit_changes(body, demo_sheet("knee_alder"))
    typed = typed_of(body)
    _, wrongs = body_from({**typed, "version": ""}, body)
    assert "version" in wrongs and all(trouble_sentence(t) for t in wrongs.values())


@st.composite
def forms(draw):
    """A demo sheet's form with some fields typed over, and fields that no form has."""
    typed = dict(typed_of(demo_sheet(draw(st.sampled_from(DEMO_SHEETS)))))
    for name in draw(st.lists(st.sampled_from(sorted(typed)), max_size=4)):
        typed[name] = draw(st.one_of(st.text(max_size=20), st.sampled_from(["", "0", "11 N·m", "97 lbf·in", "1e5", "screws-0", "5,5"])))
    typed |= draw(st.dictionaries(st.from_regex(r"(screws|caps|places|adjusters)-[0-9]{1,4}-(name|of|over-caps-0|opposes|key)", fullmatch=True), st.text(max_size=8), max_size=3))
    return typed


@given(forms(), st.sampled_from(sorted(ROWS)), st.integers(0, 3))
def test_whatever_is_typed_is_answered_in_words_and_a_row_more_or_less_loses_no_other(typed, sort, number):
    _, wrongs = body_from(typed, {"sheet": "new", "part": "knee"})
    assert all(trouble_sentence(t) for t in wrongs.values())
    more, row = with_row(typed, sort)
    assert {k: more[k] for k in typed} == typed
    named = {k: v for k, v in typed.items() if v != row and not k.endswith(f"-over-{row}")}
    assert named.items() <= without_row(more, row).items()
    row = f"{sort}-{number}"
    left = without_row(typed, row)
    assert all(left[k] == v for k, v in typed.items() if k in left and v != row)
    assert len(moved_up(typed, row)) == len(typed)


@given(st.sampled_from(DEMO_SHEETS), st.data())
def test_a_sound_sheet_comes_out_of_its_form_as_it_went_in(name, data):
    body = copy.deepcopy(demo_sheet(name))
    typed = typed_of(body)
    for number, _ in enumerate(body.get("screws", ())):
        inch_pounds = data.draw(st.integers(120, 300))
        typed[f"screws-{number}-final_nm"] = data.draw(st.sampled_from(["14 N·m", "13.5 N·m", f"{inch_pounds} lbf·in"]))
    body, wrongs = body_from(typed, body)
    assert wrongs == {}
    again, wrongs = body_from(typed_of(body), body)
    assert again == body and wrongs == {}
