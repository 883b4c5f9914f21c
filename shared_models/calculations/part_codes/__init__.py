"""Codes on parts: from what a scanner types to what the part is.

`read_part_code` takes GS1 element strings and HIBC, and answers with a
`PartCode`, with a `Question` where more than one reading is possible, or
refuses.  It never chooses between readings: a serial number that is nearly
right is worse than none.
"""

from __future__ import annotations

from shared_models.calculations.part_codes.answers import PartCode, Question
from shared_models.calculations.part_codes.check_digits import (
    HIBC_ALPHABET,
    gs1_check_digit,
    hibc_check_character,
)
from shared_models.calculations.part_codes.reading import read_part_code

__all__ = [
    "HIBC_ALPHABET", "PartCode", "Question", "gs1_check_digit", "hibc_check_character",
    "read_part_code",
]
