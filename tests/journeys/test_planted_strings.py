"""Twenty planted names, PINs and secrets: not one is readable in any file that the tablet wrote."""

from __future__ import annotations

import base64
import tempfile
from pathlib import Path

import pytest

from shared_models.entries.envelope import Subject
from mobile.keeping.fault_log import write_fault
from mobile.keeping.tablet import Newcomer, Tablet
from tests.shared_models.making import CHEAP

# PINs of sixteen digits: six digits of a PIN do turn up by chance. A sealed store of one fitting
# holds some 300 000 hexadecimal letters of digests and ids in plain (keys and indexes), and six
# given digits stand at one place among them with 16**-6, so somewhere in about 2 of 100 stores;
# sixteen digits do in one of 10**13.
PINS = ["8305172649183057", "6917402835716294", "2750918364720518"]
NAMES = ["Ottilie Farrow", "Quentin Marshfield", "Ysolde Thatcher"]
PERSON = {"family_name": "Fenwick-Planted", "given_name": "Araminta", "born_on": "1931-12-29", "file_number": "PLANT-99417",
          "telephone": "+44 1632 960417 (planted)"}
SAID = {
    "goals": "wants to herd geese again", "shoe": "oxblood walking brogue", "note": "old burn behind the knee",
    "draft": "half a sentence about her sister", "because": "mistook her for a namesake",
    "photo": "shows the brim and a scar like a comma", "serial": "SERIAL-PLANTED-77",
    "second": "Bartholomew Plantagenet", "clinic": "Willow Ditch planted clinic",
}
PHOTO_BYTES = b"planted picture bytes, uncompressed" * 40


@pytest.fixture
def written(tmp_path, monkeypatch):
    """Every file of a tablet's life in a folder, with its temporary files; and what was planted."""
    scratch = tmp_path / "temporary"
    scratch.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(scratch))
    folder = tmp_path / "tablet"
    tablet = Tablet(folder, CHEAP)
    people = [Newcomer(f"p-{n}-00{n}", name, ("prosthetist", "technician", "lead_clinician"), pin)
              for n, (name, pin) in enumerate(zip(NAMES, PINS))]
    session = tablet.found("clinic-0011", SAID["clinic"], people)
    session.save("identity", Subject("person", "person-1"), PERSON)
    fitting = Subject("fitting", "fitting-1")
    session.save("opened", fitting, {"person": "person-1", "prosthetist": session.staff, "side": "left",
                                     "amputation_level": "transfemoral", "socket_stage": "definitive"})
    activity = session.save("activity", fitting, {"functional_level": "3", "goals": SAID["goals"]})
    session.correct(activity, {**activity.body, "goals": SAID["goals"] + "."}, "other", SAID["because"])
    session.save("footwear", fitting, {"shoe_heel_height_mm": "10", "shoe": SAID["shoe"]})
    session.save("limb", fitting, {"limb_state": "stable", "note": SAID["note"]})
    session.save("component", fitting, {"place": "knee", "serial": SAID["serial"], "lot": "none marked"})
    session.save("guarded_yield", fitting, {"second_person": SAID["second"], "yields_under_load": True})
    session.keep_draft("fitting/fitting-1/consent", {"note": SAID["draft"]})
    digest = session.entries.keep_attachment(PHOTO_BYTES)
    session.save("photo", fitting, {"photo": "photo-1", "shows": "other", "words": SAID["photo"],
                                    "sha256": digest, "bytes": str(len(PHOTO_BYTES))})
    code = tablet.new_recovery_code(session, session.staff)
    share = tablet.recovery.new_share(session.unlocked, "https://server.example")
    secret = session.unlocked.data_key
    key = session.unlocked.signing_key.private_bytes_raw()
    try:
        raise ValueError(f"something of {PERSON['family_name']} and {PINS[0]}")
    except ValueError as fault:
        write_fault(folder, fault)
    session.work_out_summaries(50)
    planted = [*PINS, *NAMES, *PERSON.values(), *SAID.values(), code, code.replace("-", ""), share,
               "planted picture bytes"]
    before = everything(tmp_path)
    tablet.close()
    again = Tablet(folder, CHEAP)
    again.unlock(people[1].staff, PINS[1])
    again.close()
    return before + everything(tmp_path), planted, [secret, key]


def everything(folder: Path) -> list[tuple[str, bytes]]:
    return [(str(p.relative_to(folder)), p.read_bytes()) for p in sorted(folder.rglob("*")) if p.is_file()]


def writings(words: str) -> list[bytes]:
    """A text as it may lie on a disk: letters of two and four bytes, hexadecimal, base64."""
    plain = words.encode()
    return [plain, words.encode("utf-16-le"), words.encode("utf-16-be"), plain.hex().encode(),
            base64.b64encode(plain)[:-4] or plain]


def test_twenty_planted_strings_are_found_in_no_file_of_the_tablet(written):
    files, planted, keys = written
    assert len(planted) >= 20
    assert {"tablet/stancebook.tablet", "tablet/stancebook.tablet-wal", "tablet/faults.log"} <= {n for n, _ in files}
    hits = [
        (name, words) for name, data in files for words in planted
        if any(form.lower() in data.lower() for form in writings(words))
    ]
    assert hits == []
    for key in keys:
        assert not any(key in data or key.hex().encode() in data for _, data in files), "no key lies beside the data"


def test_the_search_finds_what_may_be_readable(written):
    files, _, _ = written
    everything_written = b"".join(data for _, data in files)
    assert b"fitting-1" in everything_written and b"guarded_yield" in everything_written
    assert b"ValueError" in everything_written and b"https://server.example" in everything_written
