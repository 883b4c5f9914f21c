"""Check digits: GS1's weights of 3 and 1, and HIBC's sum modulo 43."""

from __future__ import annotations

from shared_models.quantities.refusals import Refusal

#: HIBC: the place of a character is its value (HIBC supplier labeling
#: standard, ANSI/HIBC 2; the characters of Code 39).
HIBC_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"


def gs1_check_digit(data: str) -> str:
    """Return the digit that belongs behind ``data`` (GS1 General Specifications, 7.9).

    Counted from the right the digits weigh 3, 1, 3, 1 and so on; the check
    digit fills their sum up to a multiple of ten.  Every change of one digit is
    found; of swaps of neighbours all but those whose digits differ by 5.
    """
    if not (data.isascii() and data.isdigit()):
        raise Refusal("part_code_not_digits", data=data[:40])
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(data)))
    return str(-total % 10)


def hibc_check_character(data: str) -> str:
    """Return the character that belongs behind ``data``, flag included.

    A plain sum: every change of one character is found, no swap ever is.
    """
    strange = sorted({c for c in data if c not in HIBC_ALPHABET})
    if strange:
        raise Refusal("part_code_strange_character", character=strange[0], issuer="HIBC")
    return HIBC_ALPHABET[sum(HIBC_ALPHABET.index(c) for c in data) % len(HIBC_ALPHABET)]
