"""Words of the lead clinician's morning list."""

from __future__ import annotations

from shared_models.language import Phrases, counted, phrase, spoken

TITLE = phrase("Morning list")
LEAD = phrase("What waits for you, the longest first. Open a fitting to see why, and to decide.")
#: The parts of the list, in the order of what waits for the lead.
PARTS = Phrases({
    "events": "Falls and faults still open",
    "waiting": "Waiting for review",
    "returned": "Returned, not yet answered",
    "double": "Corrected twice, apart",
    "overdue": "Review overdue",
    "in_progress": "In progress",
    "accepted": "Accepted",
})
#: What waits for the lead; the others are for looking up.
TO_DO = ("events", "waiting", "returned", "double", "overdue")
SAYS = Phrases({
    "events": "Somebody fell, had pain, or a part failed, and no follow-up has closed it. Where the person was seen last; the oldest first.",
    "waiting": "Sent for review, or changed since it was accepted.",
    "returned": "Returned with remarks; the prosthetist has not sent it again.",
    "double": "Two people corrected the same entry without knowing of each other. One of the two has to be chosen, on a tablet.",
    "overdue": "The planned review has passed, and no later visit of this side is recorded.",
    "in_progress": "Not sent for review yet; the latest changed first.",
    "accepted": "Accepted and unchanged since; the latest first.",
})
TABLETS = phrase("Tablets not here for long")
TABLETS_SAY = phrase("They have not been in contact with this server for {days} days or more. What was recorded there since is not in this list.")
TABLET = phrase("{tablet}: last here {day}, {days} days ago.")
TABLET_NEVER = phrase("{tablet}: not here since it was enrolled, as far as this server knows.")
SINCE = Phrases({
    "waiting": "waits since {day} ({days})",
    "returned": "returned {day} ({days})",
    "in_progress": "changed {day}",
    "accepted": "accepted, last changed {day}",
})
AWAITED = phrase("review planned for {day} ({days})")
TWICE = phrase("{places} corrected twice")
JUDGED_ANEW = phrase("being judged anew")
NOTHING = phrase("Nothing waits for you.")
NOTHING_HERE = phrase("There is none here.")
NO_MORE = phrase("Nothing comes after that.")
NO_MATCH = phrase("No fitting matches.")
NONE_YET = phrase("No fittings yet. They come in when a tablet syncs.")
UNKNOWN_PART = phrase("'{value}' is no part of this list. Choose one from the page: {parts}. The whole list is shown.")
UNKNOWN_PROSTHETIST = phrase("There is no prosthetist '{value}' in this clinic's fittings. Choose one from the page. Everybody's are shown.")
BROKEN_PLACE = phrase("The link does not say a place in this list that can be read. The list is shown from its beginning.")
SEARCH = phrase("Person, file number, fitting, prosthetist or component")


def days_ago(days: int) -> str:
    """Return how long ago a day is, in words."""
    if days <= 0:
        return spoken("today")
    return counted("{number} day ago", "{number} days ago", days)


def events_words(count: int, serious: int, day: str, days: str) -> str:
    """Return how many falls, pain and faults are open, and since when; those with harm said."""
    said = counted("{number} fall or fault open", "{number} falls or faults open", count)
    if serious:
        harm = counted("{number} of them with harm that needed care", "{number} of them with harm that needed care", serious)
        said = spoken("{events}, {harm}", events=said, harm=harm)
    return spoken("{events}, since {day} ({days})", events=said, day=day, days=days)


def places_words(count: int) -> str:
    """Return how many places of a fitting were corrected twice."""
    return spoken(TWICE, places=counted("{number} place", "{number} places", count))


def judged_anew_words(count: int) -> str:
    """Return what the list says while fittings are judged anew; "" where none is."""
    if not count:
        return ""
    fittings = counted("{number} fitting is being judged anew", "{number} fittings are being judged anew", count)
    return spoken(
        "{fittings}, since something changed that their verdicts rest on: the staff list, a key or this program."
        " Until that is done they may stand in another part of this list than they belong to, or be missing here."
        " A fitting that you open is judged at once.", fittings=fittings)
