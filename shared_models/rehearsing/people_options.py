"""The options of a rehearsal without screens, and what it prints."""

from __future__ import annotations

import json
from typing import TextIO

from shared_models.quantities.refusals import Refusal
from shared_models.rehearsing.people_run import MOST_PEOPLE, compare_people
from shared_models.rehearsing.people_table import table

DEFAULT_SEED = 1
#: Fittings between two lines of progress where the line can't be overwritten.
_LINE_EVERY = 100


def run(people: str, seed: str | None, as_json: bool, out: TextIO, progress: TextIO) -> None:
    """Rehearse as asked and print the table, or its figures as JSON.

    Raises Refusal where the texts of the options are no numbers that can be taken.
    """
    count = _whole(people)
    if count is None or not 1 <= count <= MOST_PEOPLE:
        raise Refusal("people_not_a_count", value=people, most=MOST_PEOPLE)
    sown = DEFAULT_SEED if seed is None else _whole(seed)
    if sown is None:
        raise Refusal("seed_not_a_number", value=seed)
    figures = compare_people(count, sown, _Progress(2 * count, progress))
    print(json.dumps(figures.as_record(), indent=2) if as_json else table(figures), file=out)


class _Progress:
    """One line that is written over on a terminal, now and then a line elsewhere."""

    def __init__(self, fittings: int, out: TextIO) -> None:
        self.fittings, self.out = fittings, out
        self.over = out.isatty()

    def __call__(self, done: int) -> None:
        text = f"{done} of {self.fittings} fittings"
        if self.over:
            self.out.write(f"\r{text}" + ("\n" if done == self.fittings else ""))
        elif done % _LINE_EVERY == 0 or done == self.fittings:
            self.out.write(text + "\n")
        self.out.flush()


def _whole(text: str) -> int | None:
    """Return the whole number that a text of a sane length writes; None for any other."""
    plain = text.strip()
    digits = plain.removeprefix("-")
    return int(plain) if digits.isascii() and digits.isdigit() and len(digits) <= 18 else None
