"""By stick, with no network at all: sealed for one server, taken once however often it comes, refused in words."""

from __future__ import annotations

import random
import shutil
from dataclasses import replace
from types import SimpleNamespace

import pytest

from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import new_key, public_text
from shared_models.exchange.sealed_file import SealedRefusal, open_sealed, seal
from mobile.demo import demo_newcomers
from mobile.keeping.courier import Courier
from mobile.keeping.stick import take_back, write_out
from mobile.keeping.tablet import Tablet
from sync_server.services.carried_in import take_in_folder
from tests.fitting_desk import CLINIC
from tests.journeys.at_work import PROSTHETIST, open_fitting, record
from tests.shared_models.making import CHEAP
from tests.sync_server.photos import photo_of, png

pytestmark = pytest.mark.both_stores


@pytest.fixture
def far(house, tmp_path):
    """A tablet far from any network; it was enrolled once, then only a stick goes to and fro."""
    courier = Courier(lambda: house.client())
    key = new_key()
    enrolment = courier.enrol("http://127.0.0.1", house.code(), "far-away", public_text(key))
    tablet = Tablet(tmp_path / "far", CHEAP)
    first = next(n for n in demo_newcomers() if n.staff == PROSTHETIST)
    session = tablet.join(enrolment, courier.fetch_all(enrolment), key, first)
    fitting = open_fitting(session, "S-1")
    record(session, fitting, "body")
    stick = tmp_path / "stick"
    stick.mkdir()
    yield SimpleNamespace(session=session, fitting=fitting, stick=stick, house=house)
    tablet.close()


def out(far):
    return write_out(far.session, far.stick, lambda *_: None)


def in_at_server(far, folder=None):
    return take_in_folder(far.house.station, far.house.server.lane, folder or far.stick)


def at_server(far) -> int:
    return far.house.station.entries.chain_end(CLINIC, "far-away")[0]


def photo(far, size: int, seed: int = 1) -> str:
    data = png(size, seed)
    name = far.session.entries.keep_attachment(data)
    far.session.save("photo", Subject("fitting", far.fitting), photo_of(name, f"p-{seed}"))
    return name


def test_record_and_photos_go_by_stick_and_the_receipt_takes_them_off_it(far):
    name = photo(far, 9_000_000)
    waiting = far.session.unsent()[0]
    written = out(far)
    assert written.photos == 1 and written.files == 4, "one batch, and a photo in three pieces"
    assert far.session.unsent()[0] == waiting, "nothing counts as sent before the receipt"
    assert all(line.code == "" for line in in_at_server(far))
    assert at_server(far) == far.session.author.end.number
    kept = far.house.server.lane.files.path(CLINIC, name).read_bytes()
    assert kept == far.session.entries.attachment(name)
    done = take_back(far.session, far.stick)
    assert (done.receipts, done.photos, done.refused) == (1, 1, [])
    assert far.session.unsent() == (0, "")
    assert [p.name for p in far.stick.iterdir()] == ["stancebook-receipt-far-away.sealed"]


def test_nothing_on_the_stick_can_be_read_by_who_finds_it(far):
    photo(far, 300_000)
    out(far)
    found = b"".join(p.read_bytes() for p in far.stick.iterdir())
    person = far.session.fitting(far.fitting).head("identity").body
    for told in (person["family_name"], person["given_name"], "body_mass_kg", far.fitting):
        assert str(told).encode() not in found
    for path in far.stick.iterdir():
        with pytest.raises(SealedRefusal) as refused:
            open_sealed(path.read_bytes(), new_key())
        assert refused.value.code == "sealed_for_another"


def test_replayed_now_and_after_more_was_recorded_it_changes_nothing(far, tmp_path):
    photo(far, 5_000_000)
    out(far)
    kept = tmp_path / "kept"
    shutil.copytree(far.stick, kept)
    in_at_server(far)
    before = (far.house.station.entries.fingerprint(CLINIC), at_server(far))
    assert all(line.code == "" for line in in_at_server(far, kept)), "the same stick once more"
    first_receipt = tmp_path / "first"
    shutil.copytree(far.stick, first_receipt)
    take_back(far.session, far.stick)
    record(far.session, far.fitting, "activity")
    out(far)
    in_at_server(far)
    take_back(far.session, far.stick)
    assert all(line.code == "" for line in in_at_server(far, kept))
    assert at_server(far) == before[1] + 1
    assert take_back(far.session, first_receipt).entries == 0, "an old receipt takes nothing back"
    assert far.session.unsent() == (0, "")


def test_a_lost_stick_loses_nothing_and_a_later_one_before_an_earlier_one_is_refused_whole(far, tmp_path):
    out(far)
    first = tmp_path / "first"
    shutil.copytree(far.stick, first)
    # As if the first had been acknowledged: the second stick holds only what came after.
    known = far.session.entries.sync_state(CLINIC)
    far.session.note_acknowledged(far.session.author.end.number)
    record(far.session, far.fitting, "activity")
    shutil.rmtree(far.stick)
    far.stick.mkdir()
    out(far)
    second = far.stick
    line, = in_at_server(far)
    assert line.code == "chain_gap" and "Send the entries between" in line.sentence
    assert at_server(far) == 0
    far.session.entries.keep_sync_state(known)
    told = take_back(far.session, second)
    assert told.entries == 0 and told.refused[0].code == "chain_gap"
    assert all(line.code == "" for line in in_at_server(far, first))
    assert all(line.code == "" for line in in_at_server(far, second))
    take_back(far.session, second)
    assert far.session.unsent() == (0, "")


def test_a_photo_whose_record_or_first_piece_is_missing_waits_for_it(far, tmp_path):
    photo(far, 9_000_000)
    out(far)
    pieces = sorted(far.stick.glob("stancebook-photo-*"))
    record_file = next(far.stick.glob("stancebook-entries-*"))
    apart = tmp_path / "apart"
    apart.mkdir()
    shutil.copy(pieces[0], apart)
    assert [line.code for line in in_at_server(far, apart)] == ["attachment_not_named"]
    shutil.copy(record_file, apart)
    pieces[1].rename(tmp_path / "left")
    shutil.copy(pieces[2], apart)
    assert [line.code for line in in_at_server(far, apart)] == ["", "", "upload_offset_differs"]
    (tmp_path / "left").rename(pieces[1])
    assert all(line.code == "" for line in in_at_server(far))
    assert take_back(far.session, far.stick).photos == 1


def test_sealed_for_another_server_or_from_a_tablet_nobody_enrolled_it_is_refused(far, tmp_path):
    state = far.session.entries.sync_state(CLINIC)
    wrong = {**state.access, "server_key": public_text(new_key())}
    far.session.entries.keep_sync_state(replace(state, access=wrong))
    out(far)
    assert [line.code for line in in_at_server(far)] == ["sealed_for_another"]
    far.session.entries.keep_sync_state(state)
    strange = seal("entries", b"x", clinic=CLINIC, sender="far-away", key=new_key(),
                   to_key=state.access["server_key"], made_at="2026-11-26T03:00:00+00:00")
    for path in far.stick.iterdir():
        path.unlink()
    (far.stick / "stancebook-entries-far-away-x.sealed").write_bytes(strange)
    (far.stick / "holiday.sealed").write_bytes(b"\xff\xd8\xff no file of ours")
    assert sorted(line.code for line in in_at_server(far)) == ["sealed_not_ours", "sealed_sender_unknown"]
    assert at_server(far) == 0


def test_one_flipped_bit_anywhere_and_every_cut_is_refused_and_nothing_taken(far):
    out(far)
    path, = far.stick.iterdir()
    whole = path.read_bytes()
    chance = random.Random(11)
    places = [*range(0, 40), *(chance.randrange(len(whole)) for _ in range(60)), *range(len(whole) - 20, len(whole))]
    codes = set()
    for place in places:
        damaged = bytearray(whole)
        damaged[place] ^= 1 << chance.randrange(8)
        path.write_bytes(damaged)
        line, = in_at_server(far)
        codes.add(line.code)
    for length in (0, 10, 30, 200, len(whole) // 2, len(whole) - 1):
        path.write_bytes(whole[:length])
        line, = in_at_server(far)
        codes.add(line.code)
    assert codes == {"sealed_damaged", "sealed_not_ours", "sealed_unknown_format"}
    assert at_server(far) == 0
    path.write_bytes(whole)
    in_at_server(far)
    receipt = far.stick / "stancebook-receipt-far-away.sealed"
    sound = receipt.read_bytes()
    damaged = bytearray(sound)
    damaged[len(damaged) // 2] ^= 4
    receipt.write_bytes(damaged)
    with pytest.raises(SealedRefusal):
        take_back(far.session, far.stick)
    assert far.session.unsent()[0] > 0
    receipt.write_bytes(sound)
    take_back(far.session, far.stick)
    assert far.session.unsent() == (0, "")


def test_the_operator_takes_a_stick_in_by_one_command(far, capsys, monkeypatch):
    from sync_server import main

    monkeypatch.setattr(main, "open_server", lambda settings: far.house.server)
    out(far)
    assert main.main(["--store", "elsewhere", "--take-in", str(far.stick)]) == 0
    assert "1 of 1 files taken" in capsys.readouterr().out
    assert main.main(["--store", "elsewhere", "--take-in", str(far.stick / "nowhere")]) == 1
    assert "can't be read" in capsys.readouterr().err


def test_what_a_tablet_brings_whose_access_was_taken_away_is_held_not_lost(far):
    out(far)
    far.house.server.gate.revoke("far-away")
    line, = in_at_server(far)
    assert line.code == "" and at_server(far) == 0
    assert far.session.unsent()[0] > 0 and take_back(far.session, far.stick).entries == 0
