"""Caps, the sign-off, what is missing, the person's sheet: each in its states."""

from __future__ import annotations

from mobile.gallery.families import CLOSING, EARLY, FULL as MUCH
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state, without


@state("CapsPane", TYPICAL, CLOSING)
def caps_to_seat(at: Showing):
    """None is seated yet."""
    at.go("to_cap", "caps")


@state("CapsPane", TYPICAL, CLOSING)
def caps_seated(at: Showing):
    """All are seated."""
    at.go("complete", "caps")


@state("CapsPane", EMPTY, EARLY)
def no_parts_yet(at: Showing):
    """No part is known, so no cap either."""
    at.go("told", "caps")


@state("CapsPane", ERROR, CLOSING)
def cap_not_seated(at: Showing):
    """Recorded as not seated, before its screw was tight."""
    view = at.session.fitting("tightening")
    at.session.save("cap", view.subject, {"cap": view.caps()[0].key, "seated": False})
    at.go("tightening", "caps")


@state("CapsPane", FULL, MUCH)
def caps_under_the_longest_name(at: Showing):
    """All caps, much else on the page."""
    at.go("signing", "caps")


@state("SignOffPane", TYPICAL, CLOSING)
def giving_the_tablet(at: Showing):
    """What will be signed."""
    at.go("to_sign", "sign_off")


@state("SignOffPane", TYPICAL, CLOSING)
def in_the_technicians_hands(at: Showing):
    """The list, and the PIN."""
    at.go("to_sign", "sign_off")
    at.press("give")


@state("SignOffPane", EMPTY, CLOSING)
def nothing_to_sign_yet(at: Showing):
    """Screws without a reading."""
    at.go("tightening", "sign_off", "sign_off")
    if at.finger.is_there("give"):
        at.press("give")


@state("SignOffPane", ERROR, CLOSING)
def technicians_pin_wrong(at: Showing):
    """The wrong PIN."""
    in_the_technicians_hands(at)
    at.finger.settle()
    if at.finger.is_there("field:way"):
        at.type("way", "witnessed")
    at.pin("864209")


@state("SignOffPane", FULL, MUCH)
def twenty_screws_to_sign(at: Showing):
    """Twenty screws with long names."""
    at.go("signing", "sign_off", "sign_off")
    at.press("give") if at.finger.is_there("give") else None


@state("MissingPane", TYPICAL, CLOSING)
def some_missing(at: Showing):
    """Most is done."""
    at.go("to_sign", "missing")


@state("MissingPane", TYPICAL, CLOSING)
def nothing_missing(at: Showing):
    """Complete."""
    at.go("complete", "missing")


@state("MissingPane", EMPTY, EARLY)
def all_missing(at: Showing):
    """Just opened."""
    at.go("new", "missing")


@state("MissingPane", ERROR, CLOSING)
def remarks_of_the_review(at: Showing):
    """The review was not accepted, with remarks."""
    subject = at.session.fitting("complete").subject
    at.session.save("review_requested", subject, {})
    lead = at.tablet.unlock_beside(at.session, "demo-lead", _pin("demo-lead"))
    at.session.save("review_decision", subject, {
        "decision": "rejected", "remarks": [{"step": "stance_damping", "text": "Walk the stairs once more, with the usual shoe."}],
    }, signed_with=lead)
    at.go("complete", "missing")


@state("FittingPage", ERROR, CLOSING)
def remark_at_its_step(at: Showing):
    """What the lead clinician remarked, on the step it is about."""
    remarks_of_the_review(at)
    at.go("complete", "stance_damping")


@state("MissingPane", FULL, MUCH)
def much_missing(at: Showing):
    """Twenty screws and thirty trials, half of it open."""
    at.go("full", "missing")


def _pin(staff: str) -> str:
    from mobile.demo import shown_pin

    return shown_pin(staff)


def _paper(at: Showing, fitting: str):
    from mobile.screens.paper import PaperPane

    page = at.go(fitting, "missing")
    return PaperPane(page)


@state("PaperPane", TYPICAL, CLOSING)
def the_persons_sheet(at: Showing):
    """Whole."""
    _paper(at, "complete")


@state("PaperPane", EMPTY, EARLY)
def sheet_of_nothing(at: Showing):
    """A draft of a fitting just opened."""
    _paper(at, "new")


@state("PaperPane", ERROR, CLOSING)
def sheet_not_saved(at: Showing):
    """The folder can't be written: a file stands in its place."""
    pane = _paper(at, "complete")
    pane.folder.write_text("a file where the folder should be", "utf-8")
    pane.save()
    at.wait_for(lambda: pane.run.done and not pane.button.disabled, "the refusal")


@state("PaperPane", FULL, MUCH)
def sheet_at_length(at: Showing):
    """The longest name, much set aside."""
    _paper(at, "full")
