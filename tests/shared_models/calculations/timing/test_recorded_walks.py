"""Every recorded walk: our figures and numpy's agree to 1e-9, also through the command."""

from __future__ import annotations

import json

import numpy as np
import pytest

from shared_models.calculations.timing.figures import Basis
from shared_models.calculations.timing.walk import walk_figures
from shared_models.contacts_command import answer_of, main
from tests.shared_models.calculations.timing import numpy_figures
from tests.shared_models.calculations.timing.bouts import (
    BOUTS, bout, csv_of, finals, initials, left_foot, name_of,
)


def agree(ours, theirs, where=""):
    """Every figure that numpy has is ours too, to 1e-9."""
    for key, value in theirs.items():
        place = f"{where}.{key}"
        if isinstance(value, dict):
            agree(ours[key], value, place)
        elif value is None:
            assert ours[key] is None, place
        else:
            assert ours[key] == pytest.approx(value, rel=0, abs=1e-9), place


def computed(recorded):
    return answer_of(walk_figures(
        initials(recorded), finals=finals(recorded), basis=Basis(recorded["system"])))


def printed(recorded, folder, capsys):
    path = folder / "walk.csv"
    path.write_text(csv_of(recorded), encoding="utf-8")
    assert main([str(path), "--instrument", recorded["system"]]) == 0
    return json.loads(capsys.readouterr().out)


def test_there_are_recorded_walks_of_both_systems():
    assert len(BOUTS) == 16 and {b["system"] for b in BOUTS} == {"INDIP", "Stereophoto"}


@pytest.mark.parametrize("recorded", BOUTS, ids=name_of)
def test_steps_and_strides_of_a_recorded_walk_agree_with_numpy(recorded):
    agree(computed(recorded), numpy_figures.figures(recorded["ic_s"], recorded["side"]))


@pytest.mark.parametrize("recorded", BOUTS, ids=name_of)
def test_the_command_prints_what_numpy_computes(recorded, tmp_path, capsys):
    answer = printed(recorded, tmp_path, capsys)
    agree(answer, numpy_figures.figures(recorded["ic_s"], recorded["side"]))
    assert answer["contacts"] == len(recorded["ic_s"])
    assert answer["instrument"] == recorded["system"]


ALTERNATING = [
    b for b in BOUTS if all(x != y for x, y in zip(b["side"], b["side"][1:])) and None not in b["ic_s"]
]


@pytest.mark.parametrize("recorded", ALTERNATING, ids=name_of)
def test_swing_and_stance_of_a_recorded_walk_agree_with_numpy(recorded, tmp_path, capsys):
    theirs = numpy_figures.swing_and_stance(recorded)
    agree(computed(recorded), theirs)
    answer = printed(recorded, tmp_path, capsys)
    agree(answer, theirs)
    for quantity in ("swing_time", "stance_time"):
        means = [theirs[f"{quantity}_s"][side]["mean"] for side in ("left", "right")]
        agree(answer["symmetry"][quantity], numpy_figures.symmetry(*means))


def test_most_recorded_walks_take_part_in_swing_and_stance():
    assert len(ALTERNATING) >= 14


@pytest.mark.parametrize("recorded", BOUTS, ids=name_of)
def test_a_file_without_final_contacts_gives_the_same_steps(recorded, tmp_path, capsys):
    path = tmp_path / "walk.csv"
    path.write_text(csv_of(recorded, with_finals=False), encoding="utf-8")
    assert main([str(path)]) == 0
    answer = json.loads(capsys.readouterr().out)
    agree(answer, numpy_figures.figures(recorded["ic_s"], recorded["side"]))
    assert answer["swing_time_s"]["both"]["n"] == 0
    assert answer["symmetry"]["swing_time"]["symmetry_index_percent"] is None


def test_two_good_instruments_disagree_on_the_symmetry_of_one_walk():
    """Healthy adult, walk 1: 9.5 by insoles, 5.2 by cameras; right steps longer in both.

    A step belongs to the foot that lands; named after the foot it starts from,
    the two sides change places and the index its sign (-9.5 and -5.2).
    """
    found = {
        system: computed(bout("Test5", "Trial1", system))["symmetry"]["step_time"]["symmetry_index_percent"]
        for system in ("INDIP", "Stereophoto")
    }
    assert found == pytest.approx({"INDIP": 9.5, "Stereophoto": 5.2}, abs=0.05)


def test_with_the_prosthesis_on_the_left_that_index_is_minus_9_5(tmp_path, capsys):
    path = tmp_path / "walk.csv"
    path.write_text(csv_of(bout("Test5", "Trial1", "INDIP")), encoding="utf-8")
    assert main([str(path), "--prosthesis-side", "left"]) == 0
    step = json.loads(capsys.readouterr().out)["symmetry"]["step_time"]
    assert step["prosthesis_symmetry_index_percent"] == pytest.approx(-9.5, abs=0.05)
    assert step["prosthesis_symmetry_index_percent"] == -step["symmetry_index_percent"]
    assert step["ratio_prosthesis_to_sound"] == pytest.approx(1 / step["ratio_right_to_left"])


def test_one_turning_stride_moves_the_mean_and_hardly_the_median():
    """28 strides of a left foot with one turn of 2.275 s: mean 4 % up, median 0.2 %."""
    strides = np.diff([contact.time_s for contact in left_foot()])
    straight = strides[strides < 2]
    assert len(strides) == 28 and len(straight) == 27
    ours = walk_figures(left_foot(), basis=Basis("optical, left foot")).all.spreads["stride_time_s"]["left"]
    assert ours.longest == pytest.approx(2.275, abs=0.0005)
    assert 100 * (ours.mean / straight.mean() - 1) == pytest.approx(3.88, abs=0.01)
    assert 100 * (ours.median / np.median(straight) - 1) < 0.25


def test_the_turning_stride_is_left_out_of_steady_walking_and_listed():
    figures = walk_figures(left_foot(), basis=Basis("optical, left foot"))
    turns = [each for each in figures.left_out if each.why == "long_gap" and each.interval.quantity == "stride_time_s"]
    assert [round(each.interval.time_s, 3) for each in turns] == [2.275]
    steady = figures.steady.spreads["stride_time_s"]["left"]
    assert steady.longest < 1.2 and steady.n == 25


def test_the_left_foot_alone_goes_through_the_command_too(tmp_path, capsys):
    path = tmp_path / "foot.csv"
    path.write_text("".join(f"left,{c.time_s!r}\n" for c in left_foot()), encoding="utf-8")
    assert main([str(path)]) == 0
    answer = json.loads(capsys.readouterr().out)
    strides = np.diff([contact.time_s for contact in left_foot()])
    agree(answer["stride_time_s"]["left"], numpy_figures.spread(strides))
    assert answer["cadence_steps_per_min"] is None and answer["step_time_s"]["both"]["n"] == 0


@pytest.mark.parametrize("recorded", BOUTS, ids=name_of)
def test_a_cadence_stated_by_an_instrument_is_not_steps_over_time(recorded):
    ours = computed(recorded)["cadence_steps_per_min"]
    assert abs(ours - recorded["cadence"]) > 0.4
