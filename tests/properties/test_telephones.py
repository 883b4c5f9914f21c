"""Whatever way a number is written, it is taken; and whatever is written, no wrong number is called."""

from __future__ import annotations

import re
from datetime import date

from hypothesis import example, given
from hypothesis import strategies as st

from shared_models.catalogue.edition import load_edition
from shared_models.checks.entering import read_field
from shared_models.checks.telephones import FEWEST_DIGITS, MOST_DIGITS, telephone_link

EDITION = load_edition()
FIELD = EDITION.kinds["identity"].field("telephone")
_digits = st.text("0123456789", min_size=1, max_size=5)
_between = st.sampled_from([" ", "-", ".", " - ", "\u2011", "\u2013", "\u00a0", ""])


def reading_of(typed: str):
    return read_field(FIELD, typed, EDITION.choices, date(2026, 11, 27))


@st.composite
def numbers(draw):
    """A number as people write one, and what is dialled: digits with a + before them or none."""
    plus = draw(st.booleans())
    area = draw(_digits.filter(lambda d: d.strip("0") != "" or not plus))
    groups = draw(st.lists(_digits, min_size=1, max_size=3))
    digits = (area + "".join(groups))[:MOST_DIGITS]
    if len(digits) < FEWEST_DIGITS:
        digits = digits.rjust(FEWEST_DIGITS, "1")
    rest, text = digits, ""
    while rest:
        size = draw(st.integers(1, len(rest)))
        text += (draw(_between) if text else "") + rest[:size]
        rest = rest[size:]
    if not plus and draw(st.booleans()):
        at = draw(st.integers(1, len(text)))
        text = f"({text[:at]}) {text[at:]}".strip()
    extension = draw(st.sampled_from(["", "4", "017"]))
    written = ("+" if plus else "") + text + (draw(st.sampled_from([" ext. ", " x", ", Durchwahl ", " #"])) + extension if extension else "")
    return written, ("tel:" + ("+" if plus else "") + digits + (f";ext={extension}" if extension else ""))


@given(numbers())
def test_a_number_is_taken_in_every_way_of_writing_and_calls_its_own_digits(number):
    written, called = number
    reading = reading_of(written)
    assert (reading.refusal, reading.value) == ("", written)
    assert telephone_link(written) == called


@given(st.text(max_size=60))
@example("0123\n;ext=4")
@example("+" * 40 + "1")
def test_any_text_is_kept_as_typed_or_refused_for_its_digits_alone_and_makes_no_other_link(text):
    reading = reading_of(text)
    digits = sum(c.isdecimal() for c in text)
    if text.strip() and digits < FEWEST_DIGITS:
        assert reading.refusal == "cannot_be_called" and reading.figures["typed"] == text.strip()
    else:
        assert not reading.refusal and (reading.value or "") == text.strip()
    assert re.fullmatch(r"(tel:\+?[0-9]{3,15}(;ext=[0-9]{1,8})?)?", telephone_link(text))


@given(numbers(), numbers())
def test_two_numbers_in_one_field_call_neither(first, second):
    for between in (", ", "; ", " or ", " / +", "/0"):
        assert telephone_link(first[0] + between + second[0].lstrip("+")) == ""
