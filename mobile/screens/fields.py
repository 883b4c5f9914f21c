"""Widgets for the fields of a form, made from the step data."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Callable, Mapping

from kivy.clock import Clock
from kivy.uix.stacklayout import StackLayout

from shared_models.catalogue.edition import Field
from shared_models.checks.entering import Limits, Reading
from shared_models.language import spoken
from shared_models.wording.dates import day_words
from shared_models.wording.entering import doubt_words, refusal_words
from mobile.flows.last_readings import LastReading
from mobile.flows.units_of_field import limits_shown, parted, units_of
from mobile.widgets.buttons import PlainButton
from mobile.widgets.choices import ChoiceRow, YesNoChoice
from mobile.widgets.date_field import DateField
from mobile.widgets.figure_field import AmountField
from mobile.widgets.focus_order import bring_into_sight
from mobile.widgets.keypad import Keypad
from mobile.widgets.stopwatch import Stopwatch
from mobile.widgets.text_field import TextField
from mobile.widgets.theme import theme

LONGEST_SCALE = 10
#: Times of a test that is run with a watch in the hand.
_WATCHED = ("ten_metre_walk_s", "timed_up_and_go_s", "stairs_down_time_s", "time_s")
_LONG_TEXTS = ("note", "goals", "follow_up", "because", "kept_because")


def _nothing_asked(_unit: str) -> str:
    return ""


def make_field(
    field: Field, typed: Any, limits: Limits, options: list[tuple[str, str]],
    keypad: Keypad, on_edit: Callable[[str, Any], Reading], asked: Callable[[str], str] = _nothing_asked,
    last: LastReading | None = None, offers: tuple[str, ...] = (),
):
    """Return the widget of one field; each edit goes to ``on_edit`` at once.

    ``typed`` is what stands there now, ``options`` the (code, words) of a
    choice, ``asked`` gives what the component sheet asks for, in the unit in hand, ``last`` the figure
    recorded last, ``offers`` words that one press puts into a text.
    """
    name = f"field:{field.key}"
    if is_scale(field):
        numbers = range(int(field.lowest), int(field.highest) + 1)
        widget = ChoiceRow(
            test_name=name, label=field.label, hint=field.hint, value=str(typed or ""),
            options=[(str(n), str(n)) for n in numbers],
        )
    elif field.type in ("amount", "count"):
        widget = _amount_field(name, field, limits, keypad, str(typed or ""))
        _suit_unit(widget, field, limits, asked, last)
        widget.fbind("unit", lambda w, _unit: _suit_unit(w, field, limits, asked, last))
        if field.key in _WATCHED:
            _give_watch(widget)
    elif field.type == "date":
        back = field.key in ("born_on", "wrench_calibrated_on")
        widget = DateField(
            test_name=name, label=field.label, keypad=keypad, text=str(typed or ""),
            how=field.hint or spoken("year, month, day"), hint=field.hint or spoken("year, month, day"),
            steps=[0, -1, -7, -30] if back else [7, 14, 28, 90],
        )
    elif field.type == "yes_no":
        value = {True: "yes", False: "no"}.get(typed, "")
        widget = YesNoChoice(test_name=name, label=field.label, hint=field.hint, value=value)
    elif field.type in ("choice", "sheet", "staff"):
        widget = ChoiceRow(
            test_name=name, label=field.label, hint=field.hint, options=options, value=str(typed or ""),
        )
    else:
        widget = TextField(
            test_name=name, label=field.label, hint=field.hint, text=str(typed or ""),
            lines_allowed=field.key in _LONG_TEXTS,
        )
        if offers:
            _give_offers(widget, offers)
    widget.fbind("on_edit", lambda w, value: show(w, on_edit(field.key, _value(field, value))))
    return widget


def _amount_field(name: str, field: Field, limits: Limits, keypad: Keypad, typed: str) -> AmountField:
    widget = AmountField(
        test_name=name, label=field.label, unit=spoken(limits.unit) if limits.unit else "", keypad=keypad,
        units=units_of(field, limits), signed=limits.lowest.startswith("-"), decimals=not limits.whole,
    )
    put(widget, typed)
    return widget


def put(widget: AmountField, typed: str) -> None:
    """Put into a figure's field what stands in the draft or the record, with its unit."""
    text, unit = parted(typed, widget.units, theme.pounds_first)
    if unit:
        widget.unit = unit
    widget.text = text


def _suit_unit(widget: AmountField, field: Field, limits: Limits, asked: Callable[[str], str], last: LastReading | None) -> None:
    """State hint and steps in the unit in hand."""
    if widget.units:
        limits = limits_shown(limits, widget.unit)
    widget.hint = hint_of(field, limits, asked(widget.unit), last)
    step = last.figure_in(limits.unit, field.unit) if last else ""
    widget.steps = _steps(limits, step)
    widget.step_from = step or limits.likely_from or limits.lowest or "0"


def _give_watch(widget: AmountField) -> None:
    """A stopwatch in the field: what it measured is typed in, as any digits are."""
    watch = Stopwatch(test_name=f"{widget.test_name}:watch")
    # A finger takes the field in hand by its name and figure, not by the watch in its middle.
    widget.touch_part = widget.ids.line
    widget.add_widget(watch)

    def write(_watch, seconds: str) -> None:
        widget.clear()
        widget.take(seconds)

    watch.fbind("on_stop", write)


def _give_offers(widget: TextField, offers: tuple[str, ...]) -> None:
    """Likely words as buttons beneath a text, as long as nothing is typed in it."""
    row = StackLayout(size_hint_y=None, spacing=theme.gap / 2)
    row.fbind("minimum_height", row.setter("height"))
    for number, words in enumerate(offers, 1):
        button = PlainButton(text=words, fit=True, test_name=f"offer:{widget.test_name.partition(':')[2]}:{number}")
        button.fbind("on_release", lambda _button, chosen=words: _choose(widget, chosen))
        row.add_widget(button)

    def follow(*_args) -> None:
        if widget.text and row.parent is not None:
            widget.remove_widget(row)
        elif not widget.text and row.parent is None:
            widget.add_widget(row)

    widget.fbind("text", follow)
    follow()


def _choose(widget: TextField, words: str) -> None:
    widget.text = words
    widget.dispatch("on_edit", words)


def is_scale(field: Field) -> bool:
    """Whether a count is so short a scale that one press is quicker than a keypad."""
    return field.type == "count" and field.highest.isdigit() and int(field.highest) <= LONGEST_SCALE


def needs_keypad(field: Field) -> bool:
    """Whether a field is typed on the keypad."""
    return field.type in ("amount", "count", "date") and not is_scale(field)


def _value(field: Field, value: str) -> Any:
    if field.type == "yes_no":
        return {"yes": True, "no": False}.get(value)
    return value


def show(widget, reading: Reading) -> None:
    """Show beside a field what is refused or doubted about what is typed."""
    if reading.refusal and reading.refusal != "missing":
        widget.message, widget.message_kind = refusal_words(reading), "refusal"
    elif reading.doubt:
        widget.message, widget.message_kind = doubt_words(reading), "doubt"
    else:
        widget.message, widget.message_kind = "", ""
    if isinstance(widget, DateField):
        # What is typed in figures is read back with its month in letters.
        widget.hint = day_words(str(reading.value)) if reading.value else widget.how


def insist(widget, reading: Reading) -> None:
    """Show a refusal even when the field is merely still empty."""
    widget.message, widget.message_kind = refusal_words(reading), "refusal"


def insist_on(refused: Mapping[str, Reading], widget_of: Callable[[str], Any]) -> None:
    """Show every refusal beside its field, the first one in sight."""
    shown = [(widget, reading) for key, reading in refused.items() if (widget := widget_of(key)) is not None]
    for widget, reading in shown:
        insist(widget, reading)
    if shown:
        # A frame later, and again: the sentence makes its field taller, and those above it too.
        Clock.schedule_once(lambda _dt: bring_into_sight(shown[0][0]), 0)
        bring_into_sight(shown[0][0])


def has_last(field: Field) -> bool:
    """Whether the figure recorded last is shown beside a field."""
    return field.type in ("amount", "count") and not is_scale(field)


def hint_of(field: Field, limits: Limits, asked: str, last: LastReading | None = None) -> str:
    """Return what stands beneath a figure: what is asked or possible, what it was last, how it is read."""
    parts = [asked or limits.words(), last.words_in(limits.unit, field.unit) if last else "", field.hint, field.signed]
    return " · ".join(part for part in parts if part)


def _steps(limits: Limits, last: str) -> list[str]:
    """The keys of a figure's likely changes, with the last figure itself in their middle."""
    steps = limits.steps or likely_steps(limits)
    down = [f"-{step}" for step in steps]
    up = [f"+{step}" for step in reversed(steps)]
    return down + ([f"={last}"] if last else []) + up


def likely_steps(limits: Limits) -> tuple[str, ...]:
    """Steps for a figure that states none: a tenth of what is likely of it, rounded to 1, 2 or 5, and 1."""
    if not (limits.likely_from and limits.likely_to):
        return ()
    tenth = (Decimal(limits.likely_to) - Decimal(limits.likely_from)) / 10
    if tenth <= 0:
        return ()
    size = Decimal(1).scaleb(tenth.adjusted())
    step = max(size * n for n in (1, 2, 5) if size * n <= tenth)
    if limits.whole:
        step = max(step, Decimal(1))
        return (f"{step.normalize():f}", "1") if step > 1 else ("1",)
    return (f"{step.normalize():f}",)
