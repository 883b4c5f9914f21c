"""Rules of timings: what is odd about them is said beside their trial, and blocks nothing."""

from __future__ import annotations

from shared_models.calculations.timing.contacts import doubts_in
from shared_models.checks.bodies import body_troubles
from shared_models.checks.contacts_text import contacts_from
from shared_models.checks.remarks import Remark
from shared_models.checks.rulebook import rule
from shared_models.checks.walk_timing import timings_of
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView

#: Doubts said beside a trial; a pause or a turn is usual and only left out.
_REMARKED = {"doubled": "taps_doubled", "same_side_twice": "taps_missed"}


@rule
def timing_is_sound(view: FittingView, entry: Entry, slot: str) -> list[Remark]:
    """What is odd about the timings of a trial; figures are beside the point, so nothing blocks."""
    found = []
    for timing in timings_of(view, entry):
        if body_troubles(timing):
            found.append(Remark("timing_unreadable", slot, timing.digest, blocks=False))
            continue
        doubts = doubts_in(contacts_from(timing.body.get("contacts")))
        for code, remark in _REMARKED.items():
            times = sum(doubt.code == code for doubt in doubts)
            if times:
                found.append(Remark(remark, slot, timing.digest, {"times": str(times)}, blocks=False))
    return found
