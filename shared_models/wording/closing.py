"""Words of the last page of a fitting: what is missing, what was set aside, and what stands."""

from __future__ import annotations

from shared_models.entries.fitting import FittingView
from shared_models.language import phrase, spoken
from shared_models.wording.dates import clock_words, day_of_words, day_words

GO_THERE = phrase("go there")
MISSING, DOUBTED, SET_ASIDE, STANDS = phrase("Still missing"), phrase("Recorded, and doubted"), phrase("Set aside"), phrase("What stands")
ALL_THERE, CHOOSE = phrase("Everything is there."), phrase("Choose one to go there.")
SETTINGS, SCREWS, REVIEW = phrase("Settings confirmed"), phrase("Screws signed"), phrase("Next review")
NOT_SIGNED, NO_REVIEW = phrase("nobody has signed"), phrase("not agreed")
SIGNED, REVIEW_ON, LOOK_AT = phrase("{count} by {name}, {day} {time}"), "{day}", phrase("look at {what}")
ATTACHED = phrase("Attached")
ATTACHED_COUNT = phrase("{photos} photos, {drawn} drawn signatures")
NONE_TIGHTENED = phrase("none was tightened at this visit")
UNSENT_TITLE = phrase("On this tablet only")
UNSENT, SENT = phrase("{count} entries not yet sent"), phrase("everything is sent")


def signed_words(view: FittingView, count: int) -> str:
    """Say who signed how many screws, and when."""
    head = view.head("sign_off")
    if head is None and view.after and not view.is_asked("sign_off"):
        return spoken(NONE_TIGHTENED)
    if head is None:
        return spoken(NOT_SIGNED)
    return spoken(SIGNED, 
        count=count, name=view.record.name_of(head.recorded_by), day=day_of_words(head.happened_at),
        time=clock_words(head.happened_at),
    )


def review_words(view: FittingView) -> tuple[str, str]:
    """Return the day of the next review and what is to be looked at then."""
    day, what = view.value("review_plan", "review_on"), view.value("review_plan", "look_at")
    return (REVIEW_ON.format(day=day_words(str(day))) if day else spoken(NO_REVIEW), spoken(LOOK_AT, what=what) if what else "")
