"""What a step has to wait for: locking compounds that have not cured."""

from __future__ import annotations

from datetime import timedelta

from shared_models.checks.rules_locking import curing_at
from shared_models.entries.fitting import FittingView
from shared_models.quantities.moments import moment_text, now_here
from shared_models.wording.dates import clock_words
from shared_models.wording.torque import no_cure_words, wait_words

#: Steps in which the person loads the screws, or is about to leave on them.
WAITING_STEPS = ("sign_off", "final_walk", "handover")


def waiting_for(view: FittingView, step: str) -> list[str]:
    """Return what to say above a step while a compound cures; nothing for other steps."""
    if step not in WAITING_STEPS:
        return []
    now = now_here()
    curing, found = curing_at(view, moment_text(now)), []
    if curing.early:
        left = max(curing.early)[0]
        until = clock_words(moment_text(now + timedelta(minutes=float(left))))
        found.append(wait_words([name for _, name, *_ in curing.early], left, until))
    if curing.unknown:
        found.append(no_cure_words(curing.unknown))
    return found
