"""One form: a slot's fields, what is typed (kept as a draft), and its saving."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from shared_models.catalogue.edition import Field, Kind
from shared_models.catalogue.sheets import Adjuster
from shared_models.checks.as_typed import typed_words
from shared_models.checks.changed_since import BESIDES, second_change
from shared_models.checks.entering import (
    FormReading,
    Limits,
    Reading,
    limits_of,
    read_field,
    read_form,
)
from shared_models.checks.sheet_offering import offered_version
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.language import figure_said, spoken
from shared_models.quantities.moments import now_here
from shared_models.quantities.units import shown_in
from shared_models.wording.changes import second_change_words
from shared_models.wording.units import unit_behind
from mobile.flows.correcting import correction_place
from mobile.flows.last_readings import LastReadings
from mobile.flows.visits import left_words
from mobile.keeping.session import Session

#: Field types that the slot itself fills in.
FIXED = ("screw", "cap", "function", "place", "ground", "step", "digest", "own_id", "fitting")
#: Field types carried over when a fact is recorded anew.  Never a reading or a
#: yes: what was measured or looked at once must be measured or looked at again.
_CARRIED_OVER = ("text", "date", "sheet")
#: Who stands by is asked under two names.
_SAME_PERSON = {"stands_by": ("second_person",), "second_person": ("stands_by",)}
CALLED = "whom_to_call"
#: Where an adjuster stood before it was turned.
STOOD = "position_before"
#: What is written where a part bears no number; the hint of the edition says the same.
NONE_MARKED = "none marked"
_MOST_OFFERS = 4
#: Fields that start with what was typed last for the same thing.
_REMEMBERED = ("wrench", "wrench_calibrated_on", "stands_by", "second_person", "aid", "whom_to_call")


class SlotForm:
    """A form for one slot of a fitting.

    ``wrong`` is the entry being corrected; without it the form records a new
    fact.  Every edit is kept as a durable draft at once, and a draft left
    behind by a crash is taken up again.
    """

    def __init__(
        self, session: Session, fitting: str, slot: str, kind: Kind | None = None,
        wrong: Entry | None = None, fresh: bool = False,
    ) -> None:
        self.session = session
        self.fitting = fitting
        self.slot = slot
        self.view: FittingView = session.fitting(fitting)
        self.kind = kind or self.view.edition.kind_of_slot(slot)
        self.wrong = wrong
        self.fixed = self._fixed()
        if wrong is not None:
            # What a correction does not ask again, such as which trial was timed, stays.
            self.fixed |= {f.key: wrong.body[f.key] for f in self.kind.fields if f.type in FIXED and f.key in wrong.body}
        self.fields = [
            f for f in self.kind.fields
            if f.key not in self.fixed and f.type not in FIXED and not self._is_first_position(f)
        ]
        self.limits = {f.key: self._limits(f) for f in self.fields}
        self.last = LastReadings(session, self.view, slot, self.kind, wrong)
        kept = session.draft(self.draft_place)
        self.had_draft = bool(kept)
        self.typed: dict[str, Any] = {} if fresh else self._start()
        self.typed.update(kept)

    @property
    def draft_place(self) -> str:
        """Where the draft of this form is kept; holds ids and slots only."""
        if self.wrong is not None:
            return correction_place(self.fitting, self.slot, self.wrong)
        return f"fitting/{self.fitting}/{self.slot}"

    @property
    def subject(self) -> Subject:
        """Whose entry this becomes."""
        return self.view.subject_of(self.kind)

    def _fixed(self) -> dict[str, Any]:
        """What the slot says by itself: which screw, place, function."""
        if "{" not in self.kind.slot:
            return {}
        key = self.kind.slot.partition("{")[2].partition("}")[0]
        stem = self.kind.slot.partition("{")[0]
        return {key: self.slot[len(stem):]}

    def _is_first_position(self, field: Field) -> bool:
        """Whether a field asks where an adjuster stood before it was ever set."""
        return field.key == STOOD and self.wrong is None and self._stands() is None

    def _stands(self) -> str | None:
        """Where the adjuster of a setting stands as recorded; None where it was never set."""
        return self.view.settings().get(str(self.fixed.get("function", "")))

    def _start(self) -> dict[str, Any]:
        """What the fields begin with: the entry corrected, or what can't have changed."""
        if self.wrong is not None:
            own, body = {f.key for f in self.fields}, self.wrong.body
            return {k: typed_words(body, k) or v for k, v in body.items() if k in own}
        start: dict[str, Any] = {}
        head = self.view.head(self.slot)
        if head is not None and head.kind == self.kind.key and not self.kind.group:
            start = {
                f.key: head.body[f.key] for f in self.fields
                if f.key in head.body and f.type in _CARRIED_OVER and f.bears
            }
        for field in self.fields:
            if field.key in _REMEMBERED:
                last = self._last_value(field.key, *_SAME_PERSON.get(field.key, ()))
                if last is not None:
                    start[field.key] = last
        if any(field.key == CALLED for field in self.fields):
            start.setdefault(CALLED, self._clinic_name())
        if any(field.key == STOOD for field in self.fields):
            start[STOOD] = self._stands()
        return {**start, **self._from_sheet()}

    def _last_value(self, *keys: str) -> Any:
        for entry in reversed(self.view.entries()):
            for key in keys:
                if entry.body.get(key):
                    return entry.body[key]
        return None

    def _clinic_name(self) -> str:
        """Whom to call, until somebody else is named: this clinic."""
        clinic = self.session.record.head(Subject("clinic", self.session.clinic), "clinic")
        return str(clinic.body.get("name", "")) if clinic else ""

    def _from_sheet(self) -> dict[str, Any]:
        if self.kind.key == "setting" and not self.view.after:
            adjuster = self.adjuster
            return {"position": f"{adjuster.start.normalize():f}", "reason": "start"} if adjuster else {}
        if self.kind.key == "torque_final":
            screw = self.view.screw(self.slot.partition("/")[2])
            return {"locking_method": screw.screw.locking_method} if screw else {}
        if self.kind.key == "component":
            sheets = self.sheet_choices()
            return {"sheet": sheets[0][0]} if len(sheets) == 1 else {}
        if self.kind.key == "bench_alignment":
            shoe = self.view.value("footwear", "shoe_heel_height_mm")
            return {"heel_height_mm": shoe} if shoe else {}
        return {}

    @property
    def adjuster(self) -> Adjuster | None:
        """The adjuster that a setting form is about."""
        return self.view.adjuster(self.slot.partition("/")[2]) if self.kind.key in ("setting", "setting_found") else None

    def _limits(self, field: Field) -> Limits:
        limits = limits_of(field)
        if field.unit != "@adjuster":
            return replace(limits, unit="") if field.unit.startswith("@") else limits
        adjuster = self.adjuster
        if adjuster is None:
            return replace(limits, unit="")
        return Limits(
            unit_behind("", adjuster.unit), f"{adjuster.lowest.normalize():f}", f"{adjuster.highest.normalize():f}",
            steps=(f"{adjuster.smallest_step.normalize():f}",),
        )

    def asked(self, field: Field, unit: str = "") -> str:
        """Return what the component sheet asks of this field, and at a visit where it was left; '' if nothing.

        In another ``unit`` in hand the sheet's own figures come first.
        """
        left = left_words(self.view, self.slot, field.key)
        asked = self._asked_of_sheet(field, unit)
        return ", ".join(words for words in (asked, left) if words)

    def _asked_of_sheet(self, field: Field, unit: str) -> str:
        screw = self.view.screw(self.slot.partition("/")[2]) if field.key == "reading_nm" else None
        if screw:
            final = self.kind.key in ("torque_final", "torque_check")
            lowest, highest = screw.screw.window_nm(final)
            figure = screw.screw.final_nm if final else screw.screw.interim_nm
            return spoken("asked {figure} N·m, {lowest:f} to {highest:f}", figure=figure, lowest=lowest.normalize(), highest=highest.normalize())
        knee = self.view.sheets().get("knee")
        name = {"load_line_offset_mm": "load_line", "reference_line_offset_mm": "reference_line"}.get(field.key)
        if name and knee and f"{name}_target_mm" in knee.alignment:
            target = knee.alignment[f"{name}_target_mm"]
            tolerance = knee.alignment.get(f"{name}_tolerance_mm", 0)
            words = spoken("asked {target} ± {tolerance} mm", target=target, tolerance=tolerance)
            if unit in ("", "mm"):
                return words
            return f"{words} ({figure_said(shown_in(str(target), 'mm', unit, 2))} ± {figure_said(shown_in(str(tolerance), 'mm', unit, 2))} {unit})"
        return ""

    def offers(self, key: str) -> tuple[str, ...]:
        """Return words that are likely in a text field, so that one press fills it in."""
        if key in ("serial", "lot"):
            return (NONE_MARKED,)
        if key in _SAME_PERSON:
            record = self.session.record
            return tuple(record.name_of(staff) for staff in record.subjects("staff") if staff != self.session.staff)[:_MOST_OFFERS]
        return ()

    def sheet_choices(self) -> list[tuple[str, str]]:
        """Return the component sheets that fit this place: (sheet, words)."""
        record, place = self.session.record, self.fixed.get("place")
        found = []
        for sheet in record.subjects("component_sheet"):
            entry = offered_version(record, sheet)
            if entry and entry.body.get("part") == place:
                found.append((sheet, spoken("{name}, version {version}", name=entry.body.get('name'), version=entry.body.get('version'))))
        return found

    def edit(self, key: str, value: Any) -> Reading:
        """Take an edit: it is a durable draft when this returns; and judge it."""
        self.typed[key] = value
        self.session.keep_draft(self.draft_place, self.typed)
        return self.judge(key)

    def judge(self, key: str) -> Reading:
        """Judge one field as it is typed now."""
        field = self.kind.field(key)
        return read_field(
            field, self.typed.get(key), self.view.edition.choices, now_here().date(),
            self.limits.get(key),
        )

    def read(self) -> FormReading:
        """Read the whole form."""
        typed = {**self.typed, **self.fixed}
        if self.kind.key == "component" and typed.get("sheet"):
            offered = offered_version(self.session.record, typed["sheet"])
            typed["sheet_digest"] = offered.digest if offered else ""
        return read_form(
            self.kind, typed, self.view.edition.choices, now_here().date(), self.limits
        )

    def second_change(self) -> str:
        """Return why what is typed would be a second change before the next walk, as a sentence.

        '' where it is none, where its reason is typed, and of a correction, which moves no part of the leg.
        """
        if self.wrong is not None or str(self.typed.get(BESIDES) or "").strip():
            return ""
        return second_change_words(second_change(self.view, self.slot, self.read().body), self.view)

    @property
    def changes_something(self) -> bool:
        """Whether a correction differs from what it corrects."""
        return self.wrong is None or dict(self.read().body) != dict(self.wrong.body)

    def save(self, code: str = "", note: str = "", settles: bool = False, signed_with=None) -> Entry:
        """Record the form, durable when this returns; call only when nothing is refused."""
        reading = self.read()
        if reading.refused:
            raise ValueError(f"refused: {sorted(reading.refused)}")
        if self.wrong is not None:
            return self.session.correct(self.wrong, reading.body, code, note, draft=self.draft_place)
        return self.session.save(
            self.kind.key, self.subject, reading.body, draft=self.draft_place,
            settles=settles, note=note, signed_with=signed_with,
        )

    def set_aside(self) -> None:
        """Drop what is typed; nothing that was saved is touched."""
        self.session.drop_draft(self.draft_place)


def newest_draft_step(session: Session, fitting: str) -> tuple[str, str] | None:
    """Return (step, slot) of the draft typed last in a fitting, None when there is none."""
    view = session.fitting(fitting)
    beginning = f"fitting/{fitting}/"
    for place in session.entries.draft_places(beginning):
        slot = place[len(beginning):].partition("/correct/")[0]
        step = view.edition.step_of_slot(slot)
        if step:
            return step.key, slot
    return None
