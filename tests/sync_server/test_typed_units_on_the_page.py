"""What was typed in another unit reads the same on the review page as on the tablet."""

from __future__ import annotations

import pytest

from tests.sync_server.test_in_a_browser import (  # noqa: F401 (fixtures)
    address,
    browser,
    log_in,
    open_fitting,
    picture,
    watched,
)


def test_a_mass_in_pounds_is_shown_beside_its_kilograms(house, tablet):
    """180 lb = 81.6466266 kg (NIST SP 811)."""
    desk = tablet.desk
    desk.correct(desk.head("body"), body_mass_kg="81.6", as_typed={"body_mass_kg": "180 lb"})
    assert tablet.push().status_code == 200
    page = house.lead().open()
    assert "81.6 kg (typed as 180 lb)" in page.text
    assert "typed as 180 lb, which is another figure" not in page.text


def test_a_figure_that_is_not_what_was_typed_is_a_gap_on_the_page(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("body"), body_mass_kg="80", as_typed={"body_mass_kg": "180 lb"})
    assert tablet.push().status_code == 200
    page = house.lead().open()
    assert "recorded as 80 kg, and was typed as 180 lb, which is another figure. Correct it." in page.text


def test_typed_words_of_another_form_are_refused_and_nothing_of_the_batch_is_stored(house, tablet):
    desk = tablet.desk
    desk.correct(desk.head("body"), body_mass_kg="80", as_typed={"body_mass_kg": ["180 lb"]})
    answer = tablet.push()
    assert answer.status_code == 422 or answer.status_code == 400
    assert "body_wrong_form" in answer.text


@pytest.mark.browser
def test_dates_in_letters_and_both_figures_fit_the_page_at_every_width(house, tablet, address, browser):
    desk = tablet.desk
    desk.correct(desk.head("body"), body_mass_kg="81.6", as_typed={"body_mass_kg": "180 lb"})
    desk.correct(desk.head("footwear"), shoe_heel_height_mm="12.7", as_typed={"shoe_heel_height_mm": "0.5 in"})
    assert tablet.push().status_code == 200
    page, complaints = watched(browser)
    log_in(page, address)
    picture(page, "list-with-dates")
    open_fitting(page)
    picture(page, "fitting-in-two-units")
    assert complaints == []
