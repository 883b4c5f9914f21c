"""Signing by hand, and photos taken in, marked up and kept: at the screen, by touches and real files."""

from __future__ import annotations

import hashlib
import io
import math
import threading

import pytest
from PIL import Image

from shared_models.checks.attached import drawn_in, photos_in
from shared_models.checks.strokes import Stroke, strokes_body
from shared_models.ledger.attachments import PIECE_BYTES
from mobile.flows.drawn import DrawnForm
from mobile.flows.photos import PhotoForm, take_in
from tests.journeys.at_work import PINS, PROSTHETIST, joined, open_fitting, sync, to_the_bench
from tests.journeys.test_bad_days import FullDisk
from tests.journeys.test_fitting_pages import SIZES, at_work, hands, must_fit, show_fitting  # noqa: F401
from tests.mobile.making_photos import SERIAL, jpeg, scene

WAVE = [(0.1 + 0.8 * n / 40, 0.5 + 0.3 * math.sin(n / 3)) for n in range(41)]
PHOTOS = "photos"


@pytest.fixture
def handed_over(at_work):  # noqa: F811
    """A fitting that only waits for what nobody has to do."""
    _, _, desk = at_work
    desk.before_the_bench().on_the_bench().tune().close().hand_over()
    return desk


@pytest.fixture
def with_photo(handed_over, at_work):  # noqa: F811
    """A photo of a shoe lies in the tablet's folder; returns the file."""
    tablet, _, _ = at_work
    tablet.photos_folder.mkdir()
    path = tablet.photos_folder / "shoe.jpg"
    path.write_bytes(jpeg(scene(1200, 900)))
    return path


def draw(finger, pad, shares):
    """Draw through these shares of a pad's frame."""
    left, bottom, wide, high = pad.frame
    finger.drag([pad.to_window(left + x * wide, bottom + y * high) for x, y in shares])


def show(on_screen, finger, at_work, step, slot):  # noqa: F811
    tablet, session, _ = at_work
    stage = on_screen(tablet, session)
    stage.go_fitting("fitting-1", step, slot)
    finger.settle()
    return stage


def choose(finger, stage, name):
    """Choose a file of the folder, and wait until its picture is shown."""
    finger.tap("choose_file")
    finger.tap(f"file:{name}")
    finger.wait_for(lambda: finger.is_there("photo:pad"), what="the photo's page")
    finger.wait_for(lambda: stage.page.pad.has_picture, what="the picture")
    finger.settle()


# Signing by hand ----------------------------------------------------------------------


def test_the_person_signs_the_handover_by_hand_and_what_it_is_stands_beside_it(handed_over, at_work, on_screen, finger):  # noqa: F811
    _, session, _ = at_work
    page = show_fitting(on_screen, finger, at_work, "handover")
    page.show_cards()
    finger.settle()
    assert finger.sees("Nothing waits for it.")
    finger.tap("drawn:handover")
    assert finger.sees("Whom to call: the clinic"), "what is signed is there to be read"
    assert finger.sees("it does not prove who drew it")
    draw(finger, finger.find("signature:paper"), WAVE)
    finger.tap("save")
    (drawn,) = drawn_in(session.fitting("fitting-1"), "handover")
    assert (drawn.who, drawn.printed_name, drawn.stands) == ("person", "Ash Example", True)
    assert len(drawn.strokes) == 1 and len(drawn.strokes[0].points) > 10
    assert session.verdict("fitting-1").is_complete
    assert finger.sees("drawn under the name Ash Example (the person)")


def test_an_empty_paper_is_refused_and_a_reason_is_enough(handed_over, at_work, on_screen, finger):  # noqa: F811
    _, session, _ = at_work
    show(on_screen, finger, at_work, "person", "drawn/consent")
    before = session.entries.count()
    finger.tap("save")
    assert finger.sees("Nothing is drawn yet.") and session.entries.count() == before
    finger.tap("field:not_signed_because=can_not")
    draw(finger, finger.find("signature:paper"), WAVE)
    finger.tap("save")
    assert finger.sees("also a reason why it is not signed") and session.entries.count() == before
    finger.tap("signature:clear")
    finger.tap("save")
    (drawn,) = drawn_in(session.fitting("fitting-1"), "consent")
    assert (drawn.because, drawn.strokes) == ("can_not", ())


def test_a_guardian_signs_with_their_own_name(handed_over, at_work, on_screen, finger):  # noqa: F811
    _, session, _ = at_work
    show(on_screen, finger, at_work, "person", "drawn/consent")
    finger.tap("field:who=guardian")
    assert finger.find("field:printed_name").text == ""
    draw(finger, finger.find("signature:paper"), WAVE)
    finger.tap("save")
    assert finger.find("field:printed_name").message, "whoever signs is named"
    hands(finger).enter("printed_name", "Bo Example")
    finger.tap("save")
    (drawn,) = drawn_in(session.fitting("fitting-1"), "consent")
    assert (drawn.who, drawn.printed_name) == ("guardian", "Bo Example")


def test_a_half_drawn_signature_is_there_after_the_app_was_killed(handed_over, at_work, on_screen, finger):  # noqa: F811
    tablet, session, _ = at_work
    show(on_screen, finger, at_work, "handover", "drawn/handover")
    draw(finger, finger.find("signature:paper"), WAVE)
    drawn = finger.find("signature").strokes
    stage = on_screen(tablet, session)  # as after a start: from what the store holds
    assert stage.page.under == "handover" and finger.sees("Taken up again.")
    kept = finger.find("signature").strokes
    assert [len(s.points) for s in kept] == [len(s.points) for s in drawn]
    finger.tap("signature:undo")
    assert not session.draft("fitting/fitting-1/drawn/handover")["strokes"]


def test_a_handover_changed_after_it_was_signed_asks_for_another_signature(handed_over, at_work, on_screen, finger):  # noqa: F811
    _, session, desk = at_work
    line = strokes_body([Stroke(tuple(WAVE))])
    desk.note("drawn_signature", {"under": "handover", "who": "person", "printed_name": "Ash", "strokes": line})
    desk.correct(desk.head("handover"), whom_to_call="the other bench")
    show(on_screen, finger, at_work, "handover", "drawn/handover")
    assert finger.sees("What it stands under has changed since it was signed.")
    finger.tap("again")
    draw(finger, finger.find("signature:paper"), WAVE)
    finger.tap("save")
    assert drawn_in(session.fitting("fitting-1"), "handover")[0].stands


def test_a_signature_under_the_wrong_fitting_is_taken_out(handed_over, at_work, on_screen, finger):  # noqa: F811
    _, session, desk = at_work
    desk.note("drawn_signature", {"under": "consent", "who": "person", "printed_name": "Ash", "strokes": strokes_body([Stroke(tuple(WAVE))])})
    show(on_screen, finger, at_work, "person", "drawn/consent")
    finger.tap("withdraw")
    finger.tap("correction:confirm")
    assert drawn_in(session.fitting("fitting-1"), "consent") == []


def test_a_consent_that_was_not_given_can_not_be_signed(handed_over, at_work, on_screen, finger):  # noqa: F811
    _, session, desk = at_work
    stage = show(on_screen, finger, at_work, "person", "drawn/consent")
    desk.correct(desk.head("consent"), given=False)
    stage.go_fitting("fitting-1", "person", "drawn/consent")
    finger.settle()
    assert finger.sees("is answered no") and not finger.is_there("signature")
    desk.withdraw(desk.head("handover"))
    stage.go_fitting("fitting-1", "handover", "drawn/handover")
    finger.settle()
    assert finger.sees("Handover: not recorded yet.") and not finger.is_there("signature")


# Photos -------------------------------------------------------------------------------


def test_a_photo_is_chosen_marked_up_and_saved_with_its_bytes_and_without_its_place(with_photo, at_work, on_screen, finger):  # noqa: F811
    _, session, _ = at_work
    stage = show(on_screen, finger, at_work, "skin_end", PHOTOS)
    assert finger.sees("leave faces out")
    choose(finger, stage, "shoe.jpg")
    assert session.entries.attachments(named=True) == {}, "nothing of it is in the record yet"
    finger.tap("field:shows=shoe")
    draw(finger, stage.page.pad, [(0.2, 0.2), (0.6, 0.7)])
    finger.tap("field:way=ring")
    draw(finger, stage.page.pad, [(0.5, 0.5), (0.8, 0.9)])
    finger.tap("save")
    (photo,) = photos_in(session.fitting("fitting-1"))
    assert (photo.shows, [mark.way for mark in photo.marks]) == ("shoe", ["arrow", "ring"])
    assert photo.marks[0].points[0] == pytest.approx((0.2, 0.2), abs=0.01)
    assert photo.marks[0].points[1] == pytest.approx((0.6, 0.7), abs=0.01)
    data = session.entries.attachment(photo.sha256)
    assert hashlib.sha256(data).hexdigest() == photo.sha256
    assert Image.open(io.BytesIO(data)).tobytes() == Image.open(with_photo).tobytes(), "the photo itself is untouched"
    assert SERIAL.encode() not in data and not Image.open(io.BytesIO(data)).getexif()
    assert with_photo.exists(), "a file that somebody chose stays where it is"
    body = photo.entry.body
    assert (body["taken_at"], body["at_step"]) == ("2026-11-20 14:03", "skin_end")
    assert session.verdict("fitting-1").is_complete
    stage.go_sync()
    finger.settle()
    assert finger.sees("1 photo not sent yet") and finger.sees("each photo stays here until the server has it whole")


@pytest.mark.parametrize(("name", "data", "sentence"), [
    ("notes.jpg", b"left shoe, see notes" * 30, "is no picture, whatever its name says"),
    ("phone.heic", b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(300), "is a HEIC picture"),
    ("half.jpg", jpeg(scene(900, 600))[:9000], "is cut short or damaged"),
    ("empty.png", b"", "is empty"),
    ("gone.jpg", None, "is not there any more"),
])
def test_a_file_that_is_no_photo_is_refused_in_words_and_nothing_is_kept(handed_over, at_work, on_screen, finger, name, data, sentence):  # noqa: F811
    tablet, session, _ = at_work
    tablet.photos_folder.mkdir()
    path = tablet.photos_folder / name
    path.write_bytes(b"x" if data is None else data)
    show(on_screen, finger, at_work, "components", PHOTOS)
    finger.tap("choose_file")
    if data is None:
        path.unlink()
    finger.tap(f"file:{name}")
    finger.wait_for(lambda: finger.is_there("trouble"), what="the refusal")
    assert finger.sees(f"{name} {sentence}")
    assert session.entries.attachments() == {} and session.entries.draft_places("fitting/fitting-1/photo/") == ()


def test_cancelling_while_a_photo_is_kept_leaves_nothing_of_it(with_photo, at_work, on_screen, finger):  # noqa: F811
    tablet, session, _ = at_work
    show(on_screen, finger, at_work, "skin_end", PHOTOS)
    finger.tap("choose_file")
    with tablet.store.writing():  # the worker waits for this until it was cancelled
        finger.tap("file:shoe.jpg")
        finger.tap("photo:progress:cancel")
    finger.wait_for(lambda: finger.is_there("trouble"), what="the end of the work")
    assert finger.sees("Cancelled: nothing of the photo was kept.")
    assert session.entries.attachments() == {}


def test_a_full_disk_while_a_photo_is_kept_is_said_and_the_photo_is_kept_once_there_is_room(with_photo, at_work, on_screen, finger):  # noqa: F811
    tablet, session, _ = at_work
    noise = Image.effect_noise((1600, 1200), 90).convert("RGB")
    with_photo.write_bytes(jpeg(noise))
    assert len(with_photo.read_bytes()) > 2 * PIECE_BYTES
    show(on_screen, finger, at_work, "skin_end", PHOTOS)
    finger.tap("choose_file")
    disk = FullDisk(tablet)
    disk.fill()
    finger.tap("file:shoe.jpg")
    finger.wait_for(lambda: finger.is_there("trouble"), what="the refusal")
    assert finger.sees("the disk is full") and session.entries.attachments() == {}
    disk.make_room()
    finger.tap("file:shoe.jpg")
    finger.wait_for(lambda: finger.is_there("photo:pad"), what="the photo's page")
    finger.tap("field:shows=skin")
    finger.tap("save")
    (photo,) = photos_in(session.fitting("fitting-1"))
    assert session.entries.attachment(photo.sha256)


def test_a_photo_taken_in_and_marked_is_there_after_the_app_was_killed(with_photo, at_work, on_screen, finger):  # noqa: F811
    tablet, session, _ = at_work
    stage = show(on_screen, finger, at_work, "static", PHOTOS)
    choose(finger, stage, "shoe.jpg")
    draw(finger, stage.page.pad, [(0.2, 0.2), (0.6, 0.7)])
    with_photo.unlink()
    loose = session.entries.keep_attachment(b"cut off half-way")
    again = type(tablet)(tablet.path.parent, tablet.slots._stretch)
    session = again.unlock(PROSTHETIST, PINS[PROSTHETIST])
    try:
        stage = on_screen(again, session)
        finger.wait_for(lambda: stage.page.pad.has_picture, what="the picture")
        assert [mark.way for mark in stage.page.pad.strokes] == ["arrow"]
        assert not session.entries.has_attachment(loose), "what nothing names went at the start"
        finger.tap("save")
        (photo,) = photos_in(session.fitting("fitting-1"))
        assert photo.shows == "side_view" and session.entries.has_attachment(photo.sha256)
    finally:
        again.close()


def test_a_photo_thrown_away_before_saving_leaves_no_bytes(with_photo, at_work, on_screen, finger):  # noqa: F811
    _, session, _ = at_work
    stage = show(on_screen, finger, at_work, "skin_end", PHOTOS)
    choose(finger, stage, "shoe.jpg")
    assert len(session.entries.attachments()) == 1
    finger.tap("throw_away")
    assert session.entries.attachments() == {} and finger.sees("No photo yet.")


def test_what_a_photo_shows_is_corrected_and_a_wrong_photo_taken_out(with_photo, at_work, on_screen, finger):  # noqa: F811
    _, session, _ = at_work
    stage = show(on_screen, finger, at_work, "skin_end", PHOTOS)
    choose(finger, stage, "shoe.jpg")
    finger.tap("save")
    finger.tap(finger.find_all("photo/")[0])
    finger.tap("correct")
    finger.tap("save")
    assert finger.sees("Nothing differs from what is recorded.")
    finger.tap("field:shows=component")
    finger.tap("save")
    (photo,) = photos_in(session.fitting("fitting-1"))
    assert (photo.shows, photo.entry.because_code) == ("component", "mistyped")
    finger.tap("withdraw")
    finger.tap("correction:confirm")
    assert photos_in(session.fitting("fitting-1")) == [] and finger.sees("No photo yet.")
    assert session.entries.has_attachment(photo.sha256), "what was once in the record stays"


def test_a_photo_of_another_tablet_says_where_it_lies(handed_over, at_work, on_screen, finger):  # noqa: F811
    _, session, desk = at_work
    entry = desk.note("photo", {
        "photo": "p-1", "shows": "skin", "sha256": "ab" * 32, "media_type": "image/jpeg",
        "size_kb": "12", "width_px": "400", "height_px": "300",
    })
    show(on_screen, finger, at_work, "skin_end", PHOTOS)
    assert finger.sees(f"photo, on tablet {entry.tablet}")
    finger.tap("photo/p-1")
    assert finger.is_there("elsewhere") and finger.sees(f"Photo, on tablet {entry.tablet}.") and not finger.is_there("photo:pad")


def test_the_cameras_own_file_goes_once_the_photo_is_sealed(handed_over, at_work, on_screen, finger, monkeypatch):  # noqa: F811
    from mobile.device import camera

    tablet, session, _ = at_work
    taken = jpeg(scene(800, 600), turn=6)

    def leaves_a_file(path, on_taken):
        """Stands in for a tablet's camera, which none of these machines has."""
        path.write_bytes(taken)
        thread = threading.Thread(target=on_taken)
        thread.start()
        thread.join()

    monkeypatch.setattr(camera, "is_there", lambda: True)
    monkeypatch.setattr(camera, "take", leaves_a_file)
    stage = show(on_screen, finger, at_work, "static", PHOTOS)
    finger.tap("take_photo")
    finger.wait_for(lambda: finger.is_there("photo:pad"), what="the photo's page")
    finger.wait_for(lambda: stage.page.pad.has_picture, what="the picture")
    assert list(tablet.camera_folder.iterdir()) == []
    assert finger.sees("Turned upright and kept anew as a JPEG")
    finger.tap("save")
    (photo,) = photos_in(session.fitting("fitting-1"))
    assert (photo.entry.body["width_px"], photo.entry.body["height_px"]) == ("600", "800")


def test_where_no_camera_is_there_it_is_said_and_a_file_may_be_chosen(handed_over, at_work, on_screen, finger):  # noqa: F811
    show(on_screen, finger, at_work, "static", PHOTOS)
    assert finger.sees("There is no camera here that the app may use") and not finger.is_there("take_photo")
    finger.tap("choose_file")
    assert finger.sees("Put a JPEG, PNG or WebP file into the folder")


def test_photos_are_a_press_away_from_alignment_and_skin(handed_over, at_work, on_screen, finger):  # noqa: F811
    page = show_fitting(on_screen, finger, at_work, "static", "alignment/static")
    for step, slot in (("static", "alignment/static"), ("skin_first", "skin/first")):
        page.stage.go_fitting("fitting-1", step, slot)
        finger.settle()
        finger.tap("photos")
        assert finger.sees("leave faces out")


def test_a_photo_and_a_signature_of_one_tablet_are_read_on_another_that_has_no_bytes(server, new_code, tmp_path, on_screen, finger):
    (one, a), (two, b) = (
        joined(tmp_path / name, server.address, new_code(), f"photos-{name}") for name in ("a", "b")
    )
    try:
        fitting = open_fitting(a, "D-3901")
        to_the_bench(a, fitting)
        form = DrawnForm(a, fitting, "consent")
        form.draw([Stroke(tuple(WAVE))])
        form.save()
        one.photos_folder.mkdir()
        (one.photos_folder / "shoe.jpg").write_bytes(jpeg())
        work = take_in(a, one.photos_folder / "shoe.jpg")
        finger.wait_for(lambda: work.drain() or work.done, what="the photo")
        PhotoForm.begin(a, fitting, "components", work.result).save()
        for session in (a, b):
            assert sync(session).refused == ()
        view = b.fitting(fitting)
        assert drawn_in(view, "consent")[0].strokes == drawn_in(a.fitting(fitting), "consent")[0].strokes
        stage = on_screen(two, b)
        stage.go_fitting(fitting, "components", PHOTOS)
        finger.settle()
        assert finger.sees("photo, on tablet photos-a"), "by the name that the clinic gave it"
        assert b.photos_here() == 0 and a.photos_here() == 1
    finally:
        one.close()
        two.close()


@pytest.mark.plain_way
@pytest.mark.parametrize(("way_up", "type_size", "theme_name"), [
    ("landscape", 1.0, "sun"), ("landscape", 1.5, "dim"), ("portrait", 1.0, "dim"), ("portrait", 1.5, "sun"),
])
def test_the_pages_of_signatures_and_photos_fit_either_way_up(with_photo, at_work, on_screen, finger, window, way_up, type_size, theme_name):  # noqa: F811
    from mobile.device.finding import window_box
    from mobile.widgets.theme import theme

    tablet, session, desk = at_work
    theme.font_scale, theme.name = type_size, theme_name
    window.set_size(*SIZES[way_up])
    stage = show(on_screen, finger, at_work, "handover", "drawn/handover")
    left, bottom, right, top = window_box(stage.page.pad.paper)
    assert right - left >= 300 and top - bottom >= 120
    assert 0 <= left and right <= window.width and bottom >= 0, "the whole paper is in sight"
    finger.tap("save")
    must_fit(window, stage.page)
    draw(finger, stage.page.pad.paper, WAVE)
    finger.tap("save")
    stage.go_fitting("fitting-1", "handover", "drawn/handover")
    finger.settle()
    must_fit(window, stage.page)
    stage.go_fitting("fitting-1", "skin_end", PHOTOS)
    finger.settle()
    must_fit(window, stage.page)
    choose(finger, stage, "shoe.jpg")
    must_fit(window, stage.page)
    finger.tap("field:shows=shoe")
    finger.tap("save")
    finger.settle()
    must_fit(window, stage.page)
    finger.tap(finger.find_all("photo/")[0])
    must_fit(window, stage.page)
    finger.tap("correct")
    must_fit(window, stage.page)


