"""What a list shows of a fitting: who, where it stands, what is next."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any, Mapping, Sequence

from shared_models.checks.events import open_events
from shared_models.checks.verdict import Verdict
from shared_models.entries.fitting import FittingView

#: States of a step in which nothing is left to do.
DONE = ("met", "waived", "not applicable")


@dataclass(frozen=True)
class FittingSummary:
    """One line about a fitting, as it stood when it was judged on ``judged_on``.

    ``own_newest`` is the number of the newest entry of this tablet's own chain
    in the fitting, 0 when there is none; ``next_step`` is a step's key, "" when
    none is open.  Days are ISO dates.  ``after`` is the fitting or visit that a
    visit comes after; ``open_events`` counts the falls, pain and faults up to here
    that nobody has closed, ``serious_events`` those after which the knee should not be worn.
    """

    fitting: str
    person: str
    given_name: str
    family_name: str
    born_on: str
    file_number: str
    side: str
    amputation_level: str
    edition: str
    state: str
    next_step: str
    review: str
    changed_since_review: bool
    restricted: bool
    opened_on: str
    touched_on: str
    review_on: str
    judged_on: str
    own_newest: int
    after: str = ""
    open_events: int = 0
    serious_events: int = 0

    @property
    def name(self) -> str:
        """Given and family name."""
        return f"{self.given_name} {self.family_name}".strip()


_KEYS = tuple(f.name for f in fields(FittingSummary))


def next_step(verdict: Verdict, after: str = "") -> str:
    """Return the key of the next step that is not done; '' when all are."""
    keys = [s.key for s in verdict.steps]
    start = keys.index(after) + 1 if after in keys else 0
    for key in keys[start:] + keys[:start]:
        if verdict.step(key).state not in DONE:
            return key
    return ""


def summary_of(view: FittingView, verdict: Verdict, tablet: str) -> FittingSummary:
    """Return the summary of a fitting; ``tablet`` is the one whose own entries are counted."""
    identity = view.head("identity")
    body: Mapping[str, Any] = identity.body if identity else {}
    opened: Mapping[str, Any] = view.opened.body if view.opened else {}
    entries, still_open = view.entries(), open_events(view)
    return FittingSummary(
        fitting=view.id, person=view.person.id,
        given_name=str(body.get("given_name", "")), family_name=str(body.get("family_name", "")),
        born_on=str(body.get("born_on", "")), file_number=str(body.get("file_number", "")),
        side=str(opened.get("side", "")), amputation_level=str(opened.get("amputation_level", "")),
        edition=view.edition.name, state=verdict.state, next_step=next_step(verdict),
        review=verdict.review, changed_since_review=verdict.changed_since_review,
        restricted=bool(verdict.restrictions),
        opened_on=view.opened.happened_at[:10] if view.opened else "",
        touched_on=entries[-1].recorded_at[:10] if entries else "",
        review_on=str(view.value("review_plan", "review_on") or ""), judged_on=str(verdict.day),
        own_newest=max((e.number for e in entries if e.tablet == tablet), default=0),
        after=view.after, open_events=len(still_open), serious_events=sum(e.is_serious for e in still_open),
    )


def followed_where_newest(summaries: Sequence[FittingSummary]) -> list[FittingSummary]:
    """Return the summaries with open events only where a person was seen last: a visit knows what it closed."""
    before = {s.after for s in summaries if s.after}
    return [
        replace(s, open_events=0, serious_events=0) if s.open_events and s.fitting in before else s for s in summaries
    ]


def summary_from(says: Mapping[str, Any]) -> FittingSummary | None:
    """Return a kept summary; None when another program kept other things in it."""
    if set(says) != set(_KEYS):
        return None
    return FittingSummary(**says)
