"""Findings as large graded buttons, with how and at which pace they were noticed kept apart."""

from __future__ import annotations

from typing import Callable

from shared_models.catalogue.edition import Finding
from shared_models.wording import findings as words_of
from mobile.flows.forms import SlotForm
from mobile.widgets.buttons import PlainButton
from mobile.widgets.choices import ChoiceRow, GradedChoice
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Column
from mobile.widgets.theme import theme

_GRADES = ("none", "slight", "marked")
_NOTICED = ("slight", "marked")


class FindingsPart:
    """Asks for each finding how marked it was, and when it was, how it was noticed.

    The function's own findings stand there; everything else is reached through
    one opener, by where it is seen, and joins the others once it is chosen.
    ``on_change`` is called after every answer.
    """

    def __init__(self, body, form: SlotForm, on_change: Callable[[], None] = lambda: None):
        self.form, self.on_change = form, on_change
        self.edition = form.view.edition
        self.function = form.kind.function
        self.kept = {i["finding"]: i for i in form.typed.get("findings", ()) if isinstance(i, dict)}
        self.grades: dict[str, GradedChoice] = {}
        self.perceived: dict[str, ChoiceRow] = {}
        self.paces: dict[str, ChoiceRow] = {}
        self.rows = Column(spacing=theme.gap)
        body.add_widget(self.rows)
        for finding in self.edition.own_findings(self.function):
            self.ask(finding)
        others = self.edition.other_findings(self.function)
        for finding in (f for rows in others.values() for f in rows):
            if finding.key in self.kept:
                self.ask(finding)
        SomethingElse(body, self, others)

    def ask(self, finding: Finding) -> GradedChoice:
        """Ask for one finding, beneath those that are asked for already."""
        was, words = self.kept.get(finding.key, {}), self.edition.choices
        grade = GradedChoice(
            test_name=f"finding:{finding.key}", label=words_of.finding_label(finding),
            options=[(g, words["grade"][g]) for g in _GRADES], value=was.get("grade", ""), clearable=True,
        )
        how = ChoiceRow(
            test_name=f"perceived:{finding.key}", label="Noticed how",
            options=list(words["perceived"].items()), value=was.get("perceived", "seen"),
        )
        self.grades[finding.key], self.perceived[finding.key] = grade, how
        details = [how]
        if finding.by_pace:
            pace = ChoiceRow(
                test_name=f"pace:{finding.key}", label=words_of.PACE_LABEL,
                options=list(words["pace"].items()), value=was.get("pace", ""), clearable=True,
            )
            self.paces[finding.key] = pace
            details.append(pace)
        for detail in details:
            detail.fbind("on_edit", lambda *_: self._keep())
        part = Column(spacing=theme.gap)
        part.add_widget(grade)
        grade.fbind("on_edit", lambda _w, value: self._graded(part, details, value))
        self._show(part, details, grade.value)
        self.rows.add_widget(part)
        return grade

    def _graded(self, part: Column, details: list[ChoiceRow], value: str) -> None:
        self._show(part, details, value)
        self._keep()

    @staticmethod
    def _show(part: Column, details: list[ChoiceRow], grade: str) -> None:
        """Ask how and at which pace only of what was there."""
        for detail in details:
            if grade in _NOTICED and detail.parent is None:
                part.add_widget(detail)
            elif grade not in _NOTICED and detail.parent is not None:
                part.remove_widget(detail)

    def _keep(self) -> None:
        self.form.edit("findings", self.findings())
        self.on_change()

    def findings(self) -> list[dict[str, str]]:
        """Return what was graded, as it is recorded.

        A finding nobody answered is not recorded; 'none' says it was looked for.
        A pace that was not said is left out.
        """
        found = []
        for key, grade in self.grades.items():
            if not grade.value:
                continue
            item = {"finding": key, "grade": grade.value, "perceived": self.perceived[key].value}
            if grade.value in _NOTICED and key in self.paces and self.paces[key].value:
                item["pace"] = self.paces[key].value
            found.append(item)
        return found


class SomethingElse:
    """One opener for everything else that may be seen: first where, then what."""

    def __init__(self, body, part: FindingsPart, others: dict[str, tuple[Finding, ...]]):
        self.part, self.others = part, others
        self.opened_words = words_of.SOMETHING_ELSE if part.grades else words_of.SOMETHING_STOOD_OUT
        self.opener = PlainButton(text=self.opened_words, fit=True, test_name="something_else")
        self.opener.fbind("on_release", lambda *_: self.turn())
        self.where = ChoiceRow(
            test_name="seen_at", label=words_of.SEEN_WHERE,
            options=[(place, part.edition.words("seen_at", place)) for place in others],
        )
        self.where.fbind("on_edit", lambda _w, place: self.list(place))
        self.found = Column()
        self.inside = Column(spacing=theme.gap)
        body.add_widget(self.opener)
        body.add_widget(self.inside)

    def turn(self) -> None:
        """Open the choice of places, or close it again."""
        opening = self.where.parent is None
        self.inside.clear_widgets()
        self.found.clear_widgets()
        self.where.value = ""
        self.opener.text = words_of.SOMETHING_ELSE_CLOSE if opening else self.opened_words
        if opening:
            self.inside.add_widget(self.where)
            self.inside.add_widget(self.found)

    def list(self, place: str) -> None:
        """Show what may be seen there; what is asked for already is left out."""
        self.found.clear_widgets()
        for finding in self.others[place]:
            if finding.key in self.part.grades:
                continue
            row = ListRow(
                title=words_of.finding_label(finding), subtitle=", ".join(finding.terms),
                test_name=f"else:{finding.key}",
            )
            row.fbind("on_release", lambda *_, f=finding: self.choose(f))
            self.found.add_widget(row)

    def choose(self, finding: Finding) -> None:
        """Ask for it above, and close."""
        self.turn()
        self.part.ask(finding)
