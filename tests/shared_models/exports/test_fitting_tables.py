"""The tables of a fitting, read back as a spreadsheet reads them and held against the record.

Reading back: Python's own csv module, which knows nothing of this project.
"""

from __future__ import annotations

import csv
import io
import random
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_models.exports.csv_text import csv_bytes, harmless
from shared_models.exports.fitting_tables import TABLES, fitting_table
from tests.fitting_desk import Desk
from tests.shared_models.exports.generated_fittings import grown, views_of


def read(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))


@pytest.fixture(scope="module")
def whole() -> Desk:
    return Desk.finished()


def test_the_settings_that_hold_are_those_of_the_fitting(whole):
    last: dict[str, str] = {}
    rows = read(fitting_table(whole.view, "settings"))
    for row in rows:
        if row["stands"] == "yes" and row["place"].startswith("setting/"):
            last[row["place"].removeprefix("setting/")] = row["position"]
            assert row["position_unit"] == whole.view.adjuster(row["place"].removeprefix("setting/")).unit
    assert last == whole.view.settings() and last


def test_each_screw_has_the_torque_that_was_read_with_its_wrench(whole):
    rows = {row["entry_sha256"]: row for row in read(fitting_table(whole.view, "torques"))}
    for screw in whole.view.screws():
        head = whole.head(f"torque_final/{screw.key}")
        row = rows[head.digest]
        assert (row["reading_nm"], row["wrench"]) == (head.body["reading_nm"], head.body["wrench"])
        assert row["wrench_calibrated_on"] == head.body.get("wrench_calibrated_on", "")


@pytest.mark.parametrize("table", TABLES)
def test_every_entry_of_a_table_is_there_once_and_no_other(whole, table):
    wanted = [
        e.digest for e in whole.view.entries()
        if whole.view.record.kind_of(e).slot.partition("/")[0] in TABLES[table]
    ]
    assert [row["entry_sha256"] for row in read(fitting_table(whole.view, table))] == wanted and wanted


def test_what_was_corrected_stays_in_the_table_as_not_standing():
    desk = Desk.finished()
    wrong = desk.head(f"torque_final/{desk.view.screws()[0].key}")
    right = desk.correct(wrong, reading_nm="15.50")
    rows = {row["entry_sha256"]: row for row in read(fitting_table(desk.view, "torques"))}
    assert (rows[wrong.digest]["stands"], rows[right.digest]["stands"]) == ("no", "yes")
    assert rows[right.digest]["reading_nm"] == "15.50"


@pytest.mark.parametrize("typed, kept", [
    ("=1+1", "'=1+1"), ("+1", "'+1"), ("-1 click", "'-1 click"), ("@SUM(A1)", "'@SUM(A1)"), (" =1", "' =1"),
    ("\t=1", "'\t'=1"), ("\r=1", "'\r'=1"), ("\n=1", "'\n'=1"),
    # A spreadsheet in German parts cells at semicolons, also in the middle of a text.
    ("worn;=1+1", "worn;'=1+1"), ("worn; @SUM(A1);+1", "worn;' @SUM(A1);'+1"), ("worn; - 3 mm", "worn; - 3 mm"),
])
def test_a_spreadsheet_takes_no_note_for_a_formula(typed, kept):
    desk = Desk.finished()
    trial = desk.head("trial/ramp")
    changed = desk.correct(trial, own_words=typed, note='he said "so, so"\r\nand went on')
    row = next(r for r in read(fitting_table(desk.view, "trials")) if r["entry_sha256"] == changed.digest)
    assert row["own_words"] == kept
    assert row["note"] == 'he said "so, so"\r\nand went on'


@given(st.text(alphabet="a;,\t\r\n =+-@'\"1"), st.sampled_from(";\t\n"))
def test_no_cell_of_a_spreadsheet_that_parts_cells_elsewhere_begins_with_a_formula(typed, parts_at):
    assert not [c for c in harmless(typed).split(parts_at) if c.lstrip(" ")[:1] in ("=", "+", "@") or c[:1] == "-"]


def test_a_figure_below_nothing_stays_a_figure_and_lines_end_as_the_standard_says():
    assert csv_bytes(["a", "b"], [(Decimal("-2.50"), "-2")]) == b"\xef\xbb\xbfa,b\r\n-2.50,'-2\r\n"


def test_tables_of_fittings_and_visits_that_grew_on_two_tablets_are_square_and_start_no_cell_with_a_formula():
    chance = random.Random(31)
    for _ in range(10):
        for view, table in product(views_of(grown(chance)[0]), TABLES):
            lines = list(csv.reader(io.StringIO(fitting_table(view, table).decode("utf-8-sig"), newline="")))
            assert {len(line) for line in lines} == {len(lines[0])}
            wanted = [e for e in view.entries() if (k := view.record.kind_of(e)) and k.slot.partition("/")[0] in TABLES[table]]
            assert len(lines) == 1 + len(wanted)
            assert not [c for line in lines for c in line if c[:1] in ("=", "+", "@", "\t", "\r", "\n")]
