"""Words of the last page of a fitting: what is missing, what was set aside, and what stands."""

from __future__ import annotations

from shared_models.entries.fitting import FittingView
from shared_models.wording.dates import clock_words, day_of_words, day_words

GO_THERE = "go there"
MISSING, DOUBTED, SET_ASIDE, STANDS = "Still missing", "Recorded, and doubted", "Set aside", "What stands"
ALL_THERE, CHOOSE = "Everything is there.", "Choose one to go there."
SETTINGS, SCREWS, REVIEW = "Settings confirmed", "Screws signed", "Next review"
NOT_SIGNED, NO_REVIEW = "nobody has signed", "not agreed"
SIGNED, REVIEW_ON, LOOK_AT = "{count} by {name}, {day} {time}", "{day}", "look at {what}"
ATTACHED = "Attached"
ATTACHED_COUNT = "{photos} photos, {drawn} drawn signatures"
UNSENT_TITLE = "On this tablet only"
UNSENT, SENT = "{count} entries not yet sent", "everything is sent"


def signed_words(view: FittingView, count: int) -> str:
    """Say who signed how many screws, and when."""
    head = view.head("sign_off")
    if head is None:
        return NOT_SIGNED
    return SIGNED.format(
        count=count, name=view.record.name_of(head.recorded_by), day=day_of_words(head.happened_at),
        time=clock_words(head.happened_at),
    )


def review_words(view: FittingView) -> tuple[str, str]:
    """Return the day of the next review and what is to be looked at then."""
    day, what = view.value("review_plan", "review_on"), view.value("review_plan", "look_at")
    return (REVIEW_ON.format(day=day_words(str(day))) if day else NO_REVIEW, LOOK_AT.format(what=what) if what else "")
