"""A visit after the first: begun, read as found, an event still open, a part exchanged."""

from __future__ import annotations

from datetime import timedelta

from shared_models.entries.envelope import Subject
from shared_models.quantities.moments import now_here
from mobile.flows.visits import begin_visit
from mobile.gallery.families import CLOSING, LONG_WORDS
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state


class Visit:
    """A visit after the complete fitting of the gallery."""

    def __init__(self, at: Showing) -> None:
        self.at, self.session = at, at.session
        self.id = begin_visit(at.session, at.session.fitting("complete"))
        self.subject = Subject("fitting", self.id)

    @property
    def view(self):
        """The visit as recorded now."""
        return self.session.fitting(self.id)

    def note(self, kind: str, **body):
        """Record a fact of the visit."""
        return self.session.save(kind, self.subject, body)

    def asked(self, **more) -> "Visit":
        """How it went since last time."""
        self.note("since_last", **{
            "came_for": "planned", "hours_worn_a_day": "12", "steps_a_day": "4000", "stairs_pattern": "step_over_step",
            "falls": "0", "gave_way": False, "noise_leak_looseness": False, **more,
        })
        self.note("parts_compared", as_recorded=True, no_damage=True)
        return self

    def found(self, **positions: str) -> "Visit":
        """Adjusters, alignment and screws as found; those left out stand as they were left."""
        for function, position in {**self.view.former.settings(), **positions}.items():
            self.note("setting_found", function=function, position=position)
        self.note("alignment_found", load_line_offset_mm="48", height_difference_mm="-4")
        calibrated = (now_here().date() - timedelta(days=90)).isoformat()
        for number, screw in enumerate(self.view.screws()):
            reading = "3" if number == 0 else str(screw.screw.final_nm)
            self.note("torque_check", screw=screw.key, held=number > 0, reading_nm=reading, wrench="W1", wrench_calibrated_on=calibrated)
        return self

    def event(self, key: str = "e1", **more) -> "Visit":
        """A fall, pain or fault."""
        self.note("adverse_event", **{
            "event": key, "happened_on": now_here().date().isoformat(), "what": "fall", "during": "wet kerb", "injury": "none",
            "knee_involved": "no", "action": "sat down", "told": "the clinic", "follow_up": "look at the knee", **more,
        })
        return self

    def foot_exchanged(self, note: str = "") -> "Visit":
        """The foot came out and another one went in."""
        was = self.view.former.head("component/foot")
        self.note("part_out", place="foot", serial=str(was.body.get("serial") or "none marked"), reason="worn", condition="worn", goes_to="maker", note=note)
        self.note("component", **{**was.body, "serial": "F-200"})
        return self

    def go(self, step: str) -> None:
        """Show a step with its cards."""
        self.at.go(self.id, step)
        if step != "missing":
            self.at.page.show_cards()


@state("HomePage", TYPICAL, CLOSING)
def falls_to_follow_up(at: Showing):
    """A fall with harm that nobody has closed, on the list of the clinic."""
    at.session.save("adverse_event", Subject("fitting", "complete"), {
        "event": "e1", "what": "fall", "during": "wet kerb", "injury": "care", "knee_involved": "perhaps", "follow_up": "look at the knee",
    })
    at.stage.go_home()


@state("FittingPage", EMPTY, CLOSING)
def visit_just_begun(at: Showing):
    """Nothing is asked yet."""
    Visit(at).go("since")


@state("FittingPage", TYPICAL, CLOSING)
def visit_as_found(at: Showing):
    """What drifted: a valve, the load line, a screw that turned."""
    Visit(at).asked().found(swing_flexion="10").go("as_found")


@state("FittingPage", TYPICAL, CLOSING)
def position_asked_beside_where_it_was_left(at: Showing):
    """A reading with where it was left last time."""
    at.go(Visit(at).asked().id, "as_found", "found/swing_flexion")


@state("FittingPage", TYPICAL, CLOSING)
def visit_torque_checked_again(at: Showing):
    """A screw looked at as it was found: asked, left, wrench, and where it sits."""
    visit = Visit(at).asked()
    at.go(visit.id, "as_found", f"torque_check/{visit.view.screws()[2].key}")


@state("FittingPage", TYPICAL, CLOSING)
def visit_outcome_over_time(at: Showing):
    """Measures of this visit beside those of the fitting, with the published change as a band."""
    visit = Visit(at).asked()
    visit.note("outcome_measures", ten_metre_walk_s="8.1", timed_up_and_go_s="14.2", two_minute_walk_m="128", socket_comfort_0_10="8", aid="none")
    at.go(visit.id, "outcome", "outcome")


@state("FittingPage", TYPICAL, CLOSING)
def visit_service(at: Showing):
    """A service not begun: what is due, and what may be written down."""
    Visit(at).asked().found().go("service")


@state("FittingPage", TYPICAL, CLOSING)
def visit_foot_exchanged(at: Showing):
    """Who carried which part."""
    Visit(at).asked().found().foot_exchanged().go("exchange")


@state("FittingPage", ERROR, CLOSING)
def visit_with_falls_not_recorded(at: Showing):
    """Falls are said, and one of them with harm is open."""
    visit = Visit(at).asked(falls="3").event(injury="care", knee_involved="yes")
    visit.go("since")


@state("FittingPage", FULL, CLOSING)
def visit_with_many_events(at: Showing):
    """A dozen events, with much written beside."""
    visit = Visit(at).asked(falls="12", own_words=LONG_WORDS)
    for number in range(12):
        visit.event(f"e{number}", during=LONG_WORDS if number % 4 == 0 else "wet kerb")
    visit.go("since")


@state("MissingPane", FULL, CLOSING)
def visit_all_missing(at: Showing):
    """Most of a visit is open, and so is an event."""
    Visit(at).asked(falls="1").event().found(swing_flexion="10").go("missing")
