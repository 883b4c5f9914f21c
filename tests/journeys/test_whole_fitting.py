"""The rehearsal command as a user runs it, on the wide and on the tall tablet."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from shared_models.catalogue.sheets import DEMO_SHEETS, demo_people, demo_sheet
from shared_models.language import in_language, languages
from shared_models.papers.fitting_record import fitting_record
from shared_models.papers.pdf import make_pdf
from shared_models.papers.person_sheet import person_sheet
from shared_models.papers.record_pdf import record_pdf
from mobile.keeping.tablet import STORE_NAME, Tablet
from mobile.rehearsal import person
from tests.journeys.at_work import PINS, PROSTHETIST
from tests.journeys.conftest import ROOT

#: Both ways up: once with a glove in the sun, once with large type in a dim room.
SIZES = {"1280x800": ("--glove",), "800x1280": ("--dim", "--type-size", "150")}
#: Taps and typed characters for each recorded fact; what paper would take a few strokes for.
MOST_PER_FACT = 2.5
MOST_SECONDS = 400
_COMMAND = "import sys; from shared_models.command import main; sys.exit(main())"


@pytest.fixture(scope="module")
def rehearsals(tmp_path_factory):
    """Both rehearsals, one beside the other: folder, exit code and what was said, by size."""
    folders = {size: tmp_path_factory.mktemp(size) for size in SIZES}
    running = {
        size: subprocess.Popen(
            [sys.executable, "-c", _COMMAND, "rehearse", "--folder", str(folder), "--size", size, *SIZES[size]],
            cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )
        for size, folder in folders.items()
    }
    done = {}
    for size, process in running.items():
        said, complained = process.communicate(timeout=MOST_SECONDS)
        done[size] = (folders[size], process.returncode, said, complained)
    return done


@pytest.mark.parametrize("size", SIZES)
def test_one_command_rehearses_a_whole_fitting_to_the_accepted_record(rehearsals, size):
    folder, code, said, complained = rehearsals[size]
    assert code == 0, said + complained
    assert complained == ""
    first, last = said.index("not complete"), said.index("Verdict on the server, after")
    assert "Next review: open." in said[first:last]
    assert "complete" in said[last:].splitlines()[0]
    for line in (
        "825 is above what is possible. Type 20 to 250 kg.", "STOP",
        "last confirmed settings restored", "stale now: alignment_closing, sign_off",
        "the technician signed off with their own PIN", "accepted the fitting on the review page",
        "Back on the tablet: complete, review accepted.",
        f"The record lies in {folder / 'tablet' / STORE_NAME}",
    ):
        assert line in said, line


@pytest.mark.parametrize("size", SIZES)
def test_a_whole_fitting_takes_few_taps_for_each_fact(rehearsals, size):
    said = rehearsals[size][2]
    told = re.search(r"By hand: (\d+) taps and (\d+) typed characters for (\d+) recorded facts: ([\d.]+) for each", said)
    assert told, said
    taps, typed, facts = (int(n) for n in told.groups()[:3])
    assert float(told[4]) == pytest.approx((taps + typed) / facts, abs=0.01)
    # Far fewer facts than a fitting holds would mean that the counting went wrong.
    assert facts > 200 and float(told[4]) <= MOST_PER_FACT


@pytest.mark.parametrize("size", SIZES)
def test_the_record_of_a_rehearsal_opens_again_complete_and_accepted(rehearsals, size):
    tablet = Tablet(rehearsals[size][0] / "tablet")
    session = tablet.unlock(PROSTHETIST, PINS[PROSTHETIST])
    fitting, = session.fittings()
    verdict = session.verdict(fitting)
    assert verdict.is_complete and (verdict.review, verdict.changed_since_review) == ("accepted", False)
    assert session.unsent() == (0, "")
    tablet.close()


def test_the_papers_of_a_rehearsal_are_two_pages_and_one_in_every_whole_language(rehearsals):
    """The record with every trial of a usual fitting and all that was looked for in them."""
    tablet = Tablet(rehearsals["1280x800"][0] / "tablet")
    session = tablet.unlock(PROSTHETIST, PINS[PROSTHETIST])
    fitting, = session.fittings()
    verdict, view = session.verdict(fitting), session.fitting(fitting)
    for language in languages():
        if language.whole:
            with in_language(language.code):
                record = PdfReader(io.BytesIO(record_pdf(fitting_record(view, verdict))))
                sheet = PdfReader(io.BytesIO(make_pdf(person_sheet(view, verdict))))
            assert (language.code, len(record.pages), len(sheet.pages)) == (language.code, 2, 1)
            assert verdict.digest in "".join(page.extract_text() for page in record.pages).replace("\n", "")
    tablet.close()


def planted() -> list[str]:
    """Return what must not be readable: who the person is, what was said, every PIN."""
    staff = demo_people()
    fixed = [
        "Example-Marsh", "Juniper", "1988-04-02", "D-2041", "walk to the harbour",
        "walking shoe", "Bo Helper", "Bench wrench 2", "DEMO-KNE-0417", "Harbour Hill",
        person.answers("alignment/bench", None, None)["build_height_mm"] + '"',
    ]
    names = [p["name"].split(" (")[0] for p in staff["staff"]]
    sheets = [demo_sheet(name)["name"] for name in DEMO_SHEETS]
    return fixed + names + sheets + list(PINS.values())


@pytest.mark.parametrize("size", SIZES)
def test_nothing_readable_is_left_in_any_file_that_the_tablet_wrote(rehearsals, size):
    folder = rehearsals[size][0]
    files = [f for f in folder.rglob("*") if f.is_file() and "server" not in f.relative_to(folder).parts]
    assert folder / "tablet" / STORE_NAME in files
    found = [
        (str(file.relative_to(folder)), words)
        for file in files for words in planted() if readable(file, words)
    ]
    assert found == []


def test_the_search_finds_what_a_store_without_sealing_would_show(rehearsals):
    server = rehearsals["1280x800"][0] / "server"
    shown = [words for words in planted() if any(readable(f, words) for f in server.rglob("*") if f.is_file())]
    assert {"Example-Marsh", "D-2041", "Bo Helper", "DEMO-KNE-0417"} <= set(shown)
    assert not set(PINS.values()) & set(shown)


def readable(file: Path, words: str) -> bool:
    """Whether words stand in a file, in any writing that a text may have on a disk.

    Six digits turn up by chance inside digests and ids: some 300 000 hexadecimal
    letters lie in plain in such a store, and six given digits stand at one place
    with 16**-6, so one of three PINs in about 5 of 100 stores.  A file number such
    as D-2041 turns up in an id whose first group ends in d where the second is
    2041: with 16**-5 in each of its thousands of ids.  So what an id could hold
    counts where neither a hexadecimal letter nor a dash touches it.
    `test_planted_strings` looks for longer words anywhere.
    """
    data, sought = file.read_bytes().lower(), words.lower()
    if any(sought.encode(coding) in data for coding in ("utf-16-le", "utf-16-be")):
        return True
    if re.fullmatch(r"[0-9a-f-]+", sought):
        return re.search(rb"(?<![0-9a-f-])%b(?![0-9a-f-])" % sought.encode(), data) is not None
    return sought.encode() in data


def test_an_id_that_happens_to_hold_a_file_number_is_no_readable_file_number(tmp_path):
    ids = tmp_path / "ids"
    ids.write_text("7f00c4ed-2041-7d3a-9c5e-0123456789ab ae81530649ff")
    assert not readable(ids, "D-2041") and not readable(ids, "530649")
    for coding in ("utf-8", "utf-16-le", "utf-16-be"):
        (tmp_path / coding).write_bytes('{"file_number":"D-2041","pin":"530649"}'.encode(coding))
        assert readable(tmp_path / coding, "D-2041") and readable(tmp_path / coding, "530649")
