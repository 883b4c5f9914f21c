"""Findings as large graded buttons, with how they were perceived kept apart."""

from __future__ import annotations

from mobile.flows.forms import SlotForm
from mobile.widgets.choices import ChoiceRow, GradedChoice

_GRADES = ("none", "slight", "marked")
_NOTICED = ("slight", "marked")


class FindingsPart:
    """Asks for each finding how marked it was, and when it was, how it was noticed."""

    def __init__(self, body, offered, form: SlotForm):
        self.form = form
        words = form.view.edition.choices
        kept = {i["finding"]: i for i in form.typed.get("findings", ()) if isinstance(i, dict)}
        self.grades: dict[str, GradedChoice] = {}
        self.perceived: dict[str, ChoiceRow] = {}
        for finding in offered:
            was = kept.get(finding.key, {})
            grade = GradedChoice(
                test_name=f"finding:{finding.key}", label=finding.words[:1].upper() + finding.words[1:],
                options=[(g, words["grade"][g]) for g in _GRADES], value=was.get("grade", ""), clearable=True,
            )
            how = ChoiceRow(
                test_name=f"perceived:{finding.key}", label="Noticed how",
                options=list(words["perceived"].items()), value=was.get("perceived", "seen"),
            )
            grade.fbind("on_edit", lambda _w, value, key=finding.key: self._graded(key, value))
            how.fbind("on_edit", lambda *_: self._keep())
            self.grades[finding.key], self.perceived[finding.key] = grade, how
            body.add_widget(grade)
            if grade.value in _NOTICED:
                body.add_widget(how)

    def _graded(self, key: str, value: str) -> None:
        grade, how = self.grades[key], self.perceived[key]
        body = grade.parent
        if value in _NOTICED and how.parent is None:
            body.add_widget(how, index=body.children.index(grade))
        elif value not in _NOTICED and how.parent is not None:
            body.remove_widget(how)
        self._keep()

    def _keep(self) -> None:
        self.form.edit("findings", self.findings())

    def findings(self) -> list[dict[str, str]]:
        """Return what was graded, as it is recorded.

        A finding nobody answered is not recorded; 'none' says it was looked for.
        """
        return [
            {"finding": key, "grade": grade.value, "perceived": self.perceived[key].value}
            for key, grade in self.grades.items() if grade.value
        ]
