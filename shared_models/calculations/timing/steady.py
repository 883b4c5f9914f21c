"""Which intervals are steady walking, and which are left out and why.

Starting, stopping and turning change step times (Tura A et al. J NeuroEng
Rehabil 2012;9:11: symmetry needs 2 to 4 strides without the start and stop
strides, 15 to 20 with them).  Contacts alone do not show a turn, so what lies
far from its side's median is left out too, and listed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import median
from typing import Any, Mapping, Sequence

from shared_models.calculations.timing.contacts import Contact, Doubt
from shared_models.calculations.timing.intervals import Interval

#: Gaps left out at either end of a walk from and to standing: one stride, two
#: steps.  Assumption after Tura 2012, which took off the start and stop strides.
GAPS_AT_AN_END = 2
#: Modified z-score, 0.6745 |x - median| / MAD, above which an interval is out
#: of line (Iglewicz B, Hoaglin DC. How to detect and handle outliers. ASQC
#: 1993; from memory).
OUT_OF_LINE_ABOVE = 3.5
_TO_Z = 0.6745
#: A very even walk has a MAD near 0: less than this share of the median is
#: never out of line (assumption), nor what two taps alone explain at 3 sigma.
LEAST_SHARE_OUT_OF_LINE = 0.15
_SIGMAS_OF_TAPS = 3.0
#: Fewer intervals than this have no line to be out of.
_FEWEST_FOR_A_LINE = 4


@dataclass(frozen=True)
class LeftOut:
    """An interval left out of the steady walking, and ``why``.

    ``why``: start, stop, doubled, same_side_twice, long_gap, out_of_line,
    landing (on stairs).
    ``figures`` say what it was compared with.
    """

    interval: Interval
    why: str
    figures: Mapping[str, Any]


class Steadiness:
    """Which gaps of one row of contacts are not steady walking.

    ``landings`` are gaps (by their first contact) that begin on a landing.
    """

    def __init__(
        self, contacts: Sequence[Contact], steps: Sequence[Interval],
        strides: Sequence[Interval], doubts: Sequence[Doubt], *,
        jitter_s: float, from_standing: bool, to_standing: bool, landings: Sequence[int] = (),
    ) -> None:
        self._why: dict[int, tuple[str, Mapping[str, Any]]] = {gap: ("landing", {}) for gap in landings}
        self._jitter_s = jitter_s
        self._mark_doubted(doubts, len(contacts))
        self._mark_ends(contacts, from_standing, to_standing)
        for each, figures in self._out_of_line(steps):
            self._why.setdefault(each.start, ("out_of_line", figures))
        self._bad_strides = {
            (each.start, each.end): figures for each, figures in self._out_of_line(strides)
        }
        self._ending = {(each.side, each.end): each for each in strides}
        self._beginning = {(each.side, each.start): each for each in strides}

    def split(self, intervals: Sequence[Interval]) -> tuple[tuple[Interval, ...], tuple[LeftOut, ...]]:
        """Return the steady intervals, and the others with why they are left out."""
        kept, left_out = [], []
        for each in intervals:
            reason = self._reason(each)
            if reason is None:
                kept.append(each)
            else:
                left_out.append(LeftOut(each, *reason))
        return tuple(kept), tuple(left_out)

    def _reason(self, each: Interval) -> tuple[str, Mapping[str, Any]] | None:
        if each.start >= 0 and each.end >= 0:
            return self._of_gaps(each.start, each.end)
        # Swing and stance lie inside the stride that their initial contact bounds.
        if each.start < 0:
            stride, at_an_end = self._ending.get((each.side, each.end)), "start"
        else:
            stride, at_an_end = self._beginning.get((each.side, each.start)), "stop"
        return self._of_gaps(stride.start, stride.end) if stride else (at_an_end, {})

    def _of_gaps(self, start: int, end: int) -> tuple[str, Mapping[str, Any]] | None:
        for gap in range(start, end):
            if gap in self._why:
                return self._why[gap]
        figures = self._bad_strides.get((start, end))
        return None if figures is None else ("out_of_line", figures)

    def _mark_doubted(self, doubts: Sequence[Doubt], contacts: int) -> None:
        for doubt in doubts:
            if doubt.code in ("same_side_twice", "long_gap"):
                self._why.setdefault(doubt.at, (doubt.code, doubt.figures))
            elif doubt.code == "doubled":
                # Which of the two taps is the true one is not known.
                for gap in range(max(0, doubt.at - 1), min(contacts - 1, doubt.at + 2)):
                    self._why.setdefault(gap, (doubt.code, doubt.figures))

    def _mark_ends(self, contacts: Sequence[Contact], from_standing: bool, to_standing: bool) -> None:
        last = len(contacts) - 1
        one_sided = len({contact.side for contact in contacts}) < 2
        at_an_end = 1 if one_sided else GAPS_AT_AN_END
        if from_standing:
            for gap in range(min(at_an_end, last)):
                self._why.setdefault(gap, ("start", {}))
        if to_standing:
            for gap in range(max(0, last - at_an_end), last):
                self._why.setdefault(gap, ("stop", {}))

    def _out_of_line(self, intervals: Sequence[Interval]) -> list[tuple[Interval, Mapping[str, Any]]]:
        found = []
        for side in ("left", "right"):
            own = [
                each for each in intervals
                if each.side == side and not any(gap in self._why for gap in range(each.start, each.end))
            ]
            if len(own) < _FEWEST_FOR_A_LINE:
                continue
            usual_s = median(each.time_s for each in own)
            mad_s = median(abs(each.time_s - usual_s) for each in own)
            allowed_s = max(
                OUT_OF_LINE_ABOVE * mad_s / _TO_Z, LEAST_SHARE_OUT_OF_LINE * usual_s,
                _SIGMAS_OF_TAPS * math.sqrt(2) * self._jitter_s,
            )
            found += [
                (each, {"usual_s": usual_s, "allowed_s": allowed_s})
                for each in own if abs(each.time_s - usual_s) > allowed_s
            ]
        return found
