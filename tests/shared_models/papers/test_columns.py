"""Columns of a table on paper take the width their words need."""

from __future__ import annotations

import pytest

from shared_models.papers.columns import fitted, lines_of


@pytest.mark.parametrize("words, wide, lines", [
    ((), 10, 0), ((4, 4), 10, 1), ((4, 5, 1), 10, 2), ((4, 5), 10, 1), ((6, 6, 6), 10, 3),
])
def test_a_cell_takes_as_many_lines_as_its_words_fill(words, wide, lines):
    assert lines_of(words, 1, wide) == lines


def test_a_word_that_would_be_cut_gets_its_width_from_a_column_with_room():
    wide = fitted((0.2, 0.8), [[(35.0,), (10.0,)]], 1, 100, 1)
    assert wide[0] >= 36 and sum(wide) == pytest.approx(100)


def test_columns_in_which_everything_fits_keep_their_shares():
    assert fitted((0.5, 0.3, 0.2), [[(10.0,), (5.0, 5.0), (3.0,)]], 1, 100, 1) == pytest.approx([50, 30, 20])


def test_width_goes_to_the_column_that_makes_the_rows_high():
    rows = [[(8.0,), (10.0,) * 7]] * 5
    first, second = fitted((0.5, 0.5), rows, 1, 100, 1)
    assert second > 77 and first >= 9


def test_a_table_without_words_keeps_its_shares():
    assert fitted((0.6, 0.4), [[(), ()]], 1, 100, 1) == pytest.approx([60, 40])
