"""Words of the practice mode: its mark, its refusals, and what the practice leg answers."""

from __future__ import annotations

from shared_models.language import Phrases, filled, phrase, spoken

#: The mark on every page and paper of practice.
MARK = "PRACTICE"
BAND = phrase("PRACTICE · nobody is being fitted")
CLINIC_NAME = phrase("Practice clinic (invented)")
WINDOW_TITLE = phrase("PRACTICE · Stancebook · nobody is being fitted")
NEVER_SENT = phrase("never sent")
LEAVE = phrase("Leave practice")
ENTER = phrase("Practise")
ENTER_WHY = phrase("a whole fitting on an invented person; nothing of it is ever sent")

#: Why practice and care are kept apart.
REFUSALS = Phrases({
    "practice_never_sent": "This is practice: nobody is being fitted, and nothing of it is ever sent. Leave practice to send what was recorded of people.",
    "practice_never_joins": "This is a practice store, and practice joins no clinic. Leave practice, then join on the tablet itself.",
    "practice_holds_real_record": "The folder of practice holds a record that is no practice. It was left as it was; move it to where it belongs, then practise.",
    "practice_clinic_only": "A practice store takes a practice clinic only, and a clinic of people is never called so. Nothing was recorded.",
})

# Choosing and leaving -----------------------------------------------------------------

BEGIN_TITLE = phrase("Whom to practise on?")
BEGIN_LEAD = phrase("Invented people on model legs. Several fittings may be kept; nobody is fitted.")
BEGIN = phrase("Begin a new practice person")
PINS_SHOWN = phrase("PINs here are shown, because nobody is fitted. {pins}")
PIN_OF = "{name}: {pin}."
SIGNS_HERE = phrase("You play the technician too. Choose {name} and type the PIN {pin}.")

# What instruments show and the person says ---------------------------------------------

#: In front of what is read or said, by the sort of slot; ``TOLD`` where none is named.
TOLD = phrase("To be found here")
TOLD_BY = Phrases({
    "new": "On the file", "body": "The scale shows", "activity": "The person says",
    "limb": "Examined", "consent": "The person says", "component": "Printed on the part",
    "alignment": "Measured", "torque_interim": "The wrench shows", "torque_final": "The wrench shows",
    "trial": "At the bars", "outcome": "The stopwatch and the person say", "skin": "Looked at",
})

# The walk -----------------------------------------------------------------------------

WALK, WALK_AGAIN, PAUSE, GO_ON = phrase("Walk"), phrase("Walk again"), phrase("Pause"), phrase("Go on")
SLOWLY, FULL_PACE = phrase("Half pace"), phrase("Full pace")
READ, READ_DONE = phrase("What is said and measured"), phrase("Back to the form")
PUT_AWAY = phrase("Put the figure away")
SHOW_ME, SHOWN_ALREADY = phrase("Show me"), phrase("Shown, which counts as help:")
WATCH = phrase("The person stands ready. Press 'Walk', watch the leg, then record what was seen.")
SAYS_NOTHING = phrase("The person says: it feels as it should.")
SAYS = phrase("The person says: {words}.")
SAYS_FINDING = "{words}, {grade}"
HELD, GAVE = phrase("The knee holds when it is loaded"), phrase("The knee does not hold when it is loaded")

#: What there was to see, by finding; a figure that is not there is left out with its clause.
_THERE = Phrases({
    "heel_rise_too_high": "the knee bent to {did_deg:.0f}°, and about {suits_deg:.0f}° suits",
    "heel_rise_too_low": "the knee bent to {did_deg:.0f}° only, and about {suits_deg:.0f}° suits",
    "terminal_impact": "the knee met its stop at {did_deg_s:.0f} °/s, and about {suits_deg_s:.0f} °/s suits",
    "extension_incomplete": "the knee was straight {late_ms:.0f} ms later than suits",
    "drops_on_descent": "a step down took {did_s:.2f} s, and about {suits_s:.2f} s suits",
    "yields_too_slowly": "a step down took {did_s:.2f} s, and about {suits_s:.2f} s suits",
})
_NOT_STRAIGHT = phrase("the knee was still bent when the foot came down")
NOTHING_THERE = phrase("There was nothing to find.")

# After recording ----------------------------------------------------------------------

ALL_RIGHT = phrase("Just what the leg showed: {words}.")
NOTHING_RIGHT = phrase("Rightly nothing: the leg showed nothing here.")
MISSED = phrase("Look once more for this: {words}{why}.")
OTHER_GRADE = phrase("Seen rightly: {words}; the leg showed it {grade}, recorded was {recorded}{why}.")
NOT_THERE = phrase("Recorded was '{words}'; the leg did not show that this time.")
STOP_MISSED = phrase("A walk like this is stopped at once: {words}. Stop stands at the foot of the page.")
STOPPED_RIGHTLY = phrase("Stopped rightly.")
STOPPED_WITHOUT_NEED = phrase("Stopped, though the leg asked for none; stopping once too often harms nobody.")

# Tapping ------------------------------------------------------------------------------

TAP_LEAD = phrase("Press 'Walk' and tap along with the feet in the picture.")
TAP_OFF = phrase("{side}: {off} ms {way}")
TAP_MEAN = phrase("{count} taps, on average {off} ms {way}, scattered by {spread} ms")
TAP_NO_FOOT = phrase("No foot came down near that tap.")
LATE, EARLY = phrase("late"), phrase("early")

# The report ---------------------------------------------------------------------------

REPORT = phrase("Practice so far")
REPORT_LINES = Phrases({
    "trials": "trials recorded", "walks": "walks watched", "hints": "times shown",
    "wrong": "judged otherwise than the leg showed", "stops_missed": "stops missed",
})
REPORT_DONE = phrase("The whole fitting is practised.")


def there_words(finding: str, figures: dict[str, float] | object) -> str:
    """Return what the leg did, as a clause; '' where no figure tells it."""
    template = _THERE.get(finding, "")
    try:
        return filled(template, figures)  # type: ignore[arg-type]
    except KeyError:
        return spoken(_NOT_STRAIGHT) if finding == "extension_incomplete" else ""
