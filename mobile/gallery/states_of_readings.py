"""A fitting's forms and readings, a dispute, taking back: each in its states."""

from __future__ import annotations

from mobile.gallery.families import CLOSING, EARLY, FULL as MUCH, LONG_WORDS, WALKS
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state, without
from mobile.gallery.states_of_steps import step_gone_stale

# Forms ------------------------------------------------------------------------------------


@state("EntryPane", EMPTY, EARLY)
def nothing_typed_yet(at: Showing):
    """The first form of a person."""
    at.go("new", "person", "body")


@state("EntryPane", TYPICAL, EARLY)
def figures_typed(at: Showing):
    """A figure in hand, the keypad beside it."""
    at.go("new", "person", "body")
    at.type("body_mass_kg", "82.5")


@state("EntryPane", TYPICAL, EARLY)
def figures_in_pounds(at: Showing):
    """The unit key was pressed: limits and steps are in pounds, the digits as typed."""
    at.go("new", "person", "body")
    at.type("body_mass_kg", "180")
    at.press("key:unit")


@state("EntryPane", ERROR, EARLY)
def pounds_out_of_range(at: Showing):
    """Beyond what is possible, told in pounds."""
    at.go("new", "person", "body")
    at.type("body_mass_kg", "1800 lb")


@state("EntryPane", ERROR, EARLY)
def slipped_comma(at: Showing):
    """825 for 82.5: refused beside the field."""
    at.go("new", "person", "body")
    at.type("body_mass_kg", "825")
    at.press("save")


@state("EntryPane", ERROR, EARLY)
def much_left_out(at: Showing):
    """Saved with everything left out."""
    at.go("new", "person", "limb")
    at.press("save")


@state("EntryPane", FULL, EARLY)
def many_words(at: Showing):
    """As much as somebody writes."""
    at.go("new", "person", "activity")
    at.type("goals", LONG_WORDS * 2)


@state("EntryPane", TYPICAL, WALKS)
def correcting(at: Showing):
    """What is recorded opened for a correction."""
    at.go("first", "person", "body")
    at.press("correct")


@state("EntryPane", TYPICAL, EARLY)
def aligning_on_the_bench(at: Showing):
    """Figures with their drawing."""
    at.go("built", "bench", "alignment/bench")
    at.type("reference_line_offset_mm", "4")


@state("EntryPane", ERROR, WALKS)
def load_line_far_off(at: Showing):
    """The load line outside of what the sheet states: doubted, with the move that mends it."""
    at.go("first", "static", "alignment/static")
    if not at.finger.is_there("field:load_line_offset_mm"):
        at.press("anew")
        at.finger.settle()
    at.type("load_line_offset_mm", "64")
    at.type("weight_on_prosthesis_kg", "20")


def _form(key: str, fitting: str, family: str, step: str, slot: str) -> None:
    @state("FormPane", TYPICAL, family)
    def _slot(at: Showing):
        at.go(fitting, step, slot)

    from mobile.gallery import states

    last = states.STATES.pop()
    states.STATES.append(states.State("FormPane", last.how, family, last.show, f"FormPane-{TYPICAL}-{key}"))


for _key, _fitting, _family, _step_key, _slot_key in (
    ("activity", "new", EARLY, "", "activity"), ("limb", "new", EARLY, "", "limb"),
    ("footwear", "new", EARLY, "", "footwear"), ("consent", "new", EARLY, "", "consent"),
    ("setting", "built", EARLY, "", "setting/swing_flexion"), ("waiver", "to_cap", CLOSING, "outcome", "waiver/outcome"),
    ("event", "to_cap", CLOSING, "handover", "event/one"),
):
    _form(_key, _fitting, _family, _step_key, _slot_key)


@state("FormPane", EMPTY, EARLY)
def knee_check_open(at: Showing):
    """Yes and no, nothing answered."""
    at.go("built", "", "knee_check")


@state("FormPane", ERROR, EARLY)
def knee_leaks(at: Showing):
    """An answer that stops the fitting."""
    at.go("built", "", "knee_check")
    at.type("no_leak", "no")
    at.press("save")


@state("FormPane", FULL, CLOSING)
def handover_in_words(at: Showing):
    """The longest form, with much written into it."""
    at.go("to_cap", "handover", "handover")
    at.type("whom_to_call", LONG_WORDS)


@state("PartPane", EMPTY, EARLY)
def no_part_chosen(at: Showing):
    """A place of the leg, nothing chosen."""
    at.go("told", "components", "component/knee")


@state("PartPane", TYPICAL, EARLY)
def part_with_serial(at: Showing):
    """A part chosen and its serial typed."""
    no_part_chosen(at)
    at.type("serial", "DEMO-KNE-0417")
    at.type("lot", "D26")


@state("PartPane", ERROR, EARLY)
def serial_left_out(at: Showing):
    """Saved without a serial."""
    no_part_chosen(at)
    at.press("save")


@state("PartPane", FULL, EARLY)
def long_serial(at: Showing):
    """A serial as long as a code holds."""
    no_part_chosen(at)
    at.type("serial", "DEMO-KNE-0417-" * 5)


@state("TorquePane", EMPTY, CLOSING)
def screw_not_read(at: Showing):
    """The next screw."""
    at.go("tightening", "torque", _open_screw(at, "tightening"))


@state("TorquePane", TYPICAL, CLOSING)
def screw_read(at: Showing):
    """A reading within its range."""
    screw_not_read(at)
    at.type("reading_nm", "11")


@state("TorquePane", ERROR, CLOSING)
def screw_over_tight(at: Showing):
    """A reading twice what is asked."""
    screw_not_read(at)
    at.type("reading_nm", "30")
    at.press("save")


@state("TorquePane", FULL, MUCH)
def screw_of_twenty(at: Showing):
    """A screw with a long name among twenty."""
    at.go("full", "torque", _open_screw(at, "full", 12))


def _open_screw(at: Showing, fitting: str, number: int = 4) -> str:
    return f"torque_final/{at.session.fitting(fitting).screws()[number].key}"


# Recorded, disputed ---------------------------------------------------------------------


@state("RecordedPane", TYPICAL, EARLY)
def body_recorded(at: Showing):
    """Every field, and who saved it."""
    at.go("told", "person", "body")


@state("RecordedPane", TYPICAL, CLOSING)
def alignment_recorded(at: Showing):
    """A reading with its drawing."""
    at.go("complete", "static", "alignment/static")


@state("RecordedPane", ERROR, CLOSING)
def recorded_and_stale(at: Showing):
    """A reading whose ground has changed."""
    step_gone_stale(at)
    at.go("complete", "static", "alignment/static")


@state("RecordedPane", FULL, MUCH)
def recorded_at_length(at: Showing):
    """Much written, under the longest name."""
    at.go("full", "person", "activity")


without("RecordedPane", EMPTY, "it is only shown for what is recorded")


@state("DisputePane", TYPICAL, EARLY)
def changed_apart(at: Showing):
    """Two tablets said different things."""
    at.go("apart", "person", "body")


without("DisputePane", EMPTY, "it is only shown where two things stand against each other")
without("DisputePane", ERROR, "the dispute is itself what is wrong, and either answer is possible")
without("DisputePane", FULL, "a form has as many fields as it has; each is shown once for each tablet")


# Taking back ------------------------------------------------------------------------------


def _reason(at: Showing):
    at.go("told", "person", "body")
    at.press("withdraw")


@state("CorrectionSheet", TYPICAL, EARLY)
def why_taken_out(at: Showing):
    """The usual reason chosen."""
    _reason(at)


@state("CorrectionSheet", ERROR, EARLY)
def other_without_a_word(at: Showing):
    """Another reason, and not said which."""
    _reason(at)
    at.find("field:reason").value = "other"
    at.find("correction:confirm").dispatch("on_release")


@state("CorrectionSheet", FULL, EARLY)
def reason_at_length(at: Showing):
    """Much written."""
    _reason(at)
    at.type("reason_note", LONG_WORDS * 2)


without("CorrectionSheet", EMPTY, "a reason is always chosen; it opens with the usual one")
