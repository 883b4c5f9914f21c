"""A sheet taken in from a file is refused by the same rules as one typed on the page, with its place said."""

from __future__ import annotations

from importlib.resources import files

import pytest

from mobile.flows.sheet_files import read_sheet
from tests.fitting_desk import Desk

KNEE = (files("shared_models.catalogue") / "demo" / "knee_alder.toml").read_text("utf-8").replace('version = "1.2"', 'version = "1.3"')


@pytest.fixture
def taken(tmp_path):
    """Read a text as a file, where the demo sheets are known."""
    record = Desk().staff().before_the_bench().record

    def read(text: str):
        (tmp_path / "knee.toml").write_text(text, "utf-8")
        return read_sheet(record, tmp_path / "knee.toml")

    return read


def test_a_sound_new_version_may_be_recorded(taken):
    read = taken(KNEE)
    assert read.body is not None and read.subject.id == "demo-knee-alder" and read.lead == ""


def test_a_version_that_is_here_already_is_known_and_another_of_its_name_is_refused(taken):
    assert "is known already" in taken(KNEE.replace('version = "1.3"', 'version = "1.2"')).lead
    other = taken(KNEE.replace('version = "1.3"', 'version = "1.2"').replace('mass_limit_kg = "118"', 'mass_limit_kg = "100"'))
    assert other.body is None and "Version 1.2 stands already" in other.text


@pytest.mark.parametrize("was, now, said", [
    ('largest_step = "3"', 'largest_step = "30"', "Adjuster 2 (Flexion valve), Largest step: The largest step is wider than the range. Write 20 or less."),
    ('final_nm = "11"', 'final_nm = "97"', "Screw 1 (Top screw, front), Final torque: 97 N·m is more than the screws of a leg usually take"),
    ('over = ["setting/swing_flexion"]', "over = []", "Cap 1 (Cap of the flexion valve), Closes: Nothing is said"),
    ('lowest_level = "3"', 'lowest_level = "5"', "Lowest functional level: 5 is not on the scale"),
    ('months = "24"', 'months = "0"', "Service, Months: 0 is no interval"),
    ('name = "Top screw, back"', 'name = "Top screw, front"', "Screw 2 (Top screw, front), Name: Another one is called"),
    ('sheet = "demo-knee-alder"', 'sheet = "another-knee"', "under 'demo-knee-alder'"),
])
def test_what_contradicts_itself_is_refused_in_words(taken, was, now, said):
    assert was in KNEE
    read = taken(KNEE.replace(was, now, 1) if "step" in was else KNEE.replace(was, now))
    assert read.body is None and "is not taken" in read.lead and said in read.text


def test_a_figure_compared_again_is_taken(taken):
    unusual = KNEE.replace('final_nm = "11"', 'final_nm = "70"').replace('interim_nm = "6"', 'interim_nm = "35"')
    assert 'write compared_again = { final_nm = "70" } beside it' in taken(unusual).text
    assert taken(unusual.replace('locking_method = "compound"', 'locking_method = "compound"\ncompared_again = { final_nm = "70" }')).body is not None


def test_a_file_that_is_no_sheet_at_all_is_refused_without_a_fault(taken):
    for text in ("sheet = ", 'screws = 7\nsheet = ["x"]', 'adjusters = ["a", 3]\ndrawing = 4', ""):
        assert taken(text).body is None


@pytest.mark.parametrize("written, said", [
    (b'sheet = "demo"\nname = Alder\n', "Line 2 can't be read, from its character 8 on."),
    (b'sheet = "demo"\nlevels = ["3", ', "The file ends in the middle of a line, or of a list"),
    (b'sheet = "demo"\nsheet = "other"', "stands twice in the file"),
    (b"[service]\n[service]\n", "stands twice in the file"),
    ('name = "Kniegelenk für draußen"'.encode("latin-1"), "Save it as plain text in UTF-8."),
    (None, "Copy it into the folder again."),
])
def test_a_file_that_cannot_be_read_says_where_and_what_would_be_right(tmp_path, written, said):
    file = tmp_path / "knee.toml"
    if written is not None:
        file.write_bytes(written)
    read = read_sheet(Desk().staff().before_the_bench().record, file)
    assert read.body is None and read.lead == "knee.toml can't be read." and said in read.text
