"""The server's disk is full while a photo comes: nothing half done, and the tablet goes on where it stood."""

from __future__ import annotations

import contextlib
import os
import resource
import subprocess
from pathlib import Path

import httpx
import pytest

from shared_models.exchange import lane
from sync_server.app import create_app, open_server
from sync_server.services.attachment_files import AttachmentFiles, UploadRefusal
from sync_server.settings import Settings
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import CHEAP, House, JoinedDesk, Tablet, make_house
from tests.sync_server.photos import png, sha256
from tests.sync_server.server_process import ServerProcess
from tests.sync_server.test_attachments import asking, named, offset, state

PICTURE = png(8_000_000, seed=3)
NAME = sha256(PICTURE)
#: More than the store's files have, less than the photo.
ROOM = 5_000_000


def send(tablet, data: bytes = PICTURE) -> list[int]:
    """Send a photo as a tablet does; return how many bytes went with each request."""
    log: list = []
    lane.send(asking(tablet, log), sha256(data), len(data), lambda at, most: data[at:at + most])
    return [sent for _, _, sent in log]


def test_a_server_that_may_write_no_more_says_so_and_takes_the_rest_once_it_may(begun, tmp_path):
    """A real process whose files the system lets grow no further, then lets grow again."""
    store = tmp_path / "server.sqlite"
    house = make_house(tmp_path)
    desk = JoinedDesk("tablet-photo")
    joined = house.tablet(desk)
    house.station.store.close()
    server = ServerProcess(str(store), tmp_path / "server.sqlite.signing-key")
    try:
        with httpx.Client(base_url=server.address, timeout=60) as client:
            tablet = Tablet(client, desk, joined.key, joined.token)
            desk.before_the_bench()
            named(tablet, PICTURE)
            _, most = resource.prlimit(server._process.pid, resource.RLIMIT_FSIZE)
            resource.prlimit(server._process.pid, resource.RLIMIT_FSIZE, (ROOM, most))
            with pytest.raises(lane.LaneRefusal) as refused:
                send(tablet)
            assert refused.value.code == "lane_said" and refused.value.figures["told"] == "attachment_disk"
            assert "It stays on the tablet" in refused.value.figures["sentence"]
            stood = offset(tablet, NAME)
            assert ROOM - lane.PIECE < stood <= ROOM and stood % lane.PIECE == 0, "whole pieces, none of them half"
            desk.turn("swing_flexion", "6")
            assert tablet.push().status_code == 200, "records go on meanwhile"
            resource.prlimit(server._process.pid, resource.RLIMIT_FSIZE, (most, most))
            assert sum(send(tablet)) == len(PICTURE) - stood, "nothing that was there is sent again"
            assert client.get(f"/exchange/{CLINIC}/attachments/{NAME}", headers=tablet.headers).content == PICTURE
    finally:
        server.stop()
    assert not [line for line in server.said if '"fault"' in line or "Traceback" in line]


@contextlib.contextmanager
def small_disk(folder: Path, options: str):
    """Mount a disk in memory on a folder; skips where nothing may be mounted."""
    folder.mkdir()
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", options, "none", str(folder)], capture_output=True)
    if done.returncode:
        pytest.skip("nothing may be mounted here: that is for root alone")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


@pytest.fixture
def house_on(begun, tmp_path):
    """Open a house whose photos lie in a given folder."""
    opened = []

    def make(folder: Path) -> House:
        settings = Settings(store=str(tmp_path / "server.sqlite"), attachments=str(folder), stretch=CHEAP)
        server = open_server(settings)
        opened.append(server)
        return House(server, create_app(settings, server), settings)

    make_house(tmp_path).station.store.close()
    yield make
    for server in opened:
        server.station.store.close()


def test_on_a_full_disk_nothing_half_of_a_piece_stays_and_room_lets_the_tablet_go_on(house_on, tmp_path):
    photo = png(900_000, seed=4)
    with small_disk(tmp_path / "disk", "size=1m") as disk:
        (disk / "something-else").write_bytes(bytes(400_000))
        house = house_on(disk / "photos")
        tablet = named(house.tablet(JoinedDesk("tablet-photo")), photo)
        with pytest.raises(lane.LaneRefusal, match="lane_said"):
            send(tablet, photo)
        stood = offset(tablet, sha256(photo))
        assert stood and stood % lane.PIECE == 0
        assert [p.stat().st_size for p in disk.rglob("*.part")] == [stood]
        assert state(house, tablet)[1:] == (False, 1), "not yet"
        (disk / "something-else").unlink()
        assert sum(send(tablet, photo)) == len(photo) - stood
        assert state(house, tablet)[2] == 0
        house.station.store.close()


def test_a_disk_on_which_no_new_file_fits_is_refused_in_words_and_leaves_nothing(house_on, tmp_path):
    photo = png(50_000, seed=5)
    with small_disk(tmp_path / "disk", "size=4m,nr_inodes=5") as disk:
        for number in range(4):
            with contextlib.suppress(OSError):
                (disk / f"something-else-{number}").touch()
        house = house_on(disk / "photos")
        tablet = named(house.tablet(JoinedDesk("tablet-photo")), photo)
        with pytest.raises(lane.LaneRefusal) as refused:
            send(tablet, photo)
        assert refused.value.figures["told"] == "attachment_disk"
        for left in disk.glob("something-else-*"):
            left.unlink()
        send(tablet, photo)
        assert state(house, tablet)[2] == 0
        house.station.store.close()


@pytest.fixture
def failing(monkeypatch):
    """Have one call to the disk fail, as a disk out of order does; it works again afterwards."""

    def fail(name: str) -> None:
        whole = getattr(os, name)

        def once(*arguments, **more):
            monkeypatch.setattr(os, name, whole)
            raise OSError(5, "out of order")

        monkeypatch.setattr(os, name, once)

    return fail


@pytest.mark.parametrize("call", ["pread", "rename", "pwrite", "fsync", "ftruncate", "open"])
def test_each_call_to_a_disk_out_of_order_is_a_refusal_and_the_next_try_ends_well(tmp_path, failing, call):
    files, data = AttachmentFiles(tmp_path / "photos"), png(30_000)
    name = sha256(data)
    files.append(CLINIC, name, 0, data[:1000])
    failing(call)
    if call in ("pread", "rename"):
        files.append(CLINIC, name, 1000, data[1000:])
        with pytest.raises(UploadRefusal, match="attachment_disk"):
            files.finish(CLINIC, name, lambda found: found)
        assert files.stand(CLINIC, name).offset == len(data)
    elif call == "ftruncate":
        with pytest.raises(UploadRefusal, match="attachment_disk"):
            files.finish(CLINIC, name, lambda found: found)  # what is dropped can't be
    else:
        with pytest.raises(UploadRefusal, match="attachment_disk"):
            files.append(CLINIC, name, 1000, data[1000:])
        assert files.stand(CLINIC, name).offset == 1000
    there = files.stand(CLINIC, name)
    if there.offset < len(data):
        files.append(CLINIC, name, there.offset, data[there.offset:])
    assert files.finish(CLINIC, name, lambda found: found) == data
    assert files.stand(CLINIC, name).whole


def test_a_photo_that_cannot_be_read_just_now_is_not_taken_for_damaged(house_on, tmp_path, failing, monkeypatch):
    photo = png(30_000, seed=6)
    house = house_on(tmp_path / "photos")
    tablet = named(house.tablet(JoinedDesk("tablet-photo")), photo)
    send(tablet, photo)
    with monkeypatch.context() as once:
        def unreadable(_path):
            raise OSError(5, "out of order")
        once.setattr(Path, "read_bytes", unreadable)
        with pytest.raises(UploadRefusal, match="attachment_disk"):
            house.server.lane.look_over(CLINIC, sha256(photo))
    assert house.server.lane.files.path(CLINIC, sha256(photo)).read_bytes() == photo
    assert house.server.lane.look_over(CLINIC, sha256(photo)) == ""
