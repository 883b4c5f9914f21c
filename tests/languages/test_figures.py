"""A figure is read as its reader writes it; what is recorded, and what is a name, keeps its point."""

from decimal import Decimal

import pytest

from shared_models.checks.entering import Limits, read_amount
from shared_models.checks.sheet_entering import body_from
from shared_models.checks.sheet_typed import typed_of
from shared_models.catalogue.sheets import DEMO_SHEETS, demo_sheet
from shared_models.drawings.adjuster import AdjusterShown, adjuster_scene
from shared_models.drawings.scene import Label
from shared_models.language import MARKED, counted, figure_said, filled, in_language, number_words, spoken
from shared_models.language.figures import NO_FIGURES
from shared_models.papers.course_on_paper import course_rows
from shared_models.quantities.units import shown_in
from shared_models.wording.course_lines import course_of
from tests.fitting_desk import Desk


@pytest.mark.parametrize("language, said", [("en", "12.500"), ("de", "12,500"), ("he", "12.500"), (MARKED, "12\N{ARABIC DECIMAL SEPARATOR}500")])
def test_a_torque_has_the_decimal_sign_of_its_reader_and_all_its_digits(language, said):
    with in_language(language):
        assert figure_said("12.500") == said
        assert spoken("asked {asked}", asked="12.500").count(said) == 1
        assert number_words(12.5, ".3f") == said


@pytest.mark.parametrize("text", ["4 Mar 2026, 10:42 UTC+2", "1.2.3", "A-1.5", "10.1016/j.apmr", "5 ft 11.5 in", "wall 1.5", "1.", ".5", ""])
def test_text_that_is_no_plain_figure_stays_as_it_is(text):
    with in_language("de"):
        assert figure_said(text) == text


def test_thousands_are_never_set_apart():
    with in_language("de"):
        assert figure_said("12500") == "12500" and figure_said("12500.5") == "12500,5"


@pytest.mark.parametrize("name", sorted(NO_FIGURES))
def test_a_version_a_serial_number_and_a_name_keep_their_point_in_a_sentence(name):
    with in_language("de"):
        assert spoken("{%s}" % name, **{name: "1.25"}) == "1.25"


def test_a_number_that_a_sentence_rounds_itself_has_the_readers_sign():
    with in_language("de"):
        assert filled("{gap_s:.2f} s, {off}", {"gap_s": 0.5, "off": Decimal("-1.50")}) == "0,50 s, -1,50"


def test_what_was_typed_with_a_comma_is_recorded_with_a_point_in_every_language():
    for language in ("en", "de"):
        with in_language(language):
            assert read_amount("12,500", Limits("N·m", "0", "100")).value == "12.500"
            assert shown_in("12.500", "N·m", "N·m", 3) == "12.5"


def test_a_refusal_says_the_range_with_the_readers_sign_and_what_was_typed_as_typed():
    with in_language("de"):
        refused = read_amount("900.5", Limits("mm", "0.5", "80.5"))
    assert refused.figures["typed"] == "900.5"
    assert "0,5" in refused.figures["range"] and "80,5" in refused.figures["range"]


def test_a_sheets_form_shown_with_commas_is_read_back_as_the_same_sheet():
    """Amounts of the demo sheets are made broken ones, as makers state them."""
    for name in DEMO_SHEETS:
        sheet = {**demo_sheet(name), "mass_limit_kg": "100.5"}
        sheet["screws"] = [{**row, "interim_nm": "5.25", "final_nm": "10.5"} for row in sheet.get("screws", ())]
        read = {}
        for language in ("en", "de"):
            with in_language(language):
                typed = typed_of(sheet)
                read[language] = body_from(typed, sheet)[0]
        assert typed["mass_limit_kg"] == "100,5" and typed["version"] == sheet["version"]
        assert all(typed[f"screws-{n}-final_nm"] == "10,5 N·m" for n in range(len(sheet["screws"])))
        assert read["de"] == read["en"]


def test_an_adjuster_that_turns_in_parts_is_read_with_the_readers_sign_and_unit_on_page_paper_and_dial():
    desk = Desk.finished()
    desk.turn("swing_flexion", "8.5")
    desk.walk("swing_flexion")
    dial = AdjusterShown("V", "turns", Decimal(0), Decimal(4), Decimal("0.25"), Decimal(1), "more", Decimal("1.25"))
    with in_language("de"):
        settings = [said for line in course_of(desk.view) for _, said in line.settings]
        cells = [cell for row in course_rows(desk.view) for cell in row]
        labels = [shape.text for shape in adjuster_scene(dial).shapes if isinstance(shape, Label)]
        plural = counted("turn", "turns", 2)
    assert any(said.endswith("→ 8,5 " + said.rpartition(" ")[2]) for said in settings) and "8,5" in settings
    assert not any("8.5" in text for text in (*settings, *cells))
    assert "1,25" in labels and plural in labels and "turns" not in labels
