"""Trials, timing and the stopwatch: each in its states."""

from __future__ import annotations

from mobile.flows.forms import SlotForm
from mobile.gallery.families import FULL as MUCH, LONG_WORDS, WALKS
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state, without

FLEXION, THRESHOLD, STAIRS = "trial/swing_flexion", "trial/stance_threshold", "trial/stairs"


@state("TrialPane", EMPTY, WALKS)
def before_the_first_walk(at: Showing):
    """The caution, and who stands by."""
    at.go("first", "stance_threshold", THRESHOLD)


@state("TrialPane", TYPICAL, WALKS)
def walking(at: Showing):
    """What was seen and felt."""
    at.go("walking", "swing_flexion", FLEXION)


@state("TrialPane", TYPICAL, WALKS)
def turning(at: Showing):
    """Between two trials: what to turn."""
    at.go("turning", "swing_flexion", FLEXION)


@state("TrialPane", TYPICAL, WALKS)
def confirmed(at: Showing):
    """It fits."""
    at.go("tuned", "swing_flexion", FLEXION)


@state("TrialPane", TYPICAL, WALKS)
def on_the_stairs(at: Showing):
    """Stairs, walked once."""
    at.go("tuned", "", STAIRS)


@state("TrialPane", ERROR, WALKS)
def confirmed_with_much_unsaid(at: Showing):
    """Confirmed before anything was said."""
    at.go("walking", "swing_flexion", FLEXION)
    at.press("confirm")


@state("TrialPane", ERROR, WALKS)
def nobody_stands_by(at: Showing):
    """Begun without anybody beside."""
    at.go("first", "stance_threshold", THRESHOLD)
    at.type("stands_by", "")
    at.press("begin")


@state("TrialPane", ERROR, WALKS)
def second_change_at_once(at: Showing):
    """Swing extension was turned since the last walk, and swing flexion is about to be."""
    at.go("both_turned", "swing_flexion", FLEXION)
    at.press("suggestion:act")


@state("TrialPane", ERROR, WALKS)
def stop_pressed(at: Showing):
    """Why was it stopped?"""
    at.go("walking", "swing_flexion", FLEXION)
    at.page.trial.stop()


@state("TrialPane", ERROR, WALKS)
def put_back_after_a_stop(at: Showing):
    """What to put back, before anything else."""
    at.go("stopped", "swing_flexion", FLEXION)


@state("TrialPane", ERROR, WALKS)
def put_back_after_a_fall(at: Showing):
    """What to put back, and the fall to be recorded."""
    at.go("fell", "swing_flexion", FLEXION)


@state("TrialPane", ERROR, WALKS)
def fall_not_recorded(at: Showing):
    """The settings stand again, the fall is not recorded as an event."""
    at.go("fell_before", "swing_flexion", FLEXION)


@state("EntryPane", TYPICAL, WALKS)
def fall_that_stopped_a_trial(at: Showing):
    """Its day and its trial are filled in."""
    at.go("fell_before", "swing_flexion", FLEXION)
    at.press("stop_event:act")


@state("EntryPane", EMPTY, WALKS)
def no_event_because(at: Showing):
    """Why a stop for a fall is none."""
    at.go("fell_before", "swing_flexion", FLEXION)
    at.press("no_event")


@state("MissingPane", ERROR, WALKS)
def fall_among_what_is_missing(at: Showing):
    """A fall that nobody recorded."""
    at.go("fell_before", "missing")


@state("EntryPane", ERROR, WALKS)
def second_change_in_a_form(at: Showing):
    """Swing extension was turned since the last walk, and the standing alignment is taken anew."""
    at.go("both_turned", "static", "alignment/static")
    at.press("anew")
    head = at.session.fitting("both_turned").head("alignment/static")
    for key, value in {**head.body, "load_line_offset_mm": "30"}.items():
        at.type(key, value)
    at.press("save")


@state("TrialPane", FULL, MUCH)
def thirty_trials(at: Showing):
    """After thirty trials with much written."""
    at.go("full", "swing_flexion", FLEXION)


@state("TrialPane", FULL, MUCH)
def thirty_trials_and_walking_again(at: Showing):
    """Walked again where it stands, with much written."""
    at.go("full", "swing_flexion", FLEXION)
    if at.finger.is_there("walk_again"):
        at.press("walk_again")
        at.finger.settle()
    if at.finger.is_there("why_last"):
        at.press("why_last")


def _sheet_of(at: Showing, name: str, fitting: str = "walking"):
    from mobile.screens import trial_begin

    at.go(fitting, "swing_flexion", FLEXION)
    form = SlotForm(at.session, fitting, FLEXION)
    getattr(trial_begin, name)(form, lambda: None).open()


@state("WhoSheet", TYPICAL, WALKS)
def somebody_else(at: Showing):
    """Known names, or another."""
    _sheet_of(at, "WhoSheet")


@state("WhoSheet", ERROR, WALKS)
def no_name_given(at: Showing):
    """Taken without a name."""
    _sheet_of(at, "WhoSheet")
    at.press("who_sheet:confirm")


@state("WhoSheet", FULL, MUCH)
def long_names_stand_by(at: Showing):
    """A long name among those known."""
    _sheet_of(at, "WhoSheet", "full")
    at.find("field:stands_by").text = LONG_WORDS[:200]


without("WhoSheet", EMPTY, "whoever stood by on the bench is known before the first walk")


@state("AidSheet", TYPICAL, WALKS)
def another_aid(at: Showing):
    """One press."""
    _sheet_of(at, "AidSheet")


without("AidSheet", EMPTY, "the aids are part of the edition")
without("AidSheet", ERROR, "every choice is possible")
without("AidSheet", FULL, "the aids are always the same")


# Timing ------------------------------------------------------------------------------------


def _timing(at: Showing, looking: bool = False, taps: int = 0):
    at.stage.go_timing("walking", "swing_flexion", FLEXION, False)
    for number in range(taps):
        at.page.tapped(("left", "right")[number % 2], 1000.0 + 0.6 * number)
    if looking:
        at.page.look()


@state("TimingPage", EMPTY, WALKS)
def before_the_first_tap(at: Showing):
    """Two halves."""
    _timing(at)


@state("TimingPage", TYPICAL, WALKS)
def tapping(at: Showing):
    """Some taps in."""
    _timing(at, taps=9)


@state("TimingPage", TYPICAL, WALKS)
def timed(at: Showing):
    """The figures of a walk."""
    _timing(at, looking=True, taps=14)


@state("TimingPage", ERROR, WALKS)
def too_few_taps(at: Showing):
    """Looked at after two taps."""
    _timing(at, looking=True, taps=2)


@state("TimingPage", FULL, WALKS)
def long_walk(at: Showing):
    """A hundred taps."""
    _timing(at, looking=True, taps=100)


def _watch(at: Showing):
    at.stage.go_watch("walking", "swing_flexion", FLEXION)


@state("WatchPage", EMPTY, WALKS)
def watch_at_rest(at: Showing):
    """Not started."""
    _watch(at)


@state("WatchPage", TYPICAL, WALKS)
def watch_measured(at: Showing):
    """A time was taken."""
    form = SlotForm(at.session, "walking", FLEXION)
    form.edit("marked_distance_m", "10")
    form.edit("marked_time_s", "8.4")
    _watch(at)


@state("WatchPage", ERROR, WALKS)
def distance_refused(at: Showing):
    """A distance that no clinic has."""
    _watch(at)
    at.page.distance.text = "9000"
    at.page.distance.dispatch("on_edit", "9000")


without("WatchPage", FULL, "it holds one distance and one time, whatever is recorded")


def _files(at: Showing, files: dict[str, str]):
    at.tablet.contacts_folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (at.tablet.contacts_folder / name).write_text(text, "utf-8")
    at.stage.go_contact_files("walking", "swing_flexion", FLEXION)


@state("ContactFilesPage", EMPTY, WALKS)
def no_file(at: Showing):
    """Nothing in the folder."""
    _files(at, {})


@state("ContactFilesPage", TYPICAL, WALKS)
def some_files(at: Showing):
    """Files of another instrument."""
    _files(at, {f"walk-{n}.csv": "side,time_s\nleft,0.1\nright,0.7\n" for n in range(3)})


@state("ContactFilesPage", ERROR, WALKS)
def damaged_file(at: Showing):
    """A file that holds no contacts."""
    _files(at, {"damaged.csv": "\x00\x01 no contacts at all"})
    at.page.take(at.tablet.contacts_folder / "damaged.csv")


@state("ContactFilesPage", FULL, WALKS)
def folder_of_files(at: Showing):
    """Many files, one with a very long name."""
    _files(at, {("a-very-long-name-of-a-file-" * 7 if n == 0 else f"walk-{n}") + ".csv": "side,time_s\n" for n in range(40)})
