"""What is practised never travels: one rule for tablet, courier and server.

The mark of practice is the clinic's id.  It stands in every entry's envelope,
under the entry's digest and signature, so it can't be taken off an entry; and
it stands readable in the store's rows, so that a locked store shows it too.
"""

from __future__ import annotations

import secrets
from typing import Any, Iterable

from shared_models.quantities.refusals import Refusal

#: How the id of a practice clinic begins; no clinic of a server may.
PREFIX = "practice-"
#: The first id behind every one that begins so, in the order of text.
BEHIND = "practice."


class PracticeRefusal(Refusal):
    """Practice and care were about to be mixed; nothing was taken or sent.

    Codes: ``practice_never_sent``, ``practice_never_joins``,
    ``practice_holds_real_record``, ``practice_clinic_only``.
    """


def new_practice_clinic() -> str:
    """Return a fresh id of a clinic in which nobody is fitted."""
    return PREFIX + secrets.token_hex(6)


def is_practice(clinic: Any) -> bool:
    """Return whether a clinic's id says that nobody is fitted there."""
    return isinstance(clinic, str) and clinic.startswith(PREFIX)


def refuse_practice(clinics: Iterable[Any]) -> None:
    """Raise PracticeRefusal ``practice_never_sent`` where one is a practice clinic."""
    if any(is_practice(clinic) for clinic in clinics):
        raise PracticeRefusal("practice_never_sent")
