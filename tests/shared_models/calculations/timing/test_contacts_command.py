"""``stancebook contacts``: figures as JSON, or one sentence; never a traceback."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shared_models.contacts_command import main
from tests.shared_models.calculations.timing.walks import even_walk

ROOT = Path(__file__).resolve().parents[4]


def run(*words: str, stdin: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "shared_models.command", "contacts", *words],
        input=stdin, capture_output=True, cwd=ROOT, timeout=120, check=False,
    )


@pytest.fixture
def walk(tmp_path) -> Path:
    path = tmp_path / "walk.csv"
    lines = [f"{c.side},{c.time_s!r}" for c in even_walk(20, 0.62, 0.58)]
    path.write_text("side,time_s\n" + "\n".join(lines), encoding="utf-8")
    return path


def test_the_console_command_prints_sorted_json_in_utf8(walk):
    found = run(str(walk), "--instrument", "Drucksohle, größer", "--event", "heel", "--distance-m", "14.5")
    assert (found.returncode, found.stderr) == (0, b"")
    text = found.stdout.decode("utf-8")
    answer = json.loads(text)
    assert text == json.dumps(answer, indent=2, sort_keys=True, ensure_ascii=False) + "\n"
    assert answer["instrument"] == "Drucksohle, größer" and answer["event"] == "heel"
    assert answer["speed_m_per_s"] == pytest.approx(14.5 / 12.0)
    assert answer["step_time_s"]["left"]["mean"] == pytest.approx(0.62)


def test_contacts_come_from_standard_input_too(walk):
    found = run("-", stdin=walk.read_bytes())
    assert found.returncode == 0 and json.loads(found.stdout)["contacts"] == 21


def test_what_is_not_stated_is_said_to_be_so(walk, capsys):
    assert main([str(walk)]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["instrument"] == "not stated" and answer["event"] == "initial contact"
    assert answer["jitter_source"] == "assumed for thumb taps"
    assert answer["speed_m_per_s"] is None
    assert answer["limits"]["speed_m_per_s"]["because"] == "no measured distance was given"


def test_every_number_has_its_limits_beside_it(walk, capsys):
    assert main([str(walk), "--jitter-s", "0.02", "--no-start", "--no-stop"]) == 0
    answer = json.loads(capsys.readouterr().out)
    limits = answer["limits"]["step_time_s.symmetry_index_percent"]
    value = answer["symmetry"]["step_time"]["symmetry_index_percent"]
    assert limits["low_95"] < value < limits["high_95"] and limits["worth_showing"]
    assert answer["jitter_source"] == "stated" and answer["left_out"] == []
    cv = answer["limits"]["stride_time_s.left.cv_percent"]
    assert not cv["worth_showing"] and "100" in cv["because"]
    assert answer["stride_time_s"]["left"]["cv_percent"] is not None


def test_help_says_each_key_and_its_formula(capsys):
    with pytest.raises(SystemExit) as left:
        main(["--help"])
    assert left.value.code == 0
    said = capsys.readouterr().out
    for key in ("cadence_steps_per_min", "step_time_s", "symmetry_angle_percent", "left_out", "doubts", "limits"):
        assert key in said
    assert "60 * (contacts - 1) / duration_s" in said


def test_the_documents_name_every_key_that_is_printed(walk, capsys):
    assert main([str(walk), "--prosthesis-side", "right"]) == 0
    answer = json.loads(capsys.readouterr().out)
    page = (ROOT / "docs" / "calculations" / "timing.md").read_text(encoding="utf-8")
    keys = set(answer) | set(answer["step_time_s"]["left"]) | set(answer["symmetry"]["step_time"])
    keys |= set(answer["left_out"][0]) | set(answer["limits"]["duration_s"])
    assert not {key for key in keys if f"`{key}`" not in page}


@pytest.mark.parametrize(("words", "says"), [
    (["nowhere.csv"], "nowhere.csv can't be read"),
    (["."], "can't be read"),
    (["bad\0name"], "can't be read"),
])
def test_a_file_that_is_not_there_is_one_sentence(words, says, capsys):
    assert main(words) == 1
    out, err = capsys.readouterr()
    assert out == "" and says in err and err.count("\n") == 1


@pytest.mark.parametrize(("words", "says"), [
    (["--distance-m", "0"], "The distance (distance_m) is 0.0 m"),
    (["--distance-m", "-3"], "is -3.0 m"),
    (["--distance-m", "nan"], "is nan m"),
    (["--distance-m", "inf"], "is inf m"),
    (["--jitter-s", "-1"], "is -1.0 s"),
    (["--jitter-s", "nan"], "is nan s"),
])
def test_an_amount_that_cannot_be_is_one_sentence(walk, words, says, capsys):
    assert main([str(walk), *words]) == 1
    out, err = capsys.readouterr()
    assert out == "" and says in err


@pytest.mark.parametrize("words", [[], ["--distance-m", "far"], ["--prosthesis-side", "both"], ["--no-such-thing"]])
def test_wrong_arguments_count_as_not_started(walk, words, capsys):
    with pytest.raises(SystemExit) as left:
        main([*([str(walk)] if words else []), *words])
    assert left.value.code == 2


def test_a_reader_who_stops_early_sees_no_traceback(walk):
    walked = subprocess.Popen(
        [sys.executable, "-m", "shared_models.command", "contacts", str(walk)],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )
    walked.stdout.close()
    assert b"Traceback" not in walked.communicate()[1]


times = st.one_of(
    st.floats(0, 100), st.just(0.0), st.floats(0, 1e-300), st.floats(0, 1e10), st.none(), st.floats(5, 5.0001))


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(rows=st.lists(st.tuples(st.sampled_from("LR"), times, st.sampled_from(["initial", "final"])), max_size=20),
       distance=st.sampled_from([[], ["--distance-m", "1e-300"], ["--distance-m", "9"]]))
def test_whatever_the_contacts_there_is_json_or_a_sentence(rows, distance, tmp_path, capsys):
    rows.sort(key=lambda row: -1 if row[1] is None else row[1])
    path = tmp_path / "walk.csv"
    body = "".join(f"{s},{'' if t is None else repr(t)},{e}\n" for s, t, e in rows)
    path.write_text("side,time_s,event\n" + body, encoding="utf-8")
    code = main([str(path), "--prosthesis-side", "left", *distance])
    out, err = capsys.readouterr()
    if code == 0:
        json.loads(out, parse_constant=lambda text: pytest.fail(f"{text} is no JSON"))
    else:
        assert code == 1 and err.count("\n") == 1 and "not stated" not in err
