"""Which files are offered as photos, and how much goes into one batch."""

from __future__ import annotations

import os

from mobile.flows.photo_files import MOST_LISTED, forget_old, photo_files
from mobile.keeping import outbox
from mobile.keeping.outbox import BYTES_A_BATCH, fitting_part
from shared_models.checks.strokes import MOST_POINTS, Stroke, strokes_body
from tests.fitting_desk import Desk


def file(folder, name, changed_s):
    path = folder / name
    path.write_bytes(b"x")
    os.utime(path, (changed_s, changed_s))
    return path


def test_the_newest_photos_come_first_and_what_is_no_picture_is_not_offered(tmp_path):
    for number, name in enumerate(("a.jpg", "b.PNG", "c.txt", "d.heic", "e.webp")):
        file(tmp_path, name, 1000 + number)
    (tmp_path / "folder.jpg").mkdir()
    assert [p.name for p in photo_files(tmp_path, tmp_path / "not there")] == ["e.webp", "d.heic", "b.PNG", "a.jpg"]


def test_a_folder_of_thousands_offers_the_newest_only(tmp_path):
    for number in range(MOST_LISTED + 40):
        file(tmp_path, f"{number}.jpg", 1000 + number)
    assert [p.name for p in photo_files(tmp_path)][0] == f"{MOST_LISTED + 39}.jpg"
    assert len(photo_files(tmp_path)) == MOST_LISTED


def test_what_the_camera_left_and_nobody_kept_goes_after_a_day(tmp_path):
    old, fresh = file(tmp_path, "old.jpg", 1000), file(tmp_path, "fresh.jpg", 1000 + 20 * 3600)
    forget_old(tmp_path, 1000 + 25 * 3600)
    assert not old.exists() and fresh.exists()


def test_entries_with_much_drawn_in_them_travel_in_batches_that_a_server_takes():
    desk = Desk().staff()
    most = strokes_body([Stroke(((0.12345, 0.98765),) * MOST_POINTS)])
    body = {"under": "consent", "who": "person", "printed_name": "Ash", "strokes": most}
    entry = desk.note("drawn_signature", body)
    entries = [entry] * 500
    start, parts = 0, []
    while start < len(entries):
        parts.append(fitting_part(entries, start))
        start += len(parts[-1])
    assert sum(len(part) for part in parts) == 500 and len(parts) > 2
    assert all(sum(len(e.plaintext()) for e in part) <= BYTES_A_BATCH for part in parts)
    assert outbox.ENTRIES_A_BATCH >= max(len(part) for part in parts)
