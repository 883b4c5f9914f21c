"""Photos on their way to the server: whole and what the record names, or refused in words."""

from __future__ import annotations

import pytest
from PIL import Image

from shared_models.exchange import lane
from shared_models.verify_command import main as verify
from shared_models.wording.refusals import refusal_sentence
from sync_server.main import main
from tests.fitting_desk import CLINIC
from tests.mobile.making_photos import jpeg
from tests.sync_server.conftest import JoinedDesk, make_house
from tests.sync_server.photos import photo_of, png, sha256

pytestmark = pytest.mark.both_stores

PICTURE = png(600_000)
NAME = sha256(PICTURE)


def url(name: str, clinic: str = CLINIC) -> str:
    return f"/exchange/{clinic}/attachments/{name}"


def asking(tablet, log: list | None = None):
    """The tablet's way to ask, as the shared sender wants it."""

    def ask(method, name, headers, content):
        answer = tablet.client.request(method, url(name), headers={**tablet.headers, **headers}, content=content)
        (log if log is not None else []).append((method, answer.status_code, len(content)))
        return lane.Answer(answer.status_code, dict(answer.headers), answer.content)

    return ask


def patch(tablet, name: str, offset: int, data: bytes, last: bool = False, **more):
    headers = {**tablet.headers, "Content-Type": lane.PARTIAL, lane.OFFSET: str(offset),
               lane.COMPLETE: lane.YES if last else lane.NO, **more}
    return tablet.client.patch(url(name), headers=headers, content=data)


def offset(tablet, name: str) -> int:
    return int(tablet.client.head(url(name), headers=tablet.headers).headers[lane.OFFSET])


def state(house, tablet) -> tuple[str, bool, int]:
    told = tablet.client.get(
        f"/exchange/{CLINIC}/verdicts/fitting-1", headers=tablet.headers, params={"day": house.station.today()},
    ).json()
    return told["verdict"]["state"], told["complete"], len(told["attachments_lacking"])


def named(tablet, data: bytes = PICTURE, photo: str = "p-1"):
    """Record a photo and push the record: the photo itself comes after."""
    tablet.desk.note("photo", photo_of(sha256(data), photo))
    assert tablet.push().status_code == 200
    return tablet


def test_a_fitting_is_complete_at_the_server_only_once_its_photo_is_there(house, tablet):
    assert tablet.push().status_code == 200
    assert state(house, tablet) == ("complete", True, 0)
    named(tablet)
    assert state(house, tablet) == ("complete", False, 1)
    page = house.lead().open()
    assert "its picture has not arrived at the server" in page.text
    log: list = []
    lane.send(asking(tablet, log), NAME, len(PICTURE), lambda at, most: PICTURE[at:at + most])
    assert state(house, tablet) == ("complete", True, 0)
    assert "has not arrived" not in house.lead().open().text
    assert [m for m, _, _ in log] == ["HEAD", "PATCH", "PATCH", "PATCH"]
    assert sum(sent for _, _, sent in log) == len(PICTURE)
    log.clear()
    lane.send(asking(tablet, log), NAME, len(PICTURE), lambda *_: b"")
    assert log == [("HEAD", 204, 0)], "a photo that is there never travels again"


def test_a_photo_nobody_named_is_not_taken_and_the_record_goes_first(house, tablet):
    assert tablet.push().status_code == 200
    answer = patch(tablet, NAME, 0, PICTURE[:1000])
    assert (answer.status_code, answer.json()["code"]) == (404, "attachment_not_named")
    assert "Send the record first" in answer.json()["sentence"]
    assert not list(house.server.lane.files.folder.rglob("*.part"))


def test_another_clinics_tablet_neither_sends_nor_gets_it(house, tablet):
    named(tablet)
    stranger = house.tablet(JoinedDesk("tablet-z"), enrolled=False)
    assert stranger.enrol(house.code("clinic-other")).status_code == 200
    for method in ("HEAD", "PATCH", "GET"):
        assert stranger.client.request(method, url(NAME), headers=stranger.headers).status_code == 403
        assert tablet.client.request(method, url(NAME)).status_code == 401
    lane.send(asking(tablet), NAME, len(PICTURE), lambda at, most: PICTURE[at:at + most])
    other = url(NAME, "clinic-other")
    assert stranger.client.get(other, headers=stranger.headers).status_code == 404, "the hash alone opens nothing"


def test_bytes_go_on_where_they_stand_and_nowhere_else(house, tablet):
    named(tablet)
    assert patch(tablet, NAME, 0, PICTURE[:1000]).status_code == 204
    for wrong in (0, 999, 1001, 10**9):
        answer = patch(tablet, NAME, wrong, PICTURE[wrong:wrong + 500])
        assert answer.status_code == (409 if wrong < 10**9 else 413)
        if wrong < 10**9:
            assert answer.headers[lane.OFFSET] == "1000" and answer.json()["figures"]["expected"] == 1000
        assert offset(tablet, NAME) == 1000
    short = patch(tablet, NAME, 1000, PICTURE[1000:2000], last=True, **{lane.LENGTH: str(len(PICTURE))})
    assert (short.status_code, short.json()["code"]) == (400, "upload_length_differs")
    assert offset(tablet, NAME) == 2000, "what came stays"
    assert patch(tablet, NAME, 2000, PICTURE[2000:], last=True).headers[lane.COMPLETE] == lane.YES
    assert patch(tablet, NAME, 0, PICTURE[:10]).json()["code"] == "upload_is_whole"


@pytest.mark.parametrize("headers, status", [
    ({"Content-Type": "image/png"}, 415), ({lane.COMPLETE: "yes"}, 400), ({lane.OFFSET: "-1"}, 400),
    ({lane.LENGTH: "a few"}, 400), ({lane.LENGTH: str(64 * 1024 * 1024)}, 413),
])
def test_a_request_of_another_form_is_refused_and_takes_nothing(house, tablet, headers, status):
    named(tablet)
    answer = patch(tablet, NAME, 0, PICTURE[:1000], **headers)
    assert answer.status_code == status and answer.json()["sentence"]
    assert offset(tablet, NAME) == 0
    assert tablet.client.head(url("../" + NAME[3:]), headers=tablet.headers).status_code in (404, 405)


def _hung_on() -> bytes:
    return PICTURE + b"PK\x03\x04 something else"


def _wide() -> bytes:
    return png(5000, width=20_000, height=20_000)


REFUSED = {
    "attachment_says_where": lambda: jpeg(),
    "attachment_not_a_picture": lambda: b"%PDF-1.7 no picture at all" * 50,
    "attachment_cut_short": lambda: PICTURE[:-40],
    "attachment_more_after_picture": _hung_on,
    "attachment_too_many_pixels": _wide,
}


@pytest.mark.parametrize("code", REFUSED)
def test_what_the_record_must_not_keep_is_refused_in_words_and_dropped(house, tablet, code):
    data = REFUSED[code]()
    named(tablet, data)
    with pytest.raises(lane.PhotoRefused) as refused:
        lane.send(asking(tablet), sha256(data), len(data), lambda at, most: data[at:at + most])
    assert refused.value.figures["told"] == code
    assert "stays on this tablet" in refusal_sentence(refused.value)
    assert offset(tablet, sha256(data)) == 0
    assert state(house, tablet)[1:] == (False, 1), "not yet"


def test_swapped_and_corrupted_bytes_are_dropped_and_sent_again_from_the_beginning(house, tablet):
    other = png(600_000, seed=2)
    named(tablet)
    named(tablet, other, "p-2")
    damaged = bytearray(PICTURE)
    damaged[300_000] ^= 1
    for wrong in (other, bytes(damaged)):
        with pytest.raises(lane.LaneRefusal):
            lane.send(asking(tablet), NAME, len(wrong), lambda at, most: wrong[at:at + most])
        assert offset(tablet, NAME) == 0
        assert state(house, tablet)[1:] == (False, 2)
    assert patch(tablet, NAME, 0, other + b"more than there should be").status_code == 204
    for data in (PICTURE, other):  # the longer wrong beginning heals, too
        lane.send(asking(tablet), sha256(data), len(data), lambda at, most: data[at:at + most])
    assert state(house, tablet)[1:] == (True, 0)


def test_the_lead_cannot_accept_a_fitting_whose_photo_is_still_on_the_tablet(house, tablet):
    named(tablet)
    lead = house.lead()
    answer = lead.decide(lead.open(), "accepted")
    assert "something is still missing" in answer.text
    lane.send(asking(tablet), NAME, len(PICTURE), lambda at, most: PICTURE[at:at + most])
    tablet.desk.request_review()
    tablet.push()
    assert lead.decide(lead.open(), "accepted").status_code == 303


def test_a_photo_that_is_lost_for_good_can_be_taken_out_of_the_record(house, tablet):
    named(tablet)
    tablet.desk.withdraw(tablet.desk.head("photo/p-1"))
    assert tablet.push().status_code == 200
    assert state(house, tablet)[1:] == (True, 0)


def test_another_tablet_of_the_clinic_fetches_it_in_ranges_and_looks_at_it(house, tablet):
    named(tablet)
    other = house.tablet(JoinedDesk("tablet-b"))
    early = other.client.get(url(NAME), headers=other.headers)
    assert (early.status_code, early.json()["code"]) == (404, "attachment_not_whole_yet")
    lane.send(asking(tablet), NAME, len(PICTURE), lambda at, most: PICTURE[at:at + most])
    log: list = []
    assert lane.fetch(asking(other, log), NAME) == PICTURE
    assert [status for _, status, _ in log] == [206, 206, 206]
    rows = [row for row in house.audit(CLINIC) if row.what == "fetch photo"]
    assert {(row.who, row.subject) for row in rows} == {("tablet-b", "fitting/fitting-1")}


def test_a_photo_damaged_on_the_servers_disk_is_not_believed_and_is_asked_for_again(house, tablet):
    named(tablet)
    lane.send(asking(tablet), NAME, len(PICTURE), lambda at, most: PICTURE[at:at + most])
    kept = house.server.lane.files.path(CLINIC, NAME)
    kept.write_bytes(PICTURE[:-1] + b"!")
    with pytest.raises(lane.LaneRefusal):
        lane.fetch(asking(tablet), NAME)
    assert house.server.lane.look_over(CLINIC, NAME) == "attachment_not_its_hash"
    assert state(house, tablet)[1:] == (False, 1)
    lane.send(asking(tablet), NAME, len(PICTURE), lambda at, most: PICTURE[at:at + most])
    assert state(house, tablet)[1:] == (True, 0)


def test_killed_between_the_files_name_and_the_stores_word_it_finishes_when_asked(house, tablet):
    named(tablet)
    files = house.server.lane.files
    files.append(CLINIC, NAME, 0, PICTURE)
    files.finish(CLINIC, NAME, lambda data: data)
    assert state(house, tablet)[1:] == (False, 1)
    assert tablet.client.head(url(NAME), headers=tablet.headers).headers[lane.COMPLETE] == lane.YES
    assert state(house, tablet)[1:] == (True, 0)


def test_no_real_photo_of_the_tablet_is_refused(house, tablet, tmp_path):
    from mobile.keeping.pictures import prepared

    kinds = [jpeg(), jpeg(turn=6), jpeg(progressive=True), jpeg(Image.effect_noise((900, 700), 60).convert("RGB"))]
    for place, taken in enumerate(kinds):
        data = prepared(taken, "photo.jpg").data
        named(tablet, data, f"p-{place}")
        lane.send(asking(tablet), sha256(data), len(data), lambda at, most: data[at:at + most])
    assert state(house, tablet)[1:] == (True, 0)


@pytest.mark.parametrize("damage", ["changed", "gone", "cut"])
def test_photos_damaged_on_the_servers_disk_are_found_and_the_tablets_send_them_again(
    house, tablet, capsys, monkeypatch, damage,
):
    other = png(20_000, seed=7)
    for photo, data in (("p-1", PICTURE), ("p-2", other)):
        named(tablet, data, photo)
        lane.send(asking(tablet), sha256(data), len(data), lambda at, most: data[at:at + most])
    monkeypatch.setenv("STANCEBOOK_KEY_FILE", house.settings.key_file)
    command = ["--store", house.settings.store, "--mend-photos"]
    assert main(command) == 0 and "Every photo is what its name says" in capsys.readouterr().out
    kept, epoch = house.server.lane.files.path(CLINIC, NAME), house.station.entries.epoch
    photos = str(house.settings.attachments_folder)
    if damage == "gone":
        kept.unlink()
    else:
        kept.write_bytes(PICTURE[:-1] + (b"!" if damage == "changed" else b""))
    assert verify([house.settings.store, "--attachments", photos]) == 3
    assert NAME[:12] in capsys.readouterr().out
    assert main(command) == 1
    said = capsys.readouterr().out
    assert NAME in said and sha256(other) not in said and "Photos asked for again: 1." in said
    again = make_house(house.settings.signing_key_file.parent, house.settings.store)
    try:
        tablet.client = again.client()
        assert again.station.entries.epoch != epoch, "tablets look anew at what is safe here"
        assert state(again, tablet)[1:] == (False, 1)
        lane.send(asking(tablet), NAME, len(PICTURE), lambda at, most: PICTURE[at:at + most])
        assert state(again, tablet)[1:] == (True, 0)
        assert verify([house.settings.store, "--attachments", photos]) == 0
    finally:
        again.station.store.close()
