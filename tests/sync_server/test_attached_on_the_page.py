"""Drawn signatures and photos on the page that the lead clinician reads."""

from __future__ import annotations

import re

from shared_models.checks.strokes import Stroke, strokes_body
from tests.sync_server.test_timings_on_the_page import words_of

PHOTO = {
    "photo": "p-1", "shows": "skin", "note": "rim above the knee, red", "sha256": "ab" * 32,
    "media_type": "image/jpeg", "size_kb": "812", "width_px": "4000", "height_px": "3000",
    "taken_at": "2026-11-20 14:03", "marks": strokes_body([Stroke(((0.1, 0.1), (0.5, 0.5)), way="arrow")]),
}
SIGNED = {
    "under": "handover", "who": "person", "printed_name": "Ash <Example>",
    "strokes": strokes_body([Stroke(((0.1, 0.2), (0.5, 0.6), (0.9, 0.2))), Stroke(((0.5, 0.5),))]),
}


def test_a_photo_is_a_line_that_says_on_which_tablet_it_lies(house, tablet):
    tablet.desk.note("photo", PHOTO)
    assert tablet.desk.verdict().state == "complete"
    assert tablet.push().status_code == 200
    said = words_of(house.lead().open())
    assert "skin rim above the knee, red Marked up, 1 mark. 2026-11-20 14:03 photo, on tablet" in said
    assert "The pictures themselves stay on the tablet that took them." in said


def test_a_drawn_signature_is_drawn_to_scale_with_what_it_is_and_is_not(house, tablet):
    tablet.desk.note("drawn_signature", SIGNED)
    assert tablet.push().status_code == 200
    page = house.lead().open()
    drawing = re.search(r'<svg class="drawn" viewBox="0 0 250 100".*?</svg>', page.text, re.S)[0]
    assert "M25.00 80.00 L125.00 40.00 L225.00 80.00" in drawing and drawing.count("<path") == 2
    said = words_of(page)
    assert "it does not prove who drew it" in said
    assert "drawn under the name Ash <Example> (the person)" in said and "<Example>" not in page.text


def test_a_signature_whose_ground_has_changed_and_one_refused_say_so(house, tablet):
    desk = tablet.desk
    desk.note("drawn_signature", SIGNED)
    desk.note("drawn_signature", {**SIGNED, "under": "consent", "strokes": [], "not_signed_because": "said_aloud"})
    desk.correct(desk.head("handover"), whom_to_call="the other bench")
    assert tablet.push().status_code == 200
    said = words_of(house.lead().open())
    assert "What it stands under has changed since it was signed." in said
    assert "not signed by Ash <Example> (the person): agreed aloud instead" in said


def test_marks_of_another_form_are_refused_and_nothing_of_the_batch_is_taken(house, tablet):
    tablet.desk.note("photo", {**PHOTO, "marks": [{"as": "line", "width": 1, "points": [0]}]})
    assert tablet.push().status_code == 422
