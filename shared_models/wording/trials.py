"""Words around a walking trial: what to do now, who stands by, what the drawings show."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Sequence

from shared_models.calculations.tuning import Suggestion, turn_direction
from shared_models.catalogue.sheets import Adjuster
from shared_models.quantities.amounts import text_of

# The drawings ---------------------------------------------------------------------

TURN = {"clockwise": "turn clockwise", "anticlockwise": "turn anticlockwise"}
STOP_MARK = "stop"
HALF_FOOT = "half the foot over the edge"
RAIL_HAND = "hand of the sound side on the rail"
STEP_OVER = "step over step, quietly"
HELPER_BELOW = "helper below"
LET_LOWER = "let the knee lower the body"
BETWEEN_BARS = "hands on the bars, lightly"
SECOND_PERSON = "second person close by, gait belt"
FROM_BELOW = "threshold from its low end"
HOW_SAYS = {
    "level": "The first steps: between the bars, a second person close by.",
    "ramp": "Down the ramp: hand of the sound side on the rail, helper below.",
    "low_steps": "Down low steps: half the foot over the edge, hand on the rail, helper below.",
    "stairs": "Down the stairs: half the foot over the edge, step over step, hand on the rail, helper below.",
}

# Who stands by, and the caution ------------------------------------------------------

WHO = "Who stands by?"
WHO_OTHER = "Somebody else"
WHO_NAME = "Name"
GO_ON = "Go on: {who} stands by"
NOBODY = "Say who stands by before the walk."
SAY_AID = "Say which aid is used."
AID_USED = "Which aid is used?"
TAKE, LEAVE_SO = "Take", "Leave it so"
#: Beneath the drawings of later trials: the caution of the first one, in a few words.
CAUTION_SHORT = {
    "trial/stance_threshold": "Between the bars, from below.",
    "trial/ramp": "Rail in the sound-side hand, helper below.",
    "trial/low_steps": "Rail in the sound-side hand, helper below.",
    "trial/stairs": "Rail in the sound-side hand, helper below.",
}
FIRST = {
    "trial/ramp": "First time down the ramp",
    "trial/low_steps": "First time down low steps",
    "trial/stairs": "First time down the stairs",
}
FIRST_WALK = "First steps on this leg"


def stands_by_words(name: str) -> str:
    """Return who stands by, as it is shown beside every trial."""
    return f"{name} stands by" if name else "Nobody stands by yet"


def aid_words(aid: str) -> str:
    """Return the aid used, as it is shown beside every trial."""
    return f"Aid: {aid}" if aid else "Aid: not said yet"


# What to do now ------------------------------------------------------------------------

WALK_NOW = "Walk, then say what was seen and felt."
TAP_CONTACTS, STOPWATCH = "Tap contacts", "Stopwatch"
LOOK_AT_TIMING = "Look at the timing"
PAIN, PACE = "Pain\n0–10", "Pace"
NOTHING, NOTHING_ELSE = "Nothing stood out", "Nothing else stood out"
NOTHING_SAID = "Nothing else stood out: noted"
OWN_WORDS = "In the person's words"
ANOTHER, AGAIN_HERE, TURN_FIRST = "Choose another", "Walk again at {here}", "Turn it"
OVERRIDE = "Another step than advised, because"
CONFIRM, NOT_YET, STOP = "Confirm", "Not yet right", "Stop"
CONFIRMED_AT = "Confirmed at {here}."
CONFIRMED = "Confirmed."
WALK_MORE = "Walk another trial"
BEGIN, GO_ON_NEXT = "Begin", "Go on"
NOT_CLEARED = "Not cleared: say why and plan a follow-up"
NOT_CONFIRMED_WITHOUT = "'{label}' is answered no, so this can't be confirmed. Take 'Not yet right', or correct the answer."
CONFIRMED_SHORT = "'{label}' is answered no. Take 'Not yet right', or say below why it is confirmed all the same."
CONFIRMED_MARKED = "Something is marked. Take 'Not yet right', or say below why it is confirmed all the same."


def big_words(found: Suggestion, adjuster: Adjuster, position: Decimal | None) -> str:
    """Return a suggestion that moves the adjuster in the fewest words, '' for any other."""
    if found.action not in ("turn", "restore") or None in (found.position, position):
        return ""
    to = text_of(found.position)
    turn = turn_direction(adjuster, position, found.position)
    if found.action == "restore":
        return f"Put back to {to}: {turn}"
    return f"Turn {turn} to {to}"


def done_words(position: Decimal) -> str:
    """Return what the button says that records a turn."""
    return f"Turned to {text_of(position)}"


def step_choice_words(direction: str, after: Decimal) -> str:
    """Return one other step that can be taken."""
    return f"{direction} to {text_of(after)}"


def walk_head(title: str, number: int) -> str:
    """Return the heading of a trial."""
    return f"{title} {number}"


def after_words(number: int, outcome: str) -> str:
    """Return how the trial before ended, in a sentence."""
    return f"After trial {number}: {outcome}."


def stands_words(here: Decimal | None, was_turned: bool) -> str:
    """Return where the adjuster stands in the walk to come."""
    if here is None:
        return ""
    return f"Turned to {text_of(here)}." if was_turned else f"Stands at {text_of(here)}."


# The last confirmed settings ---------------------------------------------------------------

_SHORT = {
    "Stance threshold": "threshold", "Swing flexion": "flexion", "Swing extension": "extension",
    "Stance damping": "damping",
}


def last_confirmed_line(settings: Sequence[tuple[str, str]]) -> str:
    """Return the last confirmed settings in one line; ``settings`` are (name, figure with its range)."""
    parts = [f"{_SHORT.get(name, name)} {figure.partition(' of ')[0]}" for name, figure in settings]
    return "Last confirmed: " + " · ".join(parts)


# A stop --------------------------------------------------------------------------------------

STOPPED_WHY = "Stopped. Why?"
SEE_TO_THEM = "First see to the person. This waits, and is kept."
STOP_WORDS = "What happened, in words (before a reason is pressed)"
NOT_STOPPED = "It was not stopped"
RESTORE_LEAD = "Before anything else put each setting back. Confirm each one once it is done."


NOT_RESTORED, NOT_RESTORED_BUTTON = "Not restored, because", "Not restored"
ALL_RESTORED = "Restored"
ALL_STAND = "Every setting stands where it was last confirmed, or at its start."
SAY_WHY_NOT_RESTORED = "Say why it is not restored."
EACH_FIRST = "Press at each setting once it is put back, or say why one is not."


def stands_now_words(now: str) -> str:
    """Return where an adjuster stands before it is put back."""
    return f"stands at {now} now"


def put_back_done(wanted: str) -> str:
    """Return what the button says that confirms one setting."""
    return f"Put back to {wanted}"


def put_back_words(name: str, direction: str, wanted: str) -> str:
    """Return what to put back: adjuster, direction, position."""
    return f"{name}: {direction} to {wanted}" if direction else f"{name}: to {wanted}"


# What the drawings say -------------------------------------------------------------------------


def dial_says(shown: Any) -> str:
    """Return what a dial shows, in words."""
    parts = [f"{shown.name}, {text_of(shown.lowest)} to {text_of(shown.highest)} {shown.unit}"]
    if shown.here is not None:
        parts.append(f"stands at {text_of(shown.here)}")
    if shown.turn:
        parts.append(f"suggested: {TURN[shown.turn]} to {text_of(shown.there)}")
    if shown.low is not None:
        parts.append(f"clearly too low up to {text_of(shown.low)}")
    if shown.high is not None:
        parts.append(f"clearly too high from {text_of(shown.high)}")
    return "; ".join(parts) + "."


def reach_words(adjuster: Adjuster) -> str:
    """Return the largest step, in words."""
    return f"largest step {text_of(adjuster.largest_step)} {adjuster.unit}"


def course_says(shown: Any) -> str:
    """Return what the chart of trials shows, in words."""
    if not shown.points:
        return f"{shown.name}: no trial yet."
    told = {"confirmed": "confirmed", "change": "not yet right", "stopped": "stopped"}
    trials = [
        f"{p.number} at {text_of(p.position)}, {told.get(p.outcome, p.outcome)}"
        + (f" (found: {', '.join(m.letter for m in p.marks)})" if p.marks else "")
        for p in shown.points[-12:]
    ]
    return f"{shown.name}, trials: " + "; ".join(trials) + "."


# A stopwatch -------------------------------------------------------------------------------------

WATCH_HEAD = "Stopwatch over a marked distance"
WATCH_FIRST_MARK = "Press anywhere in here as the leading foot crosses the first mark."
WATCH_SECOND_MARK = "Press as the leading foot crosses the second mark. It runs on if the app is closed."
WATCH_FORGET, WATCH_DONE = "Throw the time away", "Done"
BACK = "Back"
WATCH_RUNS = "The watch runs"
SAVED_WITH_TRIAL = "Saved together with this trial."
WATCHED_ELSEWHERE = "Timed at another position; it stands at {here} now: not saved with this trial."
WATCH_START, WATCH_STOP = "START", "STOP THE WATCH"
WATCH_BY_STEADY = "stopwatch on the tablet"
WATCH_BY_WALL = "the tablet's clock, because the app was restarted meanwhile"
WATCH_RESTARTED = "The app was restarted while the watch ran: this time is from the tablet's clock."
TAPS_RESTARTED = "The app was restarted between two contacts: the time between them is from the tablet's clock."
WATCH_UNSURE = "The watch can't be trusted: the tablet's clock was set back meanwhile. Time this walk again."


def watched_words(seconds: str, distance_m: str, speed: float | None) -> str:
    """Return what a stopwatch measured; ``speed`` in m/s, None without a distance."""
    if speed is None:
        return f"{seconds} s"
    return f"{distance_m} m in {seconds} s: {speed:.2f} m/s"


def click_words(is_on: bool) -> str:
    """Return whether taps click, as the button says it."""
    return "Click: on" if is_on else "Click: off"
