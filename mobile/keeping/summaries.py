"""The clinic's fittings as a list: quick to show, worked out anew where they changed."""

from __future__ import annotations

import threading
from datetime import date
from typing import Callable

from shared_models.checks.summarising import FittingSummary, summary_from, summary_of
from shared_models.checks.verdict import judge
from shared_models.entries.fitting import FittingView
from shared_models.ledger.faults_of_storage import NotSaved
from shared_models.ledger.store import EntryStore
from shared_models.ledger.summaries import SummaryRow
from shared_models.quantities.moments import now_here

#: As many are worked out while somebody waits for the list; the rest later.
AT_ONCE = 4


class Summaries:
    """What the list shows of each fitting; ``view_of`` reads one from the record.

    A summary that was marked since shows what it said last until it is worked
    out again; `waiting` tells how many do.
    """

    def __init__(self, entries: EntryStore, view_of: Callable[[str], FittingView], tablet: str) -> None:
        self._entries, self._view_of, self._tablet = entries, view_of, tablet
        self._known: dict[str, tuple[int, bool, FittingSummary]] = {}
        self._lock = threading.RLock()
        #: Rows that are to be worked out, the fitting touched last first.
        self._waiting: list[SummaryRow] = []
        #: How many fittings the list read last still shows as they were before, or not at all.
        self.shown_short = 0
        self._short: frozenset[str] = frozenset()

    def all(self) -> list[FittingSummary]:
        """Return the summaries of all fittings, the one touched last first.

        The few that changed since they were shown last are worked out at once.
        """
        with self._lock:
            rows = self._entries.summary_rows()
            found, waiting = [], []
            for row in rows:
                summary = self._read(row)
                if row.stale or summary is None:
                    waiting.append(row)
                found.append((row, summary))
            self._waiting = waiting
            anew = {row.fitting: self._work_out(row) for row in waiting[:AT_ONCE]}
            self._waiting = waiting[AT_ONCE:]
            self.shown_short = len(self._waiting)
            self._short = frozenset(row.fitting for row in self._waiting)
            shown = (anew.get(row.fitting) or summary for row, summary in found)
            return [summary for summary in shown if summary is not None]

    def waiting(self) -> int:
        """Return how many are still to be worked out."""
        return len(self._waiting)

    def out_of_date(self) -> set[str]:
        """Return the fittings of which the list read last may say what was true before."""
        return set(self._short)

    def work_out_some(self, most: int) -> int:
        """Work out some of those that wait; return how many are left."""
        for _ in range(most):
            with self._lock:
                if not self._waiting:
                    break
                row = self._waiting.pop(0)
                self._work_out(row)
        return len(self._waiting)

    def look_again(self, summaries: list[FittingSummary], day: date) -> None:
        """Have those worked out again that were judged on another day: some rules go by the date."""
        old = {s.fitting for s in summaries if s.judged_on != day.isoformat()}
        with self._lock:
            there = {row.fitting for row in self._waiting}
            self._waiting += [
                row for row in (self._entries.summary_rows() if old - there else ())
                if row.fitting in old - there
            ]

    def of(self, fitting: str) -> FittingSummary:
        """Return the summary of one fitting, worked out now."""
        return summary_of(*self._judged(fitting), self._tablet)

    def _read(self, row: SummaryRow) -> FittingSummary | None:
        known = self._known.get(row.fitting)
        if known is not None and known[:2] == (row.marks, row.stale):
            return known[2]
        says = self._entries.opened_summary(row)
        summary = summary_from(says) if says is not None else None
        if summary is not None:
            self._known[row.fitting] = (row.marks, row.stale, summary)
        return summary

    def _work_out(self, row: SummaryRow) -> FittingSummary | None:
        view, verdict = self._judged(row.fitting)
        if view.opened is None:
            return None  # its opening has not arrived yet
        summary = summary_of(view, verdict, self._tablet)
        self._known[row.fitting] = (row.marks, False, summary)
        try:
            self._entries.keep_summary(row, summary.person, {
                name: getattr(summary, name) for name in summary.__dataclass_fields__
            })
        except NotSaved:
            pass  # a full disk: it is worked out again when it is asked for
        return summary

    def _judged(self, fitting: str):
        view = self._view_of(fitting)
        return view, judge(view, now_here().date())
