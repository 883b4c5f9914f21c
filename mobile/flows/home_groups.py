"""How the clinic's fittings are grouped and searched: what came back, today's, what waits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from shared_models.catalogue.edition import load_edition
from shared_models.checks.summarising import FittingSummary
from shared_models.language import Phrases, counted, spoken
from shared_models.quantities.comparing import folded
from shared_models.wording.dates import day_words
from shared_models.wording.states import VERDICT, review_word

BACK, FOLLOW, TODAY, OPEN, READY, WAITING, ACCEPTED = "back", "follow", "today", "open", "ready", "waiting", "accepted"
ALL, UNSENT = "all", "unsent"
#: In the order in which somebody in the morning would want to know.
GROUPS = Phrases({
    BACK: "Came back",
    FOLLOW: "Falls and faults to follow up",
    TODAY: "Today",
    OPEN: "Not finished",
    READY: "Complete, not sent for review",
    WAITING: "Waiting for review",
    ACCEPTED: "Accepted",
})
_RETURNED = ("rejected", "disputed", "not signed by a lead clinician")
_MARKS = {"rejected": "stale", "accepted": "met", "disputed": "disputed"}


@dataclass(frozen=True)
class Line:
    """One line of the list: a heading (``fitting`` is "") or a fitting."""

    title: str
    fitting: str = ""
    subtitle: str = ""
    trailing: str = ""
    mark: str = ""


def group_of(summary: FittingSummary, today: str) -> str:
    """Return the group a fitting stands in; each stands in one only. ``today`` is an ISO date."""
    if summary.review in _RETURNED and not summary.changed_since_review:
        return BACK
    if today in (summary.touched_on, summary.opened_on) or (
        summary.review_on == today and summary.review != "accepted"
    ):
        return TODAY
    if summary.open_events:
        return FOLLOW
    if summary.state == "incomplete":
        return OPEN
    if summary.review == "accepted" and not summary.changed_since_review:
        return ACCEPTED
    return WAITING if summary.review == "requested" else READY


def is_unsent(summary: FittingSummary, acknowledged: int) -> bool:
    """Whether anything of a fitting was recorded here that the server has not named."""
    return summary.own_newest > acknowledged


def filters(
    summaries: Sequence[FittingSummary], today: str, acknowledged: int
) -> list[tuple[str, str]]:
    """Return what the list can be narrowed to, each with how many there are.

    Empty ones are left out, and all of them where there is nothing to tell apart.
    """
    counts = {key: 0 for key in GROUPS}
    for summary in summaries:
        counts[group_of(summary, today)] += 1
    unsent = sum(1 for s in summaries if is_unsent(s, acknowledged))
    found = [(ALL, spoken("All {summaries}", summaries=len(summaries)))]
    found += [(key, f"{_SHORT[key]} {counts[key]}") for key in GROUPS if counts[key]]
    found += [(UNSENT, spoken("Unsent {unsent}", unsent=unsent))] if unsent else []
    return found if len(found) > 2 else []


_SHORT = Phrases({BACK: "Back", FOLLOW: "Falls, faults", TODAY: "Today", OPEN: "Open", READY: "To send", WAITING: "In review", ACCEPTED: "Accepted"})


class SearchIndex:
    """The words of each fitting, folded once, so that typing narrows the list at once."""

    def __init__(self, summaries: Sequence[FittingSummary]) -> None:
        self._folded = [
            (folded(f"{s.name} {s.file_number} {s.born_on} {day_words(s.born_on)}"), s) for s in summaries
        ]

    def narrowed(self, text: str) -> list[FittingSummary]:
        """Return the fittings that hold every word typed, in their order."""
        words = folded(text).split()
        return [s for line, s in self._folded if all(word in line for word in words)]


def lines(
    summaries: Sequence[FittingSummary], today: str, acknowledged: int, only: str = ALL
) -> list[Line]:
    """Return the list: each group with its heading, or only those of one filter."""
    if only == UNSENT:
        return [line(s, acknowledged) for s in summaries if is_unsent(s, acknowledged)]
    groups: dict[str, list[FittingSummary]] = {key: [] for key in GROUPS}
    for summary in summaries:
        groups[group_of(summary, today)].append(summary)
    found: list[Line] = []
    for key, words in GROUPS.items():
        if groups[key] and only in (ALL, key):
            found.append(Line(f"{words} · {len(groups[key])}"))
            found += [line(s, acknowledged) for s in groups[key]]
    return found


def line(summary: FittingSummary, acknowledged: int) -> Line:
    """Return one fitting as a line: who, and what waits."""
    said = open_words(summary)
    mark = "stale" if said else _MARKS.get(summary.review) or ("open" if summary.state == "incomplete" else "met")
    parts = [
        said if summary.next_step else "",
        # Who it is comes first: what does not fit ends in dots.
        spoken("file {file_number}", file_number=summary.file_number) if summary.file_number else "",
        spoken("born {day}", day=day_words(summary.born_on)) if summary.born_on else "",
        spoken("not yet sent") if is_unsent(summary, acknowledged) else "", _side(summary),
    ]
    return Line(
        summary.name or spoken("not named yet"), summary.fitting,
        " · ".join(part for part in parts if part), said if said and not summary.next_step else waits_for(summary), mark,
    )


def open_words(summary: FittingSummary) -> str:
    """Say how many falls, pain or faults nobody has closed; '' for none."""
    if summary.serious_events:
        return counted("{number} fall or fault with harm open", "{number} falls or faults with harm open", summary.serious_events)
    return counted("{number} fall or fault open", "{number} falls or faults open", summary.open_events) if summary.open_events else ""


def waits_for(summary: FittingSummary) -> str:
    """Return in a few words what a fitting waits for."""
    if summary.review and not (summary.changed_since_review and summary.next_step):
        return review_word(summary.review, summary.changed_since_review)
    if summary.next_step:
        return spoken("next: {title}", title=_edition(summary).title_of_step(summary.next_step))
    return VERDICT[summary.state]


def _side(summary: FittingSummary) -> str:
    edition = _edition(summary)
    side = edition.words("side", summary.side)
    level = edition.words("amputation_level", summary.amputation_level)
    return f"{side}, {level}" if side else ""


def _edition(summary: FittingSummary):
    return load_edition(summary.edition)
