"""Contacts of another instrument: whatever spells a CSV is read, the rest is refused by line."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.timing.contacts import Contact
from shared_models.calculations.timing.contacts_file import LARGEST_BYTES, read_contacts
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence

SAID = [("left", 5.05), ("right", 5.74), ("left", 6.32)]


def read(text, encoding="utf-8"):
    return read_contacts(text.encode(encoding))


def said(found):
    return [(c.side, c.time_s) for c in found.contacts]


@pytest.mark.parametrize("text", [
    "side,time_s\nleft,5.05\nright,5.74\nleft,6.32\n",
    "Side,Time (s)\nLeft,5.05\nRIGHT,5.74\nL,6.32",
    "time_s,side\n5.05,l\n5.74,r\n6.32,L\n",
    "left,5.05\nright,5.74\nleft,6.32\n",
    "5.05,left\n5.74,right\n6.32,left\n",
    "side;time_s\nleft;5,05\nright;5,74\nleft;6,32\n",
    "left;5,05\r\nright;5,74\r\nleft;6,32\r\n",
    "side\ttime\nleft\t5.05\nright\t5,74\nleft\t6.32\n",
    '"side","time_s"\n"left","5.05"\n"right","5,74"\n"left","6.32"\n',
    "# insoles, walk 1\n\nside, time_s\n left , 5.05 \n\nright, 5.74\nleft,+6.32\n",
    "side,time_s,event\nleft,5.05,IC\nright,5.74,initial contact\nleft,6.32,\n",
    "event_type,time_s,side\ninitial_contact,5.05,left\nheel-strike,5.74,right\nInitial,6.32,left_foot\n",
    "side,time_s\nleft,505e-2\nright,5.74,\nleft,6.320\n",
    "left,5.05\rright,5.74\rleft,6.32\r",
    "left foot,5.05\nRight Foot,5.74\nleft-foot,6.32\n",
])
def test_the_same_walk_is_read_however_it_is_written(text):
    assert said(read(text)) == SAID


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_a_byte_order_mark_is_no_part_of_the_side(encoding):
    assert said(read("left,5.05\nright,5.74\nleft,6.32\n", encoding)) == SAID


def test_final_contacts_are_kept_apart_from_initial_ones_and_may_stand_anywhere():
    found = read("side,time_s,event\nleft,1.0,initial\nleft,1.7,final\nright,1.6,initial\nleft,2.2,initial\nright,2.3,toe off\n")
    assert said(found) == [("left", 1.0), ("right", 1.6), ("left", 2.2)]
    assert [(c.side, c.time_s, c.line) for c in found.finals] == [("left", 1.7, 3), ("right", 2.3, 6)]


def test_a_contact_whose_time_is_left_empty_is_kept_without_one():
    found = read("side,time_s\nleft,1.0\nright,\nleft,2.2\n")
    assert found.contacts[1] == Contact("right", None, 3)


def test_columns_that_are_not_used_are_named():
    found = read("n,side,time_s,pressure\n1,left,5.05,30\n2,right,5.74,31\n3,left,6.32,29\n")
    assert said(found) == SAID and found.columns_not_used == ("n", "pressure")


@pytest.mark.parametrize(("text", "code", "says"), [
    ("", "contacts_file_empty", "no contacts"),
    ("\n\n# nothing\n", "contacts_file_empty", "no contacts"),
    ("side,time_s\n", "contacts_file_without_initial", "no initial contact"),
    ("left,5.05\nmiddle,5.74\n", "contacts_line_side", "Line 2: the side is 'middle'"),
    ("left,5.05\n,5.74\n", "contacts_line_side", "Line 2"),
    ("left,5.05\nright,soon\n", "contacts_line_time", "Line 2 (right): the time 'soon'"),
    ("left,5.05\nright,nan\n", "contacts_line_time", "'nan' is not a number"),
    ("left,5.05\nright,NaN\n", "contacts_line_time", "'NaN' is not a number"),
    ("left,5.05\nright,inf\n", "contacts_line_time", "'inf' is not a number"),
    ("left,5.05\nright,-inf\n", "contacts_line_time", "'-inf' is not a number"),
    ("left,5.05\nright,1_000\n", "contacts_line_time", "'1_000' is not a number"),
    ("left,5.05\nright,5.74 s\n", "contacts_line_time", "'5.74 s' is not a number"),
    ("left,5.05\nright,0:05.74\n", "contacts_line_time", "'0:05.74' is not a number"),
    ("left,5.05\nright,٥\n", "contacts_line_time", "Line 2"),
    ("left,5.05\nright,-5.74\n", "contacts_line_negative", "-5.74 s is below 0"),
    ("left,5.05\nright,1e300\n", "contacts_line_too_late", "Line 2 (right)"),
    ("left,5.05\nright,4.74\n", "contacts_line_out_of_order", "4.74 s comes before 5.05 s on line 1"),
    ("left,5.05\nright\n", "contacts_line_too_short", "Line 2 says 'right' only"),
    ("left,5,05\nright,5,74\n", "contacts_line_event", "Line 1"),
    ("side,time_s\nleft,5,05\n", "contacts_line_too_long", "semicolons"),
    ("side,time_ms\nleft,5050\n", "contacts_column_missing", "no column 'time_s' (it has: side, time_ms)"),
    ("time_s\n5.05\n", "contacts_column_missing", "no column 'side'"),
    ("side,time_s,time\nleft,1,1\n", "contacts_column_twice", "more than one column"),
    ("a,b\n1,2\n", "contacts_columns_unclear", "'a, b'"),
    ("5.05\n5.74\n", "contacts_columns_unclear", "'5.05'"),
    ("side,time_s,event\nleft,5.05,hop\n", "contacts_line_event", "'hop'"),
    ("side,time_s\nleft,5.05\n\"right,5.74\n", "contacts_line_unreadable", "Line 3"),
    ("side,time_s,event\nleft,5.05,final\n", "contacts_file_without_initial", "final contacts: 1"),
    ("side,time_s\nleft,5.05\nright,5.74\n\0", "contacts_file_not_text", "UTF-8"),
])
def test_what_cannot_be_read_is_refused_with_its_line(text, code, says):
    with pytest.raises(Refusal) as caught:
        read(text)
    assert caught.value.code == code
    sentence = refusal_sentence(caught.value)
    assert says in sentence and "not stated" not in sentence


@pytest.mark.parametrize(("data", "code"), [
    (b"\x89PNG\r\n\x1a\n\x00\x00", "contacts_file_not_text"),
    ("left,5.05\nrécht,5".encode("latin-1"), "contacts_file_not_text"),
    (b"\xff\xfea", "contacts_file_not_text"),
    (b"left,1\n" * (LARGEST_BYTES // 7 + 1), "contacts_file_too_large"),
])
def test_what_is_no_text_or_too_large_is_refused(data, code):
    with pytest.raises(Refusal) as caught:
        read_contacts(data)
    assert caught.value.code == code and "not stated" not in refusal_sentence(caught.value)


@given(st.lists(st.tuples(st.sampled_from(["left", "right"]), st.floats(0, 1e6)), min_size=1, max_size=30))
def test_times_are_read_to_the_last_digit(rows):
    rows.sort(key=lambda row: row[1])
    found = read("side,time_s\n" + "".join(f"{side},{time_s!r}\n" for side, time_s in rows))
    assert said(found) == rows
    assert all(math.isfinite(c.time_s) for c in found.contacts)


@given(st.binary(max_size=300) | st.text(max_size=200).map(str.encode)
       | st.text(alphabet="left,rigtsd;.0123456789\n\r\t\"#-e_", max_size=200).map(str.encode))
def test_whatever_the_bytes_there_is_an_answer_or_a_sentence(data):
    try:
        read_contacts(data)
    except Refusal as refusal:
        assert "not stated" not in refusal_sentence(refusal)
