"""A code on a part is read as its maker meant it, or it is asked about, or refused."""

from __future__ import annotations

from datetime import date, datetime, timezone

import pytest
from biip.checksums import gs1_standard_check_digit
from biip.gs1_messages import GS1Message
from hypothesis import given
from hypothesis import strategies as st

from shared_models.calculations.part_codes import (
    HIBC_ALPHABET,
    PartCode,
    Question,
    gs1_check_digit,
    hibc_check_character,
    read_part_code,
)
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence

TODAY = date(2026, 11, 25)
#: FDA, 'UDI formats by FDA-accredited issuing agency', version 1.3, 27 January 2017.
FDA_PRINTED = "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234"
FDA_SCANNED = "0151022222233336" "11141231" "17150707" "10A213B1{gs}" "211234"
FDA_SAYS = {
    "device_identifier": "51022222233336", "lot": "A213B1", "serial": "1234",
    "manufactured_on": "2014-12-31", "expires_on": "2015-07-07",
}
DIGITS = st.text("0123456789", min_size=7, max_size=17)
#: Lots and serials that no part code begins inside of.
MARKS = st.text("BCDEFGHJK", min_size=1, max_size=12)


def refusal_of(text: str) -> Refusal:
    with pytest.raises(Refusal) as refused:
        read_part_code(text, TODAY)
    return refused.value


def readings_of(text: str) -> list[dict[str, str]]:
    question = read_part_code(text, TODAY)
    assert isinstance(question, Question), question
    return [reading.stated() for reading in question.readings]


# Check digits ------------------------------------------------------------------


@pytest.mark.parametrize(("data", "digit"), [
    # FDA, UDI formats by issuing agency (2017); the two others are printed as
    # worked examples by the GS1 member organisations of India and Hong Kong.
    ("5102222223333", "6"), ("890400021003", "7"), ("629104150021", "3"),
])
def test_the_gs1_check_digit_agrees_with_printed_examples(data, digit):
    assert gs1_check_digit(data) == digit


@given(DIGITS)
def test_the_gs1_check_digit_agrees_with_another_library(data):
    assert gs1_check_digit(data) == str(gs1_standard_check_digit(data))


@given(DIGITS, st.data())
def test_every_change_of_one_digit_is_found(data, draw):
    whole = data + gs1_check_digit(data)
    place = draw.draw(st.integers(0, len(whole) - 1))
    digit = draw.draw(st.sampled_from([d for d in "0123456789" if d != whole[place]]))
    changed = whole[:place] + digit + whole[place + 1:]
    assert gs1_check_digit(changed[:-1]) != changed[-1]


@given(DIGITS, st.data())
def test_swapped_neighbours_are_found_unless_they_differ_by_five(data, draw):
    whole = data + gs1_check_digit(data)
    place = draw.draw(st.integers(0, len(whole) - 2))
    one, two = whole[place], whole[place + 1]
    swapped = whole[:place] + two + one + whole[place + 2:]
    is_found = gs1_check_digit(swapped[:-1]) != swapped[-1]
    assert is_found == (abs(int(one) - int(two)) not in (0, 5))


HIBC_CODES = [
    # Worked example of the modulo 43 check printed by the code's council.
    "+A123BJC5D6E71G",
    "+A123BJC5D6E71/$$52001510X3C",
    # Printed as an example of a joined code; the next four follow its form.
    "+X999123ABC0/$$05191234AB/S5678EDFG/16D20151001A",
    "+X999123ABC0/$$20515191234AB/S5678EDFG/16D20151001I",
    "+X999123ABC0/$$31905151234AB/S5678EDFG/16D20151001J",
    "+X999123ABC0/$$4190515211234AB/S5678EDFG/16D20151001N",
    "+X999123ABC0/$1234AB/S5678EDFG/16D20151001/14D20190515.",
]


@pytest.mark.parametrize("code", HIBC_CODES)
def test_the_hibc_check_character_agrees_with_printed_examples(code):
    assert hibc_check_character(code[:-1]) == code[-1]


@given(st.text(HIBC_ALPHABET, min_size=2, max_size=20), st.data())
def test_hibc_finds_every_change_of_one_character_and_never_a_swap(data, draw):
    """A plain sum: what it can't find is said here, so that nobody relies on it."""
    place = draw.draw(st.integers(0, len(data) - 1))
    other = draw.draw(st.sampled_from([c for c in HIBC_ALPHABET if c != data[place]]))
    right = hibc_check_character(data)
    assert hibc_check_character(data[:place] + other + data[place + 1:]) != right
    assert hibc_check_character("".join(draw.draw(st.permutations(data)))) == right


# GS1 -----------------------------------------------------------------------------


@pytest.mark.parametrize("separator", [
    "\x1d", "<GS>", "~", "~1", "|", "{GS}", "\u241d", "#", "^]",
])
def test_the_printed_example_reads_alike_however_the_separator_is_typed(separator):
    code = read_part_code(FDA_SCANNED.format(gs=separator), TODAY)
    assert code.stated() == FDA_SAYS
    assert (code.issuer, code.supplied, code.further) == ("GS1", 0, ())


@pytest.mark.parametrize("text", [
    FDA_PRINTED, FDA_PRINTED.replace("(", " (").replace(")", ") "),
    "]d2" + FDA_SCANNED.format(gs="\x1d"), "\x1d" + FDA_SCANNED.format(gs="\x1d") + "\r\n",
])
def test_the_printed_form_and_what_scanners_put_around_it_read_alike(text):
    assert read_part_code(text, TODAY).stated() == FDA_SAYS


def test_a_missing_separator_is_asked_about_and_the_right_reading_is_among_the_answers():
    answers = readings_of(FDA_SCANNED.format(gs=""))
    assert FDA_SAYS in answers
    assert {"lot": "A213B1211234"}.items() <= answers[0].items(), "as it stands comes first"
    # Any library that cuts on goes wrong here without a word.
    assert GS1Message.parse(FDA_SCANNED.format(gs="")).element_strings.get(ai="21") is None


@given(lot=st.text("0123456789ABC", min_size=1, max_size=12), serial=st.text("0123456789ABC", min_size=1, max_size=8))
def test_without_its_separator_a_serial_is_never_given_as_if_it_were_sure(lot, serial):
    """Whatever lot and serial are: a sure reading is the true one, or the truth is asked for."""
    truth = {"device_identifier": "51022222233336", "lot": lot, "serial": serial}
    try:
        found = read_part_code(f"015102222223333610{lot}21{serial}", TODAY)
    except Refusal as refused:
        assert refused.code == "part_code_too_unclear"
        return
    assert isinstance(found, Question)
    assert truth in [reading.stated() for reading in found.readings]


@given(lot=MARKS, serial=MARKS, made=st.dates(date(2000, 1, 1), date(2070, 12, 31)))
def test_with_its_separators_a_code_reads_as_the_other_library_reads_it(lot, serial, made):
    text = f"0151022222233336" f"11{made:%y%m%d}" f"10{lot}\x1d21{serial}"
    today = datetime.now(timezone.utc).date()
    code, other = read_part_code(text, today), GS1Message.parse(text).element_strings
    assert isinstance(code, PartCode)
    assert (code.lot, code.serial) == (other.get(ai="10").value, other.get(ai="21").value)
    assert code.manufactured_on == other.get(ai="11").date.isoformat() == made.isoformat()


@pytest.mark.parametrize("text", [
    FDA_PRINTED.replace("33336(", "33335("), FDA_SCANNED.format(gs="\x1d").replace("33336", "33335"),
    "11141231" "0151022222233335", "10A1\x1d0151022222233335",
])
def test_a_wrong_check_digit_refuses_though_the_library_returns_a_message(text):
    refusal = refusal_of(text)
    assert refusal.code == "part_code_check_wrong"
    assert (refusal.figures["found"], refusal.figures["right"]) == ("5", "6")
    if text[0] != "(":
        assert GS1Message.parse(text).element_strings.get(ai="01") is not None


@pytest.mark.parametrize(("written", "meant"), [("150200", "2015-02-28"), ("160200", "2016-02-29"), ("151200", "2015-12-31")])
def test_day_nought_is_the_last_day_of_the_month(written, meant):
    """GS1 General Specifications, dates."""
    assert read_part_code(f"0151022222233336" f"17{written}", TODAY).expires_on == meant


@pytest.mark.parametrize(("year", "today", "meant"), [
    ("76", date(2026, 1, 1), "2076"), ("77", date(2026, 1, 1), "1977"), ("00", date(2026, 1, 1), "2000"),
    ("45", date(2095, 1, 1), "2145"), ("46", date(2095, 1, 1), "2046"),
])
def test_two_figures_of_a_year_lie_within_fifty_years(year, today, meant):
    """GS1 General Specifications, 7.12: 49 years back, 50 ahead."""
    assert read_part_code(f"0151022222233336" f"17{year}0101", today).expires_on == f"{meant}-01-01"


def test_a_day_that_does_not_exist_is_no_date():
    assert refusal_of("(01)51022222233336(17)150231").code == "part_code_element_wrong"


def test_a_number_without_any_mark_of_gs1_may_be_the_makers_own():
    assert readings_of("2134567") == [{"serial": "34567"}, {"serial": "2134567"}]
    assert read_part_code("]C12134567", TODAY).serial == "34567"


def test_a_bare_trade_item_number_is_the_device_identifier():
    """As the GS1 member organisation of India prints it."""
    assert read_part_code("8904000210037", TODAY).stated() == {"device_identifier": "08904000210037"}


@pytest.mark.parametrize(("text", "code"), [
    ("KN-0042", "part_code_unknown"), ("", "part_code_empty"), (" \r\n", "part_code_empty"),
    ("0151022222", "part_code_unknown"), ("(01)51022222233336(10)", "part_code_element_wrong"),
    ("(99999)1", "part_code_wrong_form"), ("(01)51022222233336(05)1", "part_code_ai_unknown"),
    ("10A1\x1d10A2", "part_code_unknown"), ("(10)A1(10)A2", "part_code_says_twice"),
    ("10A1|21B2\x1d30" "4", "part_code_two_separators"), ("0151022222233336" "10Ä4", "part_code_strange_character"),
    ("1" * 400, "part_code_too_long"),
])
def test_what_can_not_be_read_is_refused_with_what_would_be_right(text, code):
    refusal = refusal_of(text)
    assert refusal.code == code
    assert refusal_sentence(refusal).endswith(".") and "not stated" not in refusal_sentence(refusal)


@given(st.text(max_size=80) | st.text("0123456789()+$/~", max_size=200))
def test_no_text_whatever_breaks_the_reading(text):
    try:
        found = read_part_code(text, TODAY)
    except Refusal as refusal:
        assert refusal_sentence(refusal)
    else:
        assert isinstance(found, PartCode | Question)


def test_a_text_with_no_end_of_readings_is_refused_in_good_time():
    hard = "0151022222233336" + "10" + "2110" * 60
    assert refusal_of(hard).code in ("part_code_too_unclear", "part_code_unknown")


# HIBC ----------------------------------------------------------------------------


def hibc(data: str) -> str:
    return data + hibc_check_character(data)


@pytest.mark.parametrize("code", HIBC_CODES[2:])
def test_the_printed_forms_of_a_date_mean_the_same_part(code):
    read = read_part_code(code, TODAY).stated()
    expires = read.pop("expires_on")
    assert read == {
        "device_identifier": "X999123ABC0", "lot": "1234AB", "serial": "5678EDFG",
        "manufactured_on": "2015-10-01",
    }
    # Month and year alone: the last day of the month.
    assert expires == ("2019-05-31" if "$$0519" in code else "2019-05-15")


@pytest.mark.parametrize(("piece", "says"), [
    ("$$52001510X3", {"expires_on": "2020-01-15", "lot": "10X3"}),
    ("$$62001523L1", {"expires_on": "2020-01-15", "lot": "L1"}),
    ("$$7L1", {"lot": "L1"}), ("$L1", {"lot": "L1"}), ("$+S1", {"serial": "S1"}),
    ("$$+0519S1", {"expires_on": "2019-05-31", "serial": "S1"}), ("$$+7S1", {"serial": "S1"}),
    ("$$8050519L1", {"expires_on": "2019-05-31", "lot": "L1"}), ("20015L1", {"expires_on": "2020-01-15", "lot": "L1"}),
])
def test_each_form_of_a_secondary_code(piece, says):
    """HIBC supplier labeling standard, secondary data (forms from memory but the first)."""
    read = read_part_code(hibc(f"+A123BJC5D6E71/{piece}"), TODAY).stated()
    assert read == {"device_identifier": "A123BJC5D6E71", **says}


def test_a_secondary_code_alone_asks_for_the_half_that_its_link_names():
    secondary = hibc("+$$52001510X3G")
    refusal = refusal_of(secondary)
    assert refusal.code == "hibc_secondary_alone" and refusal.figures["link"] == "G"
    assert "first half" in refusal_sentence(refusal)


@pytest.mark.parametrize("between", ["", " ", "\n", "*\n*"])
def test_both_halves_one_after_the_other_make_the_whole(between):
    code = read_part_code("+A123BJC5D6E71G" + between + hibc("+$$52001510X3G"), TODAY)
    assert code.stated() == {"device_identifier": "A123BJC5D6E71", "lot": "10X3", "expires_on": "2020-01-15"}


def test_halves_of_two_parts_are_not_joined():
    assert refusal_of("+A123BJC5D6E71G " + hibc("+$$52001510X3H")).code == "hibc_link_differs"


def test_a_check_character_that_is_a_space_may_be_written_or_lost():
    data = next(f"+A123BJC{n}1" for n in range(1000) if hibc_check_character(f"+A123BJC{n}1") == " ")
    assert read_part_code(data + "_", TODAY) == read_part_code(data + " ", TODAY)
    question = read_part_code(data, TODAY)
    assert isinstance(question, Question) and question.because == "space_may_be_missing"
    assert question.readings == (read_part_code(data + "_", TODAY),)


@pytest.mark.parametrize(("text", "code"), [
    ("+A123BJC5D6E71X", "part_code_check_wrong"), ("+", "part_code_cut_short"),
    (hibc("+1234567"), "hibc_secondary_alone"), (hibc("+A12"), "part_code_wrong_form"),
    (hibc("+A123BJC5D6E71/$$1319L1"), "part_code_no_such_day"), (hibc("+A123BJC5D6E71/14D20191301"), "part_code_no_such_day"),
    (hibc("+A123BJC5D6E71/$L1/$L2"), "part_code_says_twice"), (hibc("+A123BJC5D6E71//S1"), "part_code_wrong_form"),
    ("+A123é1", "part_code_strange_character"),
])
def test_an_hibc_code_that_can_not_be_is_refused(text, code):
    assert refusal_of(text).code == code


@given(product=st.text("ABCDEFGHJKLMNP0123456789", min_size=1, max_size=18), lot=MARKS, serial=MARKS)
def test_what_was_written_into_a_joined_hibc_code_is_read_out_of_it(product, lot, serial):
    code = read_part_code(hibc(f"+B4C2{product}0/$$0928{lot}/S{serial}"), TODAY)
    assert code.stated() == {
        "device_identifier": f"B4C2{product}0", "lot": lot, "serial": serial, "expires_on": "2028-09-30",
    }
