"""Drawn signatures and photos on the page that the lead clinician reads."""

from __future__ import annotations

import re

import pytest

from mobile.keeping.picture_bytes import bare_jpeg
from shared_models.checks.strokes import Stroke, strokes_body
from sync_server.services.staffing import NewLead, add_lead, found_clinic
from tests.mobile.making_photos import jpeg
from tests.sync_server.photos import sha256
from tests.sync_server.test_attachments import patch
from tests.sync_server.test_deciding import PASSWORD
from tests.sync_server.test_timings_on_the_page import words_of

pytestmark = pytest.mark.both_stores

PHOTO = {
    "photo": "p-1", "shows": "skin", "note": "rim above the knee, red", "sha256": "ab" * 32,
    "media_type": "image/jpeg", "size_kb": "812", "width_px": "4000", "height_px": "3000",
    "taken_at": "2026-11-20 14:03", "marks": strokes_body([Stroke(((0.1, 0.1), (0.5, 0.5)), way="arrow")]),
}
SIGNED = {
    "under": "handover", "who": "person", "printed_name": "Ash <Example>",
    "strokes": strokes_body([Stroke(((0.1, 0.2), (0.5, 0.6), (0.9, 0.2))), Stroke(((0.5, 0.5),))]),
}


def test_a_photo_that_has_not_arrived_says_on_which_tablet_it_is(house, tablet):
    tablet.desk.note("photo", PHOTO)
    assert tablet.desk.verdict().state == "complete"
    assert tablet.push().status_code == 200
    lead = house.lead()
    page = lead.open()
    assert "not yet here: the picture is on tablet tablet-a and comes with its next sync skin rim above the knee, red Marked up, 1 mark. 20 Nov 2026, 14:03" in words_of(page)
    assert "<img" not in page.text
    answer = lead.client.get(f"/fittings/fitting-1/photos/{PHOTO['sha256']}")
    assert answer.status_code == 404 and "not whole" in words_of(answer)


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


@pytest.fixture
def arrived(house, tablet):
    """A photo whose bytes are at the server, with a ring drawn over it."""
    data = bare_jpeg(jpeg(), "photo.jpg")
    ring = strokes_body([Stroke(((0.2, 0.2), (0.6, 0.7)), way="ring")])
    tablet.desk.note("photo", {**PHOTO, "sha256": sha256(data), "width_px": "640", "height_px": "480", "note": "rim <red>", "marks": ring})
    assert tablet.push().status_code == 200
    assert patch(tablet, sha256(data), 0, data, last=True).status_code == 204
    return data


def test_the_picture_itself_is_on_the_page_with_what_was_drawn_over_it(house, tablet, arrived):
    page = house.lead().open()
    place = f"/fittings/fitting-1/photos/{sha256(arrived)}"
    assert re.search(rf'<a class="picture" href="{place}"><img src="{place}" alt="Photo: skin, rim &lt;red&gt;"', page.text)
    over = re.search(r'<svg class="over" viewBox="0 0 133.33 100".*?</svg>', page.text, re.S)[0]
    assert over.count("<path") == 2, "a ring, and the white around it"
    assert "taken on tablet tablet-a" in words_of(page) and "not yet here" not in page.text


def test_the_picture_is_given_as_what_its_bytes_are_and_it_is_noted_who_saw_it(house, tablet, arrived):
    lead = house.lead()
    answer = lead.client.get(f"/fittings/fitting-1/photos/{sha256(arrived)}")
    assert answer.status_code == 200 and answer.content == arrived
    assert answer.headers["content-type"] == "image/jpeg" and answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-store" and "default-src 'none'" in answer.headers["content-security-policy"]
    last = list(house.audit())[-1]
    assert (last.what, last.subject, last.outcome) == ("see photo", "fitting/fitting-1", "shown")


@pytest.mark.parametrize("fitting, name", [
    ("fitting-2", None), ("fitting-1", "cd" * 32), ("fitting-1", "..%2f..%2fserver.sqlite"), ("fitting-1", "AB" * 32),
])
def test_a_picture_that_the_fitting_does_not_show_is_not_found(house, tablet, arrived, fitting, name):
    answer = house.lead().client.get(f"/fittings/{fitting}/photos/{name or sha256(arrived)}")
    assert answer.status_code == 404 and arrived not in answer.content


def test_a_photo_that_was_taken_out_is_not_shown_any_more(house, tablet, arrived):
    tablet.desk.withdraw(tablet.desk.head("photo/p-1"))
    assert tablet.push().status_code == 200
    lead = house.lead()
    assert sha256(arrived) not in lead.open().text
    assert lead.client.get(f"/fittings/fitting-1/photos/{sha256(arrived)}").status_code == 404


def test_nobody_without_a_session_and_no_other_clinic_sees_a_picture(house, tablet, arrived):
    place = f"/fittings/fitting-1/photos/{sha256(arrived)}"
    answer = house.client().get(place)
    assert answer.status_code == 303 and answer.headers["location"].startswith("/log-in")
    other = found_clinic(house.station, "Another clinic")
    add_lead(house.station, house.server.door.accounts, other, NewLead("other.lead", "Other Lead (invented)", PASSWORD))
    abroad = house.lead(logged_in=False)
    assert abroad.log_in("other.lead", PASSWORD).status_code == 303
    assert abroad.client.get(place).status_code == 404
