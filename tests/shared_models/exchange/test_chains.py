"""Tampering with a history is found at the first bad row."""

import dataclasses

import pytest

from shared_models.exchange.chains import verify_chain
from tests.shared_models.making import Chain, rows_of

LENGTH = 60


@pytest.fixture(scope="module")
def chain():
    return Chain().grown(LENGTH)


def test_an_untouched_chain_verifies(chain):
    assert verify_chain(rows_of(chain.entries), chain.end) is None


def test_every_edited_row_is_found(chain):
    for place in range(LENGTH):
        rows = rows_of(chain.entries)
        plain = rows[place].plaintext.replace(b"entry ", b"Entry ")
        rows[place] = dataclasses.replace(rows[place], plaintext=plain)
        bad = verify_chain(rows)
        assert (bad.number, bad.code) == (place + 1, "digest_differs")


def test_every_edited_row_whose_digest_was_made_over_is_found_at_the_next(chain):
    other = Chain().grown(LENGTH)
    for place in range(LENGTH - 1):
        rows = rows_of(chain.entries)
        rows[place] = rows_of(other.entries)[place]
        bad = verify_chain(rows)
        # A row of another chain does not follow, except the first of all.
        assert bad.code == "chain_broken"
        assert bad.number == (2 if place == 0 else place + 1)


def test_every_removed_row_is_found(chain):
    for place in range(LENGTH - 1):
        rows = rows_of(chain.entries)
        del rows[place]
        bad = verify_chain(rows)
        assert (bad.number, bad.code) == (place + 1, "row_missing")


def test_every_cut_tail_is_found_by_the_head_that_another_store_holds(chain):
    for kept in range(LENGTH):
        bad = verify_chain(rows_of(chain.entries[:kept]), chain.end)
        assert (bad.number, bad.code) == (LENGTH, "tail_missing")


def test_a_row_that_does_not_open_is_found(chain):
    rows = rows_of(chain.entries)
    rows[4] = dataclasses.replace(rows[4], plaintext=None)
    assert verify_chain(rows).code == "content_damaged"


def test_a_row_under_another_number_is_found(chain):
    rows = rows_of(chain.entries)
    rows[-1] = dataclasses.replace(rows[-2], number=LENGTH)
    assert verify_chain(rows).code == "number_differs"


def test_the_two_branches_of_a_clone_both_verify():
    one = Chain().grown(3)
    twin = one.clone()
    one.grown(2), twin.grown(3)
    entries = sorted({*one.entries, *twin.entries}, key=lambda entry: entry.number)
    assert verify_chain(rows_of(entries), twin.end) is None
