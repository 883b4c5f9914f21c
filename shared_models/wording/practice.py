"""Words of the practice mode: its mark, its refusals, and what the practice leg answers."""

from __future__ import annotations

#: The mark on every page and paper of practice.
MARK = "PRACTICE"
BAND = "PRACTICE · nobody is being fitted"
CLINIC_NAME = "Practice clinic (invented)"
WINDOW_TITLE = "PRACTICE · Stancebook · nobody is being fitted"
NEVER_SENT = "never sent"
LEAVE = "Leave practice"
ENTER = "Practise"
ENTER_WHY = "a whole fitting on an invented person; nothing of it is ever sent"

#: Why practice and care are kept apart.
REFUSALS = {
    "practice_never_sent": "This is practice: nobody is being fitted, and nothing of it is ever sent. Leave practice to send what was recorded of people.",
    "practice_never_joins": "This is a practice store, and practice joins no clinic. Leave practice, then join on the tablet itself.",
    "practice_holds_real_record": "The folder of practice holds a record that is no practice. It was left as it was; move it to where it belongs, then practise.",
    "practice_clinic_only": "A practice store takes a practice clinic only, and a clinic of people is never called so. Nothing was recorded.",
}

# Choosing and leaving -----------------------------------------------------------------

BEGIN_TITLE = "Whom to practise on?"
BEGIN_LEAD = "Invented people on model legs. Several fittings may be kept; nobody is fitted."
BEGIN = "Begin a new practice person"
PINS_SHOWN = "PINs here are shown, because nobody is fitted. {pins}"
PIN_OF = "{name}: {pin}."
SIGNS_HERE = "You play the technician too. Choose {name} and type the PIN {pin}."

# What instruments show and the person says ---------------------------------------------

#: In front of what is read or said, by the sort of slot; ``TOLD`` where none is named.
TOLD = "To be found here"
TOLD_BY = {
    "new": "On the file", "body": "The scale shows", "activity": "The person says",
    "limb": "Examined", "consent": "The person says", "component": "Printed on the part",
    "alignment": "Measured", "torque_interim": "The wrench shows", "torque_final": "The wrench shows",
    "trial": "At the bars", "outcome": "The stopwatch and the person say", "skin": "Looked at",
}

# The walk -----------------------------------------------------------------------------

WALK, WALK_AGAIN, PAUSE, GO_ON = "Walk", "Walk again", "Pause", "Go on"
SLOWLY, FULL_PACE = "Half pace", "Full pace"
READ, READ_DONE = "What is said and measured", "Back to the form"
PUT_AWAY = "Put the figure away"
SHOW_ME, SHOWN_ALREADY = "Show me", "Shown, which counts as help:"
WATCH = "The person stands ready. Press 'Walk', watch the leg, then record what was seen."
SAYS_NOTHING = "The person says: it feels as it should."
SAYS = "The person says: {words}."
SAYS_FINDING = "{words}, {grade}"
HELD, GAVE = "The knee holds when it is loaded", "The knee does not hold when it is loaded"

#: What there was to see, by finding; a figure that is not there is left out with its clause.
_THERE = {
    "heel_rise_too_high": "the knee bent to {did_deg:.0f}°, and about {suits_deg:.0f}° suits",
    "heel_rise_too_low": "the knee bent to {did_deg:.0f}° only, and about {suits_deg:.0f}° suits",
    "terminal_impact": "the knee met its stop at {did_deg_s:.0f} °/s, and about {suits_deg_s:.0f} °/s suits",
    "extension_incomplete": "the knee was straight {late_ms:.0f} ms later than suits",
    "drops_on_descent": "a step down took {did_s:.2f} s, and about {suits_s:.2f} s suits",
    "yields_too_slowly": "a step down took {did_s:.2f} s, and about {suits_s:.2f} s suits",
}
_NOT_STRAIGHT = "the knee was still bent when the foot came down"
NOTHING_THERE = "There was nothing to find."

# After recording ----------------------------------------------------------------------

ALL_RIGHT = "Just what the leg showed: {words}."
NOTHING_RIGHT = "Rightly nothing: the leg showed nothing here."
MISSED = "Look once more for this: {words}{why}."
OTHER_GRADE = "Seen rightly: {words}; the leg showed it {grade}, recorded was {recorded}{why}."
NOT_THERE = "Recorded was '{words}'; the leg did not show that this time."
STOP_MISSED = "A walk like this is stopped at once: {words}. Stop stands at the foot of the page."
STOPPED_RIGHTLY = "Stopped rightly."
STOPPED_WITHOUT_NEED = "Stopped, though the leg asked for none; stopping once too often harms nobody."

# Tapping ------------------------------------------------------------------------------

TAP_LEAD = "Press 'Walk' and tap along with the feet in the picture."
TAP_OFF = "{side}: {off} ms {way}"
TAP_MEAN = "{count} taps, on average {off} ms {way}, scattered by {spread} ms"
TAP_NO_FOOT = "No foot came down near that tap."
LATE, EARLY = "late", "early"

# The report ---------------------------------------------------------------------------

REPORT = "Practice so far"
REPORT_LINES = (
    ("trials", "trials recorded"), ("walks", "walks watched"), ("hints", "times shown"),
    ("wrong", "judged otherwise than the leg showed"), ("stops_missed", "stops missed"),
)
REPORT_DONE = "The whole fitting is practised."


def there_words(finding: str, figures: dict[str, float] | object) -> str:
    """Return what the leg did, as a clause; '' where no figure tells it."""
    template = _THERE.get(finding, "")
    try:
        return template.format_map(figures)  # type: ignore[arg-type]
    except KeyError:
        return _NOT_STRAIGHT if finding == "extension_incomplete" else ""
