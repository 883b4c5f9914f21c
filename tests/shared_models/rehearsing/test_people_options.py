"""What `stancebook rehearse --people N --seed S` prints, and what it refuses."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from shared_models.command import main
from shared_models.quantities.refusals import Refusal
from shared_models.rehearsing.people_options import run
from shared_models.rehearsing.people_run import MOST_PEOPLE, Comparison, PeopleFigures
from shared_models.rehearsing.people_table import table

ROOT = Path(__file__).resolve().parents[3]


def printed(people: str, seed: str | None = "3", as_json: bool = False) -> tuple[str, str]:
    out, progress = io.StringIO(), io.StringIO()
    run(people, seed, as_json, out, progress)
    return out.getvalue(), progress.getvalue()


def test_the_table_has_a_row_for_each_adjuster_and_says_how_the_fittings_ended():
    out, progress = printed("3")
    for words in (
        "3 people, seed 3", "Stance threshold", "Swing flexion", "Swing extension", "Stance damping",
        "reached a complete verdict", "with a stale confirmation", "one increment in the direction of the finding",
    ):
        assert words in out
    assert progress == "6 of 6 fittings\n", "by the guidance and by the plain rule"
    assert all(line == line.rstrip() for line in out.splitlines())


def test_the_columns_of_the_table_stand_under_one_another():
    out, _ = printed("2")
    rows = [line for line in out.splitlines() if line.startswith(("Stance ", "Swing "))]
    assert len(rows) == 4 and len({len(row) for row in rows}) == 1
    assert max(map(len, out.splitlines())) <= 132


def test_as_json_the_same_figures_can_be_read_by_a_program():
    found = json.loads(printed("2", as_json=True)[0])
    assert found["people"] == 2 and found["seed"] == 3
    for rule in ("guidance", "plain_rule"):
        adjusters, fittings = found[rule]["adjusters"], found[rule]["fittings"]
        assert [a["function"] for a in adjusters] == ["stance_threshold", "swing_flexion", "swing_extension", "stance_damping"]
        assert fittings["complete_verdict"] + fittings["incomplete"] == 2


@pytest.mark.parametrize("people", ["0", "-5", "ten", "2.5", "", "1e3", "٣", str(MOST_PEOPLE + 1), "9" * 400])
def test_a_number_of_people_that_cannot_be_is_refused_in_a_sentence(people, capsys):
    assert main(["rehearse", f"--people={people}"]) == 1
    said = capsys.readouterr()
    assert said.out == "" and f"a whole number from 1 to {MOST_PEOPLE}" in said.err


@pytest.mark.parametrize("seed", ["x", "1.5", ""])
def test_a_seed_that_is_no_whole_number_is_refused_in_a_sentence(seed, capsys):
    assert main(["rehearse", "--people", "1", f"--seed={seed}"]) == 1
    assert "is no seed" in capsys.readouterr().err


@pytest.mark.parametrize(("words", "option"), [
    (["--seed", "3"], "--seed"), (["--json"], "--json"), (["--people", "2", "--window"], "--window"),
    (["--people", "2", "--alone"], "--alone"), (["--people", "2", "--size", "800x1280"], "--size"),
])
def test_options_of_the_screens_and_of_people_do_not_go_together(words, option, capsys):
    assert main(["rehearse", *words]) == 1
    assert capsys.readouterr().err.startswith(f"{option} belongs to a rehearsal")


def test_a_seed_may_be_negative_and_stays_what_it_is():
    assert "seed -4" in printed("1", "-4")[0]


def test_a_table_of_fittings_that_all_stayed_incomplete_says_why():
    figures = PeopleFigures(2, 1)
    figures.states["incomplete"] = 2
    figures.why.update(["stance_threshold: closed", "candidacy: mass_over_limit"])
    said = table(Comparison(figures, PeopleFigures(2, 1)))
    assert "Stance threshold: the bracket closed: no position can be good" in said
    assert "candidacy" not in said and "mass over limit" in said


def test_people_are_refused_wherever_they_are_asked_from():
    with pytest.raises(Refusal):
        run("0", None, False, io.StringIO(), io.StringIO())


def test_who_stops_reading_the_output_gets_no_traceback():
    command = f"{sys.executable} -m shared_models.command rehearse --people 1 | true"
    found = subprocess.run(["bash", "-c", f"set -o pipefail; {command}"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert "Traceback" not in found.stderr and "Exception" not in found.stderr
    assert found.returncode in (0, 130)
