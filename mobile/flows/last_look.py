"""What the last page of a fitting shows besides what is missing: doubts, what was set aside, what stands."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.checks.attached import UNDER, drawn_in, photos_in
from shared_models.checks.verdict import Verdict
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.wording import closing as words
from shared_models.wording.sentences import sentence_of
from mobile.flows.board import DONE, Gap
from mobile.flows.tuning import settings_strip

_SET_ASIDE = ("waived", "not applicable")


@dataclass(frozen=True)
class Standing:
    """One thing that stands: its title, what it is, and a word more."""

    key: str
    title: str
    figure: str
    more: str = ""


def doubted(view: FittingView, verdict: Verdict) -> list[Gap]:
    """Return the steps that are met and of which something is to be said all the same."""
    found = []
    for step in verdict.steps:
        sentences = dict.fromkeys(sentence_of(r, view) for r in step.remarks if not r.blocks)
        if step.state == "met" and sentences:
            found.append(Gap(step.key, step.title, step.state, tuple(sentences)))
    return found


def set_aside(view: FittingView, verdict: Verdict) -> list[Gap]:
    """Return the steps that were waived or do not apply, with the reason."""
    return [
        Gap(s.key, s.title, s.state, tuple(dict.fromkeys(sentence_of(r, view) for r in s.remarks)))
        for s in verdict.steps if s.state in _SET_ASIDE
    ]


def standing(view: FittingView, verdict: Verdict) -> list[Standing]:
    """Return what was reached, for a calm last look: settings, screws, next review."""
    found = []
    if view.last_confirmed():
        settings = " · ".join(f"{name} {figure}" for name, figure in settings_strip(view))
        found.append(Standing("settings", spoken(words.SETTINGS), settings))
    if verdict.step("sign_off").state in DONE:
        found.append(Standing("screws", spoken(words.SCREWS), words.signed_words(view, len(view.screws()))))
    if verdict.step("review_plan").state in DONE:
        found.append(Standing("review", spoken(words.REVIEW), *words.review_words(view)))
    return found


def attached_words(view: FittingView) -> str:
    """Say how many photos and drawn signatures there are; '' for none."""
    photos, drawn = len(photos_in(view)), sum(len(drawn_in(view, under)) for under in UNDER)
    return spoken(words.ATTACHED_COUNT, photos=photos, drawn=drawn) if photos or drawn else ""


def unsent_words(count: int) -> str:
    """Say how much lies on this tablet only."""
    return spoken(words.UNSENT, count=count) if count else spoken(words.SENT)
