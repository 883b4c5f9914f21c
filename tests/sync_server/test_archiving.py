"""A clinic's whole record, written into one file and taken into a fresh server, or refused whole."""

from __future__ import annotations

import copy
import hashlib
import io
import json
import subprocess
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from sqlalchemy import func, select, update

from shared_models.checks.events import events_of
from shared_models.checks.parts_over_time import parts_over_time
from shared_models.checks.verdict import judge
from shared_models.entries.canonical import canonical_bytes
from shared_models.exports import archive_reading
from shared_models.exports.archive import ArchiveRefusal, put, sum_line
from shared_models.exports.archive_reading import open_archive
from shared_models.exports.fhir_bundle import fitting_bundle
from shared_models.exports.fitting_tables import TABLES, fitting_table
from shared_models.ledger import raw_rows
from shared_models.ledger.held_attachments import lacking_of
from shared_models.ledger.server_read_rows import read_rows
from shared_models.ledger.tables import entry as entry_table
from shared_models.ledger.tables import signature as signature_table
from shared_models.ledger.tablet_access import Access
from shared_models.papers.fitting_record import fitting_record
from shared_models.papers.record_pdf import record_pdf
from shared_models.verify_command import main as verify_main
from shared_models.wording.refusals import refusal_sentence
from sync_server.app import create_app, open_server
from sync_server.main import main
from sync_server.services import archiving, own_key
from sync_server.services.soundness import check
from sync_server.settings import Settings
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import CHEAP, House, Tablet, copy_of
from tests.sync_server.photos import photo_of, png, sha256

PICTURE = png(3000)
NAME = sha256(PICTURE)


def with_photo(house, tablet):
    tablet.desk.note("photo", photo_of(NAME))
    assert tablet.push().status_code == 200
    house.server.lane.take(Access(tablet.name, CLINIC), NAME, 0, PICTURE, last=True, length=len(PICTURE), from_where="test")
    return tablet


def archived(house, tmp_path: Path) -> Path:
    file = tmp_path / "archive.zip"
    archiving.write(house.station, house.server.lane.files, CLINIC, file)
    return file


def fresh(tmp_path: Path, store: str = "", name: str = "fresh"):
    folder = tmp_path / name
    folder.mkdir()
    return open_server(Settings(
        store=store or str(folder / "server.sqlite"), key_file=str(folder / "key"), stretch=CHEAP,
        attachments=str(folder / "photos"),
    ))


def digests(station) -> set[str]:
    with station.store.reading() as connection:
        return set(connection.scalars(select(entry_table.c.digest)))


def told_of(server):
    """What a fitting's verdict, its read tables and the text of its record say."""
    with server.station.reading(CLINIC) as reading:
        view = reading.view("fitting-1")
        verdict = judge(view, server.station.today(), lacking_of(reading.connection, view, CLINIC))
        rows = read_rows(reading.connection, CLINIC)
    pdf = record_pdf(fitting_record(view, verdict))
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return verdict, rows, text


@pytest.mark.both_stores
def test_a_fresh_server_that_takes_an_archive_says_the_same_of_every_fitting(
    house, tablet, tmp_path, store_kind, request
):
    with_photo(house, tablet)
    before = told_of(house.server)
    file = archived(house, tmp_path)
    store = ""
    if store_kind == "postgresql":
        postgres = request.getfixturevalue("postgres")
        store = postgres.url(postgres.database())
    other = fresh(tmp_path, store)
    try:
        epoch = other.station.entries.epoch
        with open_archive(file) as archive:
            done = archiving.take(other.station, other.lane.files, archive)
        assert (done.photos, done.lacking) == (1, 0)
        added = digests(other.station) - digests(house.station)
        assert not digests(house.station) - digests(other.station)
        with other.station.reading(CLINIC) as reading:
            own = {e.digest for e in reading.of_subject("tablet", other.station.chain)}
        assert added == own and len(own) == 1, "only its own key is new"
        assert told_of(other) == before and before[0].state == "complete"
        assert other.lane.files.path(CLINIC, NAME).read_bytes() == PICTURE
        assert other.station.entries.epoch != epoch
        assert check(other.station.store)[CLINIC].entries == len(digests(house.station)) + 1
        with open_archive(file) as archive, pytest.raises(ArchiveRefusal, match="archive_over_clinic"):
            archiving.take(other.station, other.lane.files, archive)
    finally:
        other.station.store.close()


def visit_told_of(server):
    """What a server says of the visit: verdict, paper, bundle for other systems, tables, events, parts."""
    with server.station.reading(CLINIC) as reading:
        view, others = reading.view("visit-1"), [reading.view("fitting-1")]
        verdict = judge(view, server.station.today(), lacking_of(reading.connection, view, CLINIC))
        text = "\n".join(p.extract_text() for p in PdfReader(io.BytesIO(record_pdf(fitting_record(view, verdict)))).pages)
        return (
            verdict, text, fitting_bundle(view, verdict, others=others), {name: fitting_table(view, name) for name in TABLES},
            [(e.id, e.is_open) for e in events_of(view, others)], [(p.place, p.serial, p.until) for p in parts_over_time(view)],
        )


def test_later_visits_their_events_and_exchanged_parts_come_back_out_of_an_archive(house, tablet, tmp_path):
    desk = tablet.desk
    desk.event(injury="care", knee_involved="perhaps")
    desk.event("e2", what="near_fall")
    desk.visit().asked(falls="1").compared()
    desk.found(swing_flexion="10")
    desk.turn("swing_flexion", "8")
    desk.walk("swing_flexion")
    sheet = next(e for e in desk.record.entries.values() if e.kind == "component_sheet" and e.body["part"] == "foot")
    desk.note("part_out", {"place": "foot", "serial": "none marked", "reason": "worn", "condition": "worn", "goes_to": "maker"})
    desk.component("foot", sheet, "F-200")
    desk.follow_up("e1", what="valve looked at, sound")
    desk.hand_over()
    assert tablet.push().status_code == 200
    before = visit_told_of(house.server)
    assert before[4] == [("e1", False), ("e2", True)]
    assert [(serial, until is None) for place, serial, until in before[5] if place == "foot"] == [("none marked", False), ("F-200", True)]
    # The tables of a visit hold what it found, checked, set and walked.
    tables = {name: data.decode("utf-8-sig") for name, data in before[3].items()}
    assert "found/swing_flexion" in tables["settings"] and "setting/swing_flexion" in tables["settings"]
    assert "torque_check/" in tables["torques"] and "trial/swing_flexion" in tables["trials"]
    other = fresh(tmp_path)
    try:
        with open_archive(archived(house, tmp_path)) as archive:
            archiving.take(other.station, other.lane.files, archive)
        assert visit_told_of(other) == before
        assert digests(other.station) >= digests(house.station)
    finally:
        other.station.store.close()


def test_one_byte_changed_anywhere_is_refused(house, tablet, tmp_path):
    with_photo(house, tablet)
    file = archived(house, tmp_path)
    whole, broken = file.read_bytes(), tmp_path / "broken.zip"

    @settings(max_examples=60, suppress_health_check=list(HealthCheck))
    @given(st.integers(0, len(whole) - 1), st.integers(1, 255))
    def refused(place: int, change: int) -> None:
        data = bytearray(whole)
        data[place] ^= change
        broken.write_bytes(data)
        _refuses(broken)

    refused()
    # The zip's own directory lies at the end, and random places seldom fall into it.
    start = zipfile.ZipFile(file).start_dir
    for place in range(start, len(whole), 23):
        data = bytearray(whole)
        data[place] ^= 1
        broken.write_bytes(data)
        _refuses(broken)


def test_a_file_that_is_cut_short_or_has_more_at_its_end_is_refused(house, tablet, tmp_path):
    with_photo(house, tablet)
    file = archived(house, tmp_path)
    whole, broken = file.read_bytes(), tmp_path / "broken.zip"
    for data in (b"", whole[:1], whole[:-1], whole[:len(whole) // 2], whole + b"\0", b"\0" + whole):
        broken.write_bytes(data)
        _refuses(broken)


def _refuses(path: Path) -> None:
    with pytest.raises(ArchiveRefusal) as refused, open_archive(path):
        pass
    said = refusal_sentence(refused.value)
    assert "{" not in said and "not stated" not in said
    assert refused.value.figures.get("file") or refused.value.code == "archive_of_newer_form"


def rewritten(file: Path, target: Path, change) -> Path:
    """A zip with other files, its manifest made to fit: what a clumsy hand would make, not what bad luck does."""
    with zipfile.ZipFile(file) as source:
        held = {name: source.read(name) for name in source.namelist()}
    manifest = json.loads(held.pop("manifest.json"))
    held.pop("manifest.sha256")
    change(held, manifest)
    data = canonical_bytes(manifest)
    with zipfile.ZipFile(target, "w") as again:
        for name in sorted(held):
            put(again, name, len(held[name]), [held[name]])
        put(again, "manifest.json", len(data), [data])
        said = sum_line(hashlib.sha256(data).hexdigest())
        put(again, "manifest.sha256", len(said), [said])
    return target


def fit(manifest, name: str, data: bytes) -> None:
    manifest["files"][name] = {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}


@pytest.mark.parametrize("damage, code, file", [
    ("none", "", ""),
    ("missing", "archive_file_missing", f"attachments/{NAME}"),
    ("added", "archive_file_added", "more.txt"),
    ("swapped", "archive_line_wrong", "entries/tablet-a.jsonl"),
    ("tail", "archive_count_differs", "manifest.json"),
    ("other_words", "archive_line_wrong", "entries/tablet-a.jsonl"),
    ("signature", "archive_line_wrong", "signatures/tablet-a.jsonl"),
    ("photo", "archive_file_changed", f"attachments/{NAME}"),
])
def test_a_manifest_made_to_fit_does_not_hide_what_was_changed(house, tablet, tmp_path, damage, code, file):
    with_photo(house, tablet)

    def change(held, manifest) -> None:
        if damage == "missing":
            del held[file]
        elif damage == "added":
            held[file] = b"x"
            fit(manifest, file, b"x")
        elif damage == "photo":
            held[file] = b"x" + held[file]
            fit(manifest, file, held[file])
        elif damage != "none":
            lines = held["signatures/tablet-a.jsonl" if damage == "signature" else "entries/tablet-a.jsonl"].splitlines(True)
            if damage == "swapped":
                lines[2], lines[3] = lines[3], lines[2]
            elif damage == "tail":
                del lines[-1]
                held["signatures/tablet-a.jsonl"] = b"".join(
                    line for line in held["signatures/tablet-a.jsonl"].splitlines(True) if b"chain_head" not in line)
                fit(manifest, "signatures/tablet-a.jsonl", held["signatures/tablet-a.jsonl"])
            elif damage == "other_words":
                lines[3] = lines[3].replace(b'"format":1', b'"format":1,"extra":1')
            else:
                lines[0] = lines[0].replace(b'"printed_name":"', b'"printed_name":"Not ')
            name = "signatures/tablet-a.jsonl" if damage == "signature" else "entries/tablet-a.jsonl"
            held[name] = b"".join(lines)
            fit(manifest, name, held[name])

    made = rewritten(archived(house, tmp_path), tmp_path / "made.zip", change)
    if not code:
        with open_archive(made) as archive:
            assert archive.clinic == CLINIC
        return
    with pytest.raises(ArchiveRefusal) as refused, open_archive(made):
        pass
    assert (refused.value.code, refused.value.figures["file"]) == (code, file)


@pytest.mark.parametrize("name", [
    "editions/../../../somebody/.profile", "editions//etc/passwd", "entries/..", "editions/a\\..\\b", "editions/",
    "/editions/x", "editions/.hidden", "editions/x/", "editions/a:b", "signatures/\x1b[2J",
])
def test_a_file_that_would_lie_elsewhere_once_unpacked_is_refused_and_named(house, tablet, tmp_path, name):
    assert tablet.push().status_code == 200

    def change(held, manifest) -> None:
        held[name] = b"x"
        fit(manifest, name, b"x")

    made = rewritten(archived(house, tmp_path), tmp_path / "made.zip", change)
    with pytest.raises(ArchiveRefusal, match="archive_file_added") as refused, open_archive(made):
        pass
    assert refused.value.figures["file"] == name.replace("\x1b", "\ufffd")


def test_an_archive_that_unpacks_to_more_than_it_is_is_refused_before_it_is_read(house, tablet, tmp_path, monkeypatch):
    """One part named a thousand times, and files that were packed: both would cost far more to read than to send."""
    assert tablet.push().status_code == 200
    file = archived(house, tmp_path)
    read: list[str] = []
    whole = zipfile.ZipFile.open
    monkeypatch.setattr(zipfile.ZipFile, "open", lambda self, name, *a, **k: read.append(name) or whole(self, name, *a, **k))
    many, packed = tmp_path / "many.zip", tmp_path / "packed.zip"
    with zipfile.ZipFile(many, "w") as made:
        made.writestr("editions/x", bytes(100_000))
        made.filelist += [copy.copy(made.filelist[0]) for _ in range(1000)]
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("manifest.json", bytes(50_000_000))
    read.clear()
    for bomb in (many, packed):
        with pytest.raises(ArchiveRefusal, match="archive_frame_changed"), open_archive(bomb):
            pass
    assert read == []
    with open_archive(file):
        pass


def test_a_take_that_fails_in_its_middle_leaves_nothing(house, tablet, tmp_path, monkeypatch):
    with_photo(house, tablet)
    file = archived(house, tmp_path)
    other = fresh(tmp_path)
    try:
        def cut_off(*_args) -> None:
            raise KeyboardInterrupt
        monkeypatch.setattr(archiving, "rebuild", cut_off)
        with open_archive(file) as archive, pytest.raises(KeyboardInterrupt):
            archiving.take(other.station, other.lane.files, archive)
        assert digests(other.station) == set() and other.station.clinics() == {}
        assert not other.lane.files.path(CLINIC, NAME).exists()
        with other.station.store.reading() as connection:
            assert connection.scalar(select(func.count()).select_from(entry_table)) == 0
        monkeypatch.undo()
        with open_archive(file) as archive:
            archiving.take(other.station, other.lane.files, archive)
        assert other.station.clinics()
    finally:
        other.station.store.close()


def test_after_a_take_the_tablet_enrols_again_and_goes_on_where_it_was(house, tablet, tmp_path):
    with_photo(house, tablet)
    file = archived(house, tmp_path)
    other = fresh(tmp_path)
    with open_archive(file) as archive:
        archiving.take(other.station, other.lane.files, archive)
    moved = House(other, create_app(Settings(stretch=CHEAP), other), Settings(stretch=CHEAP))
    again = Tablet(moved.client(), tablet.desk, tablet.key)
    try:
        assert again.enrol(moved.code()).status_code == 200
        again.take_all()
        again.desk.turn("swing_flexion", "9")
        answer = again.push()
        assert answer.status_code == 200, answer.text
        assert {e.digest for e in again.own()} <= digests(other.station)
        assert check(other.station.store)
    finally:
        other.station.store.close()


def test_a_copied_tablets_two_branches_and_a_renewed_key_go_along(house, tablet, tmp_path):
    assert tablet.push().status_code == 200
    copy = Tablet(house.client(), copy_of(tablet.desk), tablet.key, tablet.token)
    for one, position in ((tablet, "9"), (copy, "8")):
        one.desk.turn("swing_flexion", position)
        assert one.push().status_code == 200
    own_key.renew(house.station, house.settings.signing_key_file)
    file = archived(house, tmp_path)
    other = fresh(tmp_path)
    try:
        with open_archive(file) as archive:
            numbers = [e.number for e in archive.entries() if e.tablet == tablet.name]
            assert len(set(numbers)) < len(numbers), "both branches are in it"
            archiving.take(other.station, other.lane.files, archive)
        assert digests(house.station) < digests(other.station)
        assert told_of(other) == told_of(house.server)
    finally:
        other.station.store.close()


def test_an_archive_that_goes_by_a_few_lines_at_a_time_is_the_same_record(house, tablet, tmp_path, monkeypatch):
    """Rows of the store, pieces of the file and stored lines end in the middle of everything."""
    with_photo(house, tablet)
    whole = archived(house, tmp_path).read_bytes()
    monkeypatch.setattr(archiving, "_AT_ONCE", 3)
    monkeypatch.setattr(raw_rows, "_AT_ONCE", 3)
    monkeypatch.setattr(archive_reading, "PIECE", 301)
    (tmp_path / "archive.zip").unlink()
    file = archived(house, tmp_path)
    one, other = manifest_of(io.BytesIO(whole)), manifest_of(file)
    assert {**one, "made_at": ""} == {**other, "made_at": ""} and len(file.read_bytes()) == len(whole)
    other = fresh(tmp_path)
    try:
        with open_archive(file) as archive:
            archiving.take(other.station, other.lane.files, archive)
        assert digests(house.station) < digests(other.station)
        assert told_of(other) == told_of(house.server) and check(other.station.store)
    finally:
        other.station.store.close()


def manifest_of(file) -> dict:
    with zipfile.ZipFile(file) as source:
        return json.loads(source.read("manifest.json"))


def test_no_archive_is_written_of_a_store_where_a_signature_lies_over_nothing(house, tablet, tmp_path):
    with_photo(house, tablet)
    with house.station.store.writing() as connection:
        signed = connection.scalar(select(signature_table.c.signs).limit(1))
        connection.execute(update(signature_table).where(signature_table.c.signs == signed).values(signs="0" * 64))
    with pytest.raises(ArchiveRefusal, match="archive_unsound") as refused, house.station.store.reading() as connection:
        archiving._refuse_loose_signature(connection, CLINIC)
    assert "signs an entry that is not there" in refusal_sentence(refused.value)


@pytest.mark.parametrize("damage", ["gone", "changed"])
def test_no_archive_is_written_of_a_photo_that_is_not_what_the_store_says(house, tablet, tmp_path, damage):
    with_photo(house, tablet)
    photo = house.server.lane.files.path(CLINIC, NAME)
    photo.unlink() if damage == "gone" else photo.write_bytes(PICTURE[:-1] + b"x")
    with pytest.raises(ArchiveRefusal, match="archive_photo_damaged") as refused:
        archived(house, tmp_path)
    assert NAME in refusal_sentence(refused.value) and list(tmp_path.glob("archive*")) == []


def test_the_commands_write_take_and_check_an_archive_and_say_so(house, tablet, tmp_path, capsys):
    with_photo(house, tablet)
    path, file = str(house.station.store.path), tmp_path / "a.zip"
    assert main(["--store", path, "--archive", str(file)]) == 0
    said = capsys.readouterr().out
    assert "1 photos: sound" in said and "manifest SHA-256" in said
    assert file.stat().st_mode & 0o077 == 0 and [p.name for p in tmp_path.glob("*.zip*")] == ["a.zip"]
    assert main(["--store", path, "--archive", str(file)]) == 1
    assert "there already" in capsys.readouterr().err
    assert main(["--store", path, "--take-archive", str(file)]) == 1
    assert "holds a clinic already" in capsys.readouterr().err
    assert main(["--store", str(tmp_path / "new.sqlite"), "--take-archive", str(file)]) == 0
    assert "new epoch" in capsys.readouterr().out
    assert main(["--store", str(tmp_path / "new.sqlite"), "--check"]) == 0
    assert verify_main([str(file)]) == 0
    assert "Everything fits" in capsys.readouterr().out
    file.write_bytes(file.read_bytes()[:-40])
    assert main(["--store", str(tmp_path / "newer.sqlite"), "--take-archive", str(file)]) == 1
    assert "Nothing was taken" in capsys.readouterr().err and not (tmp_path / "newer.sqlite").exists()
    assert verify_main([str(file)]) == 1


def test_a_stranger_checks_an_archive_with_an_ordinary_unzip_and_sha256sum(house, tablet, tmp_path):
    """Info-ZIP's unzip and coreutils' sha256sum know nothing of this project."""
    with_photo(house, tablet)
    file = archived(house, tmp_path)
    subprocess.run(["unzip", "-q", str(file), "-d", str(tmp_path / "out")], check=True)
    out = tmp_path / "out"
    subprocess.run(["sha256sum", "--check", "--quiet", "manifest.sha256"], cwd=out, check=True)
    lines = "".join(f"{told['sha256']}  {name}\n"
                    for name, told in json.loads((out / "manifest.json").read_text())["files"].items())
    subprocess.run(["sha256sum", "--check", "--quiet", "-"], cwd=out, input=lines, text=True, check=True)
    assert {p.name for p in out.iterdir()} >= {"README.txt", "entries", "signatures", "attachments", "editions"}
    before = ""
    for line in (out / "entries" / "tablet-a.jsonl").read_bytes().splitlines():
        assert json.loads(line)["previous"] == before
        before = hashlib.sha256(line).hexdigest()
