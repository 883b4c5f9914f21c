"""The form of a torque: the wrench's own unit, an extension, and what it all means."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from typing import Any

from shared_models.calculations.torque import compare, crosswise, from_nm, shown
from shared_models.catalogue.edition import Field
from shared_models.checks.as_typed import AS_TYPED
from shared_models.checks.entering import FormReading, Limits, Reading
from shared_models.checks.rules_locking import COMPOUND, places_of
from shared_models.checks.torque_reading import (
    NEWTON_METRES,
    PLACES,
    READING,
    TYPED,
    in_wrench_unit,
    torque_reading,
)
from shared_models.checks.unsaved import Unsaved, remarks_on
from shared_models.quantities.amounts import amount_from
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.sentences import sentence_of
from shared_models.wording.torque import (
    asked_behind_extension_words,
    order_words,
    setting_words,
    true_torque_words,
    window_words,
)
from mobile.flows.forms import SlotForm
from mobile.flows.wrenches import KINDS, Wrench, key_of, wrenches

INCH_POUNDS = "lbf_in"
#: Belongs to a wrench wherever it is used; remembered by the wrench's name.
OF_WRENCH = (
    "reading_unit", "grip_mm", "wrench_lowest", "wrench_highest", "wrench_class",
    "wrench_calibrated_on",
)
#: Belongs to a wrench at one screw: an extension is there because of the screw.
AT_SCREW = ("extension_mm", "extension_angle_deg")
#: A screw looked at as it was found.
CHECK = "torque_check"
_RULES = ("target_in_wrench_range", "wrench_fine_enough")
_RULES_OF_NEW = ("compound_not_broken", "tightened_in_order")


@dataclass(frozen=True)
class Line:
    """One thing to say beneath the reading; ``doubt`` when something is in the way."""

    words: str
    doubt: bool = False


#: How many torque readings are looked through for what is known of a wrench: those of some weeks.
LOOKED_THROUGH = 400


class TorqueForm(SlotForm):
    """A form of `torque_interim`, `torque_final` or `torque_check`.

    The reading is typed in the unit that the wrench shows; in another unit than
    N·m it stands in ``reading_as_typed``, and ``reading_nm`` follows from it.
    """

    def __init__(self, *args, **more) -> None:
        super().__init__(*args, **more)
        #: What can be chosen from; a correction types what was mistyped.
        self.wrenches: list[Wrench] = []
        if self.wrong is None:
            self.wrenches = wrenches(self.session.record, now_here().date())
        #: Somebody wants to type a wrench that is not listed.
        self.names_wrench = False
        # The reading in another unit stands where the reading in N·m stands.
        keys = [f.key for f in self.fields]
        self.fields.insert(keys.index(READING) + 1, self.fields.pop(keys.index(TYPED)))
        self._set_limits()

    # The unit -----------------------------------------------------------------

    @property
    def unit(self) -> str:
        """Key of the unit that the wrench shows."""
        return str(self.typed.get("reading_unit") or NEWTON_METRES)

    @property
    def unit_words(self) -> str:
        """The same unit as people read it."""
        return self.view.edition.words("torque_unit", self.unit)

    def units_on_key(self) -> list[str]:
        """Return the unit in hand and the one that a key on the keypad brings: N·m, or lbf·in from there."""
        other = INCH_POUNDS if self.unit == NEWTON_METRES else NEWTON_METRES
        return [self.unit_words, self.view.edition.words("torque_unit", other)]

    def unit_code(self, words: str) -> str:
        """Return the key of a unit from how people read it."""
        return next(code for code, shown_as in self.view.edition.choices["torque_unit"].items() if shown_as == words)

    def offer_inch_pounds(self) -> None:
        """Begin in lbf·in, as the tablet's look asks, where nothing says yet what the wrench shows."""
        if self.wrong is None and not self.typed.get("reading_unit") and not self.typed.get(READING):
            self.typed["reading_unit"] = INCH_POUNDS
            self._set_limits()

    @property
    def reading_key(self) -> str:
        """The field in which the reading is typed now."""
        return READING if self.unit == NEWTON_METRES else TYPED

    @property
    def left_out(self) -> tuple[str, ...]:
        """Fields that the form does not ask for now."""
        unasked = [TYPED if self.reading_key == READING else READING]
        if not self._turned_before():
            unasked.append("cleaned_and_renewed")
        if self.chooses_wrench:
            known = self.wrench.calibrated_on if self.wrench else ""
            unasked.append("wrench")
            if not self.wrench or known and known == self.typed.get("wrench_calibrated_on"):
                unasked.append("wrench_calibrated_on")
        return tuple(unasked)

    @property
    def wrench(self) -> Wrench | None:
        """The wrench of the clinic's list that is named now."""
        named = key_of(str(self.typed.get("wrench") or ""))
        return next((w for w in self.wrenches if key_of(w.name) == named), None)

    @property
    def chooses_wrench(self) -> bool:
        """Whether the wrench is chosen from the list, and not typed."""
        named = bool(self.typed.get("wrench")) and self.wrench is None
        return bool(self.wrenches) and not named and not self.names_wrench

    def _turned_before(self) -> bool:
        """Whether the screw was tightened into a compound before, so that this is a second turn."""
        if self.wrong is not None:
            return "cleaned_and_renewed" in self.wrong.body
        return any(e.body.get("locking_method") == COMPOUND for e in self.view.slot(self.slot).history())

    def _set_limits(self) -> None:
        """State the limits of a reading in the unit that the wrench shows."""
        base = self.limits[READING]
        for field in self.fields:
            if field.unit == "@reading_unit":
                self.limits[field.key] = replace(self.limits[field.key], unit=self.unit_words)
        if self.unit != NEWTON_METRES:
            self.limits[TYPED] = Limits(
                self.unit_words, _in_unit(base.lowest, self.unit, ROUND_CEILING), _in_unit(base.highest, self.unit, ROUND_FLOOR),
                _in_unit(base.likely_from, self.unit, ROUND_FLOOR), _in_unit(base.likely_to, self.unit, ROUND_CEILING),
                steps=self.limits[TYPED].steps,
            )

    def asked(self, field: Field, unit: str = "") -> str:
        """Return what the sheet asks, in the wrench's unit beside N·m where they differ."""
        words = super().asked(self.kind.field(READING)) if field.key == TYPED else super().asked(field)
        figure = self._figure_nm()
        if field.key == self.reading_key and figure is not None:
            setting = self._setting_behind_extension(figure)
            if setting:
                return asked_behind_extension_words(setting, self.unit_words, words)
        if field.key == TYPED and figure is not None:
            return f"{shown(from_nm(figure, self.unit), 1)} {self.unit_words}: {words}"
        return words

    def _setting_behind_extension(self, figure: Fraction) -> str:
        """What the wrench should show behind an extension; '' without one, or while it can't be told."""
        read = torque_reading({**self._sound(), **self.fixed})
        if not read.is_extended or read.trouble is not None or read.lacks_grip:
            return ""
        try:
            return shown(read.setting(figure), 1)
        except Refusal:
            return ""

    # Typing -------------------------------------------------------------------

    def edit(self, key: str, value: Any) -> Reading:
        """Take an edit; another wrench brings its own figures, another unit the same digits."""
        if key == "wrench":
            self._exchange_wrench(str(self.typed.get("wrench") or ""), str(value or ""))
        if key == "reading_unit":
            digits = self.typed.pop(self.reading_key, "")
            self.typed[key] = value
            if digits:
                self.typed[self.reading_key] = digits
        self.typed[key] = value
        self._follow()
        self._set_limits()
        return super().edit(key, value)

    def _follow(self) -> None:
        """Let the newton metres follow from a reading in another unit."""
        if self.reading_key == READING:
            self.typed.pop(TYPED, None)
            return
        reading = self.judge(TYPED)
        read = torque_reading({"reading_unit": self.unit, TYPED: reading.value})
        if reading.refusal or read.reading_nm is None:
            self.typed.pop(READING, None)
        else:
            self.typed[READING] = shown(read.reading_nm, PLACES)

    def read(self) -> FormReading:
        """Judge the whole form; a reading in another unit is refused beside its own field."""
        self._follow()
        reading = super().read()
        refused, sound = dict(reading.refused), self._sound()
        if self.reading_key == TYPED and READING in refused and TYPED not in refused:
            refused[TYPED] = refused[READING]
        if torque_reading(sound).lacks_grip:
            refused.setdefault("grip_mm", Reading(refusal="missing"))
        return FormReading(in_wrench_unit(reading.body), refused, reading.doubted)

    # What a wrench is remembered by ---------------------------------------------

    def _start(self) -> dict[str, Any]:
        start = super()._start()
        if self.wrong is None:
            known = self._memory(str(start.get("wrench") or ""))
            start = {**{k: v for k, v in start.items() if k not in OF_WRENCH}, **known}
        return start

    def _exchange_wrench(self, before: str, after: str) -> None:
        """Take out what came with the wrench named before, put in what is known of the new one."""
        if self.wrong is not None or before == after:
            return
        for key, value in self._memory(before).items():
            if self.typed.get(key) == value:
                del self.typed[key]
        for key, value in self._memory(after).items():
            self.typed.setdefault(key, value)

    def _memory(self, wrench: str) -> dict[str, Any]:
        """What was recorded last with a wrench of that name, anywhere in the clinic's record."""
        name, own = wrench.strip().casefold(), {f.key for f in self.fields}
        if not name:
            return {}
        used = [
            e for e in self.session.entries.newest_of_kinds(KINDS, LOOKED_THROUGH)
            if str(e.body.get("wrench") or "").strip().casefold() == name
        ]
        found: dict[str, Any] = {}
        for entry in sorted(used, key=lambda e: e.order):
            is_here = entry.subject.id == self.fitting and entry.body.get("screw") == self.fixed.get("screw")
            for key in (*OF_WRENCH, *(AT_SCREW if is_here else ())):
                if key in own and entry.body.get(key):
                    found[key] = entry.body[key]
        return found

    # What is said beneath the reading --------------------------------------------

    def lines(self) -> list[Line]:
        """Return order, setting of the wrench, true torque and doubts, as typed now."""
        screw = self.view.screw(str(self.fixed.get("screw", "")))
        figure = self._figure_nm()
        if screw is None or figure is None:
            return []
        places = places_of(self.view, screw.place)
        names = {s.key: s.screw.name for s in self.view.screws()}
        order = "" if self.kind.key == CHECK else order_words([names[k] for k in crosswise(places)], any(p.order for p in places))
        found = [Line(words) for words in (screw.screw.note, order) if words]
        return self._torque_lines(figure, screw.screw.tolerance_percent) + found + self._remarked()

    def _torque_lines(self, figure: Fraction, tolerance: Decimal) -> list[Line]:
        read = torque_reading({**self._sound(), **self.fixed})
        if read.trouble is not None:
            return [Line(refusal_sentence(read.trouble), doubt=True)]
        if read.lacks_grip:
            return []
        found, plain = [], read.unit == NEWTON_METRES and not read.is_extended
        try:
            if not plain:
                found.append(Line(setting_words(shown(read.setting(figure), 1), self.unit_words, shown(figure))))
            if read.true_nm is None:
                return found
            judged = compare(read.true_nm, figure, tolerance)
        except Refusal as refusal:
            return [Line(refusal_sentence(refusal), doubt=True)]
        if plain and judged.is_within:
            found.append(Line(window_words(judged.torque_nm, judged.lowest_nm, judged.highest_nm)))
        else:
            words = true_torque_words(judged.torque_nm, read.reading_nm, judged.off_nm, read.is_extended)
            found.append(Line(words, doubt=not judged.is_within))
        return found

    def _remarked(self) -> list[Line]:
        body = {**self._sound(), **self.fixed}
        rules = _RULES + (_RULES_OF_NEW if self.wrong is None else ())
        if self.kind.key == CHECK:
            # Which is tightened after which is asked of who tightens, not of who looks.
            rules = (*_RULES, *(("screw_has_held",) if "held" in body else ()))
        elif self.kind.key != "torque_final":
            rules = tuple(r for r in rules if r != "compound_not_broken")
        if self.kind.key != "torque_interim" and body.get("wrench_calibrated_on"):
            rules += ("wrench_in_calibration",)
        unsaved = Unsaved(self.kind.key, body, moment_text(now_here()))
        return [Line(sentence_of(r, self.view), doubt=True) for r in remarks_on(self.view, self.slot, unsaved, rules)]

    def _sound(self) -> dict[str, Any]:
        """What is typed and can be taken; the rest is refused beside its field."""
        judged = {f.key: self.judge(f.key) for f in self.fields if self.typed.get(f.key) not in (None, "")}
        as_typed = {key: reading.as_typed for key, reading in judged.items() if reading.as_typed}
        sound = {key: reading.value for key, reading in judged.items() if not reading.refusal}
        return in_wrench_unit({**sound, AS_TYPED: as_typed} if as_typed else sound)

    def _figure_nm(self) -> Fraction | None:
        screw = self.view.screw(str(self.fixed.get("screw", "")))
        if screw is None:
            return None
        return Fraction(screw.screw.final_nm if self.kind.key in ("torque_final", CHECK) else screw.screw.interim_nm)


def _in_unit(newton_metres: str, unit: str, rounding: str) -> str:
    """A limit in another unit, rounded to a tenth into the range."""
    amount = amount_from(newton_metres)
    if amount is None or amount <= 0:
        return ""
    tenths = from_nm(amount, unit) * 10
    return f"{(Decimal(tenths.numerator) / Decimal(tenths.denominator)).to_integral_value(rounding) / 10:f}"
