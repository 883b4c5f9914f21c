"""What a list shows of a fitting: who, where it stands, what is next."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Mapping

from shared_models.checks.verdict import Verdict
from shared_models.entries.fitting import FittingView

#: States of a step in which nothing is left to do.
DONE = ("met", "waived", "not applicable")


@dataclass(frozen=True)
class FittingSummary:
    """One line about a fitting, as it stood when it was judged on ``judged_on``.

    ``own_newest`` is the number of the newest entry of this tablet's own chain
    in the fitting, 0 when there is none; ``next_step`` is a step's key, "" when
    none is open.  Days are ISO dates.
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
    entries = view.entries()
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
    )


def summary_from(says: Mapping[str, Any]) -> FittingSummary | None:
    """Return a kept summary; None when another program kept other things in it."""
    if set(says) != set(_KEYS):
        return None
    return FittingSummary(**says)
