"""Words around a walking trial: what to do now, who stands by, what the drawings show."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Sequence

from shared_models.calculations.tuning import Suggestion, turn_direction
from shared_models.catalogue.sheets import Adjuster
from shared_models.language import Phrases, figure_said, phrase, spoken
from shared_models.quantities.amounts import text_of
from shared_models.wording.units import unit_behind
from shared_models.wording.turning import way_words

# The drawings ---------------------------------------------------------------------

TURN = Phrases({"clockwise": "turn clockwise", "anticlockwise": "turn anticlockwise"})
STOP_MARK = phrase("stop")
HALF_FOOT = phrase("half the foot over the edge")
RAIL_HAND = phrase("hand of the sound side on the rail")
STEP_OVER = phrase("step over step, quietly")
HELPER_BELOW = phrase("helper below")
LET_LOWER = phrase("let the knee lower the body")
BETWEEN_BARS = phrase("hands on the bars, lightly")
SECOND_PERSON = phrase("second person close by, gait belt")
FROM_BELOW = phrase("threshold from its low end")
HOW_SAYS = Phrases({
    "level": "The first steps: between the bars, a second person close by.",
    "ramp": "Down the ramp: hand of the sound side on the rail, helper below.",
    "low_steps": "Down low steps: half the foot over the edge, hand on the rail, helper below.",
    "stairs": "Down the stairs: half the foot over the edge, step over step, hand on the rail, helper below.",
})

# Who stands by, and the caution ------------------------------------------------------

WHO = phrase("Who stands by?")
WHO_OTHER = phrase("Somebody else")
WHO_NAME = phrase("Name")
GO_ON = phrase("Go on: {who} stands by")
NOBODY = phrase("Say who stands by before the walk.")
SAY_AID = phrase("Say which aid is used.")
AID_USED = phrase("Which aid is used?")
TAKE, LEAVE_SO = phrase("Take"), phrase("Leave it so")
#: Beneath the drawings of later trials: the caution of the first one, in a few words.
CAUTION_SHORT = Phrases({
    "trial/stance_threshold": "Between the bars, from below.",
    "trial/ramp": "Rail in the sound-side hand, helper below.",
    "trial/low_steps": "Rail in the sound-side hand, helper below.",
    "trial/stairs": "Rail in the sound-side hand, helper below.",
})
FIRST = Phrases({
    "trial/ramp": "First time down the ramp",
    "trial/low_steps": "First time down low steps",
    "trial/stairs": "First time down the stairs",
})
FIRST_WALK = phrase("First steps on this leg")


def stands_by_words(name: str) -> str:
    """Return who stands by, as it is shown beside every trial."""
    return spoken("{name} stands by", name=name) if name else spoken("Nobody stands by yet")


def aid_words(aid: str) -> str:
    """Return the aid used, as it is shown beside every trial."""
    return spoken("Aid: {aid}", aid=aid) if aid else spoken("Aid: not said yet")


# What to do now ------------------------------------------------------------------------

WALK_NOW = phrase("Walk, then say what was seen and felt.")
TAP_CONTACTS, STOPWATCH = phrase("Tap contacts"), phrase("Stopwatch")
LOOK_AT_TIMING = phrase("Look at the timing")
PAIN, PACE = phrase("Pain\n0–10"), phrase("Pace")
NOTHING, NOTHING_ELSE = phrase("Nothing stood out"), phrase("Nothing else stood out")
NOTHING_SAID = phrase("Nothing else stood out: noted")
OWN_WORDS = phrase("In the person's words")
ANOTHER, AGAIN_HERE, TURN_FIRST = phrase("Choose another"), phrase("Walk again at {here}"), phrase("Turn it")
CONFIRM, NOT_YET, STOP = phrase("Confirm"), phrase("Not yet right"), phrase("Stop")
CONFIRMED_AT = phrase("Confirmed at {here}.")
CONFIRMED = phrase("Confirmed.")
WALK_MORE = phrase("Walk another trial")
BEGIN, GO_ON_NEXT = phrase("Begin"), phrase("Go on")
NOT_CLEARED = phrase("Not cleared: say why and plan a follow-up")
NOT_CONFIRMED_WITHOUT = phrase("'{label}' is answered no, so this can't be confirmed. Take 'Not yet right', or correct the answer.")
CONFIRMED_SHORT = phrase("'{label}' is answered no. Take 'Not yet right', or say below why it is confirmed all the same.")
CONFIRMED_MARKED = phrase("Something is marked. Take 'Not yet right', or say below why it is confirmed all the same.")


def big_words(found: Suggestion, adjuster: Adjuster, position: Decimal | None) -> str:
    """Return a suggestion that moves the adjuster in the fewest words, '' for any other."""
    if found.action not in ("turn", "restore") or None in (found.position, position):
        return ""
    to = text_of(found.position)
    turn = way_words(turn_direction(adjuster, position, found.position))
    if found.action == "restore":
        return spoken("Put back to {to}: {turn}", to=to, turn=turn)
    return spoken("Turn {turn} to {to}", turn=turn, to=to)


def done_words(position: Decimal) -> str:
    """Return what the button says that records a turn."""
    return spoken("Turned to {position}", position=text_of(position))


def step_choice_words(direction: str, after: Decimal) -> str:
    """Return one other step that can be taken."""
    return spoken("{direction} to {after}", direction=way_words(direction), after=text_of(after))


def walk_head(title: str, number: int) -> str:
    """Return the heading of a trial."""
    return f"{title} {number}"


#: How a trial ended, in the fewest words.
_OUTCOMES = Phrases({"confirmed": "confirmed", "change": "not yet right", "stopped": "stopped"})


def outcome_words(outcome: str) -> str:
    """Return how a trial ended, within a sentence; ``outcome`` is its code."""
    return _OUTCOMES.get(outcome, outcome)


def after_words(number: int, outcome: str) -> str:
    """Return how the trial before ended, in a sentence."""
    return spoken("After trial {number}: {outcome}.", number=number, outcome=outcome)


def stands_words(here: Decimal | None, was_turned: bool) -> str:
    """Return where the adjuster stands in the walk to come."""
    if here is None:
        return ""
    return spoken("Turned to {here}.", here=text_of(here)) if was_turned else spoken("Stands at {here}.", here=text_of(here))


# The last confirmed settings ---------------------------------------------------------------

_SHORT = Phrases({
    "Stance threshold": "threshold", "Swing flexion": "flexion", "Swing extension": "extension",
    "Stance damping": "damping",
})


def last_confirmed_line(settings: Sequence[tuple[str, str]]) -> str:
    """Return the last confirmed settings in one line; ``settings`` are (name, figure with its range)."""
    parts = [f"{_SHORT.get(name, name)} {figure.partition(' of ')[0]}" for name, figure in settings]
    return spoken("Last confirmed: ") + " · ".join(parts)


# A stop --------------------------------------------------------------------------------------

STOPPED_WHY = phrase("Stopped. Why?")
SEE_TO_THEM = phrase("First see to the person. This waits, and is kept.")
STOP_WORDS = phrase("What happened, in words (before a reason is pressed)")
NOT_STOPPED = phrase("It was not stopped")
RESTORE_LEAD = phrase("Before anything else put each setting back. Confirm each one once it is done.")


NOT_RESTORED, NOT_RESTORED_BUTTON = phrase("Not restored, because"), phrase("Not restored")
ALL_RESTORED = phrase("Restored")
ALL_STAND = phrase("Every setting stands where it was last confirmed, or at its start.")
SAY_WHY_NOT_RESTORED = phrase("Say why it is not restored.")
EACH_FIRST = phrase("Press at each setting once it is put back, or say why one is not.")


def stands_now_words(now: str) -> str:
    """Return where an adjuster stands before it is put back."""
    return spoken("stands at {now} now", now=now)


def put_back_done(wanted: str) -> str:
    """Return what the button says that confirms one setting."""
    return spoken("Put back to {wanted}", wanted=wanted)


def put_back_words(name: str, direction: str, wanted: str) -> str:
    """Return what to put back: adjuster, direction, position."""
    return spoken("{name}: {direction} to {wanted}", name=name, direction=way_words(direction), wanted=wanted) if direction else spoken("{name}: to {wanted}", name=name, wanted=wanted)


# What the drawings say -------------------------------------------------------------------------


def dial_says(shown: Any) -> str:
    """Return what a dial shows, in words."""
    parts = [spoken("{name}, {lowest} to {highest} {unit}", name=shown.name, lowest=text_of(shown.lowest), highest=text_of(shown.highest), unit=unit_behind(shown.highest, shown.unit))]
    if shown.here is not None:
        parts.append(spoken("stands at {here}", here=text_of(shown.here)))
    if shown.turn:
        parts.append(spoken("suggested: {turn} to {there}", turn=TURN[shown.turn], there=text_of(shown.there)))
    if shown.low is not None:
        parts.append(spoken("clearly too low up to {low}", low=text_of(shown.low)))
    if shown.high is not None:
        parts.append(spoken("clearly too high from {high}", high=text_of(shown.high)))
    return "; ".join(parts) + "."


def reach_words(adjuster: Adjuster) -> str:
    """Return the largest step, in words."""
    return spoken("largest step {largest_step} {unit}", largest_step=text_of(adjuster.largest_step), unit=unit_behind(adjuster.largest_step, adjuster.unit))


def course_says(shown: Any) -> str:
    """Return what the chart of trials shows, in words."""
    if not shown.points:
        return spoken("{name}: no trial yet.", name=shown.name)
    trials = [
        spoken("{number} at {position}, {outcome}", number=p.number, position=text_of(p.position), outcome=outcome_words(p.outcome))
        + (spoken(" (found: {letter})", letter=', '.join(m.letter for m in p.marks)) if p.marks else "")
        for p in shown.points[-12:]
    ]
    return spoken("{name}, trials: ", name=shown.name) + "; ".join(trials) + "."


# A stopwatch -------------------------------------------------------------------------------------

WATCH_HEAD = phrase("Stopwatch over a marked distance")
WATCH_FIRST_MARK = phrase("Press anywhere in here as the leading foot crosses the first mark.")
WATCH_SECOND_MARK = phrase("Press as the leading foot crosses the second mark. It runs on if the app is closed.")
WATCH_FORGET, WATCH_DONE = phrase("Throw the time away"), phrase("Done")
BACK = phrase("Back")
WATCH_RUNS = phrase("The watch runs")
SAVED_WITH_TRIAL = phrase("Saved together with this trial.")
WATCHED_ELSEWHERE = phrase("Timed at another position; it stands at {here} now: not saved with this trial.")
WATCH_START, WATCH_STOP = phrase("START"), phrase("STOP THE WATCH")
WATCH_BY_STEADY = "stopwatch on the tablet"
WATCH_BY_WALL = "the tablet's clock, because the app was restarted meanwhile"
WATCH_RESTARTED = phrase("The app was restarted while the watch ran: this time is from the tablet's clock.")
TAPS_RESTARTED = "The app was restarted between two contacts: the time between them is from the tablet's clock."
WATCH_UNSURE = phrase("The watch can't be trusted: the tablet's clock was set back meanwhile. Time this walk again.")


def watched_words(seconds: str, distance_m: str, speed: float | None) -> str:
    """Return what a stopwatch measured; ``speed`` in m/s, None without a distance."""
    if speed is None:
        return f"{figure_said(seconds)} s"
    return spoken("{distance_m} m in {seconds} s: {speed:.2f} m/s", distance_m=distance_m, seconds=seconds, speed=speed)


def click_words(is_on: bool) -> str:
    """Return whether taps click, as the button says it."""
    return spoken("Click: on") if is_on else spoken("Click: off")
