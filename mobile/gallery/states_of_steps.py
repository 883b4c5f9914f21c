"""A fitting's steps, and why each stands as it does: each in its states."""

from __future__ import annotations

from mobile.gallery.families import CLOSING, EARLY, FULL as MUCH
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state
from shared_models.catalogue.edition import load_edition
from shared_models.entries.envelope import Subject

# The list of a step -------------------------------------------------------------------


@state("FittingPage", TYPICAL, EARLY)
def step_half_done(at: Showing):
    """Some of a step is recorded."""
    at.go("built", "person")


@state("FittingPage", EMPTY, EARLY)
def step_not_begun(at: Showing):
    """Nothing of a step is recorded."""
    at.go("new", "person")


@state("FittingPage", ERROR, CLOSING)
def step_gone_stale(at: Showing):
    """An alignment was changed after everything was walked: what rests on it is stale."""
    subject = at.session.fitting("complete").subject
    body = {**at.session.fitting("complete").head("alignment/bench").body, "socket_flexion_deg": "12"}
    at.session.save("bench_alignment", subject, body)
    at.go("complete", "bench")


@state("FittingPage", ERROR, CLOSING)
def newer_sheet_changes_limits(at: Showing):
    """A newer version of the knee's sheet has other limits; the fitting keeps its own."""
    head = at.session.fitting("complete").record.head(Subject("component_sheet", "demo-knee-alder"), "sheet")
    body = {**head.body, "version": "1.3", "mass_limit_kg": "105", "lowest_level": "2", "service": {"months": "12"}}
    at.session.save("component_sheet", head.subject, body)
    at.go("complete", "components")


@state("FittingPage", FULL, MUCH)
def twenty_screws(at: Showing):
    """The screws of a large part, half of them tight, under the longest name."""
    at.go("signing", "torque")


@state("FittingPage", FULL, MUCH)
def arabic_name(at: Showing):
    """A name in Arabic letters in the header."""
    at.go("arabic", "person")


@state("FittingPage", FULL, MUCH)
def thai_name_at_work(at: Showing):
    """A name in Thai letters in the header."""
    at.go("thai", "person")


@state("FittingPage", FULL, MUCH)
def which_screw(at: Showing):
    """Choosing the screw that was touched, out of twenty."""
    at.go("signing", "torque").show_screws()


def _every_step(key: str) -> None:
    @state("FittingPage", TYPICAL, CLOSING)
    def _step(at: Showing):
        page = at.go("complete", key)
        page.show_cards()

    from mobile.gallery import states

    last = states.STATES.pop()
    states.STATES.append(states.State(last.screen, last.how, last.family, last.show, f"FittingPage-{TYPICAL}-step_{key}"))


for _step_of in load_edition().steps:
    _every_step(_step_of.key)


# Why a step stands as it does ------------------------------------------------------------


def _why(at: Showing, fitting: str, step: str):
    """Open it as somebody does: by the step of the rail that one is at."""
    at.go(fitting, step)
    at.press(f"step_rail:{step}")


@state("WhySheet", TYPICAL, CLOSING)
def most_is_met(at: Showing):
    """What is left of a fitting that is nearly done."""
    _why(at, "to_sign", "sign_off")


@state("WhySheet", EMPTY, CLOSING)
def nothing_is_open(at: Showing):
    """Every step is met."""
    _why(at, "complete", "review_plan")


@state("WhySheet", ERROR, CLOSING)
def gone_stale_and_why(at: Showing):
    """What rests on an alignment that was changed."""
    step_gone_stale(at)
    at.finger.settle()
    at.press("step_rail:bench")


@state("WhySheet", FULL, MUCH)
def all_is_open_among_twenty_screws(at: Showing):
    """Every step with all that is open of it."""
    _why(at, "full", "torque")
