"""Whether a number can be called, and how a telephone is told to call it.

Numbers differ by country and change; a right number that is refused is worse
than a wrong one that is kept.  So a number stays the text that was written, and
only what holds none at all is refused.  A link is made of what reads as one
number beyond doubt, since a wrong one would call a stranger.
"""

from __future__ import annotations

import re
import unicodedata

#: Of three digits are the shortest numbers that are called: of a house's own exchange, of emergencies.
FEWEST_DIGITS = 3
#: ITU-T E.164 (11/2010), 6.1: the longest international number.
MOST_DIGITS = 15
#: Characters: room for two numbers and whose they are.
LONGEST_TELEPHONE = 100

_WORDS_BEFORE = r"(?:[^\d+()]*[\s:.])?"
_NUMBER = r"(?P<number>[(\s]*\+?[(\s]*\d[\d\s().\-\u2010-\u2015/]*)"
_EXTENSION = r"(?:[\s,;]*(?:extension|extn|ext|x|durchwahl|dw|apparat|app|#)\.?\s*:?\s*(?P<extension>\d{1,8}))?"
_WORDS_BEHIND = r"(?:\s*[,;(][^\d+]*)?\s*"
_ONE_NUMBER = re.compile(_WORDS_BEFORE + _NUMBER + _EXTENSION + _WORDS_BEHIND, re.IGNORECASE)
#: Behind a slash a nought or a plus begins a number of its own; between area and subscriber none does.
_SECOND_NUMBER = re.compile(r"/\s*\(?0")
#: The nought of a national number, written into an international one; it is not dialled there.
_TRUNK = re.compile(r"\(\s*0\s*\)")


def can_be_called(text: str) -> bool:
    """Tell whether a text holds as many digits, of any script, as the shortest number."""
    return sum(c.isdecimal() for c in text) >= FEWEST_DIGITS


def telephone_link(text: str) -> str:
    """Return the link that calls a number (RFC 3966), '' where the text is not surely one number.

    A number without its country is given as it would be dialled here, with no context.
    """
    if len(text) > LONGEST_TELEPHONE:
        return ""
    plain = "".join(str(unicodedata.decimal(c)) if c.isdecimal() else c for c in text).replace("\uff0b", "+").strip()
    read = _ONE_NUMBER.fullmatch(plain)
    if read is None or _SECOND_NUMBER.search(read["number"]):
        return ""
    is_international = "+" in read["number"]
    digits = re.sub(r"\D", "", _TRUNK.sub("", read["number"]) if is_international else read["number"])
    if not FEWEST_DIGITS <= len(digits) <= MOST_DIGITS:
        return ""
    return f"tel:{'+' if is_international else ''}{digits}" + (f";ext={read['extension']}" if read["extension"] else "")
