"""The form of a component: what the code on the part says goes into its fields."""

from __future__ import annotations

from typing import Any

from shared_models.calculations.part_codes import PartCode, Question, read_part_code
from shared_models.checks.entering import FormReading, Reading
from shared_models.checks.rules_part_codes import differences
from shared_models.quantities.moments import now_here
from shared_models.quantities.refusals import Refusal
from shared_models.wording.part_codes import differs_words, expired_words
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.forms import SlotForm

CODE = "part_code"
#: Fields that a code fills in.
FROM_CODE = ("serial", "lot", "device_identifier", "manufactured_on", "expires_on")


class PartForm(SlotForm):
    """A form of `component`.

    A code is read when it is whole (`scan`), not while it is being typed: the
    beginning of a serial number is a wrong serial number.
    """

    def __init__(self, *args, **more) -> None:
        self.answer: PartCode | Question | Refusal | None = None
        #: Which reading of several a person pressed; kept while the code stays as it is.
        self._choice: PartCode | None = None
        #: What a code put into a field; only that is taken back by the next code.
        self._filled: dict[str, str] = {}
        super().__init__(*args, **more)
        if self.typed.get(CODE):
            self.answer = self._read_code()

    def scan(self) -> dict[str, str]:
        """Read the code as it stands; return the fields that it filled.

        ``answer`` is then the reading, a question or a refusal.
        """
        self.answer = self._read_code()
        if isinstance(self.answer, PartCode):
            return self.fill(self.answer)
        return self._take_back(())

    def choose(self, code: PartCode) -> dict[str, str]:
        """A person decided for one of several readings; return the fields that it filled."""
        self._choice = code
        return self.fill(code)

    def fill(self, code: PartCode) -> dict[str, str]:
        """Put one reading into the fields; what a person typed there stays.

        Returns each field that changed, with what stands there now.
        """
        changed = self._take_back(code.stated())
        for key, value in code.stated().items():
            if not self.typed.get(key) or self.typed[key] == self._filled.get(key):
                self._filled[key] = value
                if self.typed.get(key) != value:
                    self.edit(key, value)
                    changed[key] = value
        return changed

    def _take_back(self, stated: Any) -> dict[str, str]:
        """Empty what an earlier code filled and this one does not state."""
        gone = [k for k, v in self._filled.items() if k not in stated and self.typed.get(k) == v]
        for key in gone:
            del self._filled[key]
            self.edit(key, "")
        return dict.fromkeys(gone, "")

    def take(self, key: str) -> str:
        """A person decided for what the code says in one field; return it."""
        value = self.conflicts()[key]
        self._filled[key] = value
        self.edit(key, value)
        return value

    def conflicts(self) -> dict[str, str]:
        """Return the fields where the code says something else than is typed."""
        code = self.chosen()
        return differences(code, self._typed_words()) if code else {}

    def _typed_words(self) -> dict[str, str]:
        return {key: str(self.typed.get(key) or "").strip() for key in FROM_CODE}

    def chosen(self) -> PartCode | None:
        """Return the one reading, or of several the one pressed or agreed with by the fields."""
        if not isinstance(self.answer, Question):
            return self.answer if isinstance(self.answer, PartCode) else None
        if self._choice in self.answer.readings:
            return self._choice
        typed = self._typed_words()
        for reading in self.answer.readings:
            stated = {k: v for k, v in reading.stated().items() if k in ("serial", "lot")}
            if stated and all(typed[key] == value for key, value in stated.items()):
                return reading
        return None

    # Judging -------------------------------------------------------------------

    def edit(self, key: str, value: Any) -> Reading:
        """Take an edit; a code that is being typed has no answer yet."""
        if key == CODE:
            self.answer = self._choice = None
        return super().edit(key, value)

    def judge(self, key: str) -> Reading:
        """Judge one field; beside serial and lot also against the code."""
        reading = super().judge(key)
        if reading.refusal:
            return reading
        if key == CODE:
            return self._judge_code(reading)
        if key in self.conflicts():
            words = differs_words(self.conflicts()[key], str(self.typed[key]))
            return Reading(reading.value, doubt="said", figures={"sentence": words})
        expires = str(reading.value or "")
        if key == "expires_on" and expires and expires < now_here().date().isoformat():
            return Reading(reading.value, doubt="said", figures={"sentence": expired_words(expires)})
        return reading

    def _judge_code(self, reading: Reading) -> Reading:
        if isinstance(self.answer, Refusal):
            return Reading(refusal="said", figures={"sentence": refusal_sentence(self.answer)})
        return reading

    def read(self) -> FormReading:
        """Judge the whole form; a code that is refused or in question is not saved."""
        if self.typed.get(CODE) and self.answer is None:
            self.scan()
        reading = super().read()
        refused = dict(reading.refused)
        if isinstance(self.answer, Refusal):
            refused[CODE] = self._judge_code(Reading())
        elif isinstance(self.answer, Question) and self.chosen() is None:
            refused[CODE] = Reading(refusal="choose_reading")
        return FormReading(reading.body, refused, reading.doubted)

    def _read_code(self) -> PartCode | Question | Refusal | None:
        text = str(self.typed.get(CODE) or "")
        if not text.strip():
            return None
        try:
            return read_part_code(text, now_here().date())
        except Refusal as refusal:
            return refusal
