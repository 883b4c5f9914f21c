"""Findings as large graded buttons, what was seen and what was felt each on its own line."""

from __future__ import annotations

from typing import Any, Callable, Mapping, Sequence

from shared_models.catalogue.edition import Finding
from shared_models.language import spoken
from shared_models.wording import findings as words_of
from shared_models.wording.findings import before_words, ways_of
from shared_models.wording.trials import NOTHING, NOTHING_ELSE, PACE
from mobile.flows.forms import SlotForm
from mobile.widgets.buttons import PlainButton, keep_within
from mobile.widgets.choices import ChoiceRow, FindingGrades, WordBeside
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Column
from mobile.widgets.theme import theme

_NOTICED = ("slight", "marked")
_NONE = "none"


class FindingsPart:
    """Asks for each finding, in each way it can be noticed, how marked it was.

    The function's own findings stand there; everything else is reached through
    one opener, by where it is seen, and joins the others once it is chosen.
    ``before`` are the findings of the trial before, shown beside each.
    ``on_change`` is called after every answer.
    """

    def __init__(
        self, body, form: SlotForm, before: Sequence[Mapping[str, Any]] = (),
        on_change: Callable[[], None] = lambda: None,
    ):
        self.form, self.before, self.on_change = form, before, on_change
        self.edition = form.view.edition
        self.function = form.kind.function
        self.kept = [i for i in form.typed.get("findings", ()) if isinstance(i, dict)]
        self.grades: dict[str, FindingGrades] = {}
        self.paces: dict[str, ChoiceRow] = {}
        self.pace_rows: dict[str, WordBeside] = {}
        self.rows = Column(spacing=theme.gap * 0.6)
        body.add_widget(self.rows)
        for finding in self.edition.own_findings(self.function):
            self.ask(finding)
        self.others = self.edition.other_findings(self.function)
        for finding in (f for rows in self.others.values() for f in rows):
            if any(i.get("finding") == finding.key for i in self.kept):
                self.ask(finding)

    def ask(self, finding: Finding) -> FindingGrades:
        """Ask for one finding, beneath those that are asked for already."""
        words = self.edition.choices
        was = {str(i.get("perceived", "seen")): i for i in self.kept if i.get("finding") == finding.key}
        ways = list(dict.fromkeys((*ways_of(finding), *was)))
        grades = FindingGrades(
            test_name=finding.key, label=words_of.finding_label(finding),
            before=before_words(self.before, finding, self.edition),
            ways=[(way, words["perceived"].get(way, way).capitalize(), str(was.get(way, {}).get("grade", ""))) for way in ways],
        )
        self.grades[finding.key] = grades
        part = Column(spacing=theme.gap * 0.5)
        part.add_widget(grades)
        if finding.by_pace:
            said = next((str(i["pace"]) for i in was.values() if i.get("pace")), "")
            pace = self.paces[finding.key] = ChoiceRow(
                test_name=f"pace:{finding.key}", options=list(words["pace"].items()), value=said, clearable=True, spacing=0,
            )
            pace.fbind("on_edit", lambda *_: self._keep())
            self.pace_rows[finding.key] = WordBeside(spoken(PACE), pace)
        grades.fbind("on_edit", lambda *_: self._graded(part, finding.key))
        self._show_pace(part, finding.key)
        self.rows.add_widget(part)
        return grades

    def _graded(self, part: Column, key: str) -> None:
        self._show_pace(part, key)
        self._keep()

    def _show_pace(self, part: Column, key: str) -> None:
        """Ask at which pace only of what was there."""
        pace = self.pace_rows.get(key)
        if pace is None:
            return
        noticed = any(row.value in _NOTICED for row in self.grades[key].rows.values())
        if noticed and pace.parent is None:
            part.add_widget(pace)
        elif not noticed and pace.parent is not None:
            part.remove_widget(pace)

    def nothing_else(self) -> None:
        """Answer none for everything asked here that has no answer yet."""
        for grades in self.grades.values():
            for way, row in grades.rows.items():
                if not row.value:
                    grades.take(way, _NONE)
        self._keep()

    @property
    def open_ways(self) -> int:
        """How many answers are still open."""
        return sum(not row.value for grades in self.grades.values() for row in grades.rows.values())

    @property
    def nothing_words(self) -> str:
        """What the button for none says: nothing stood out, or nothing else."""
        noticed = any(row.value in _NOTICED for grades in self.grades.values() for row in grades.rows.values())
        return spoken(NOTHING_ELSE) if noticed else spoken(NOTHING)

    def _keep(self) -> None:
        self.form.edit("findings", self.findings())
        self.on_change()

    def findings(self) -> list[dict[str, str]]:
        """Return what was graded, as it is recorded: one item for each way of noticing.

        What nobody answered is not recorded; 'none' says it was looked for.  A
        pace that was not said is left out.
        """
        found = []
        for key, grades in self.grades.items():
            pace = self.paces[key].value if key in self.paces else ""
            for way, row in grades.rows.items():
                if not row.value:
                    continue
                item = {"finding": key, "grade": row.value, "perceived": way}
                if row.value in _NOTICED and pace:
                    item["pace"] = pace
                found.append(item)
        return found


class SomethingElse:
    """One opener for everything else that may be seen: first where, then what.

    ``doors`` takes the opener, ``body`` what it opens.
    """

    def __init__(self, doors, body, part: FindingsPart):
        self.part, self.others = part, part.others
        self.opened_words = spoken(words_of.SOMETHING_ELSE) if part.grades else spoken(words_of.SOMETHING_STOOD_OUT)
        self.opener = PlainButton(text=self.opened_words, fit=True, test_name="something_else")
        self.opener.fbind("on_release", lambda *_: self.turn())
        self.where = ChoiceRow(
            test_name="seen_at", label=spoken(words_of.SEEN_WHERE),
            options=[(place, part.edition.words("seen_at", place)) for place in self.others],
        )
        self.where.fbind("on_edit", lambda _w, place: self.list(place))
        self.found = Column()
        self.inside = Column(spacing=theme.gap * 0.6)
        doors.add_widget(keep_within(self.opener, body))
        body.add_widget(self.inside)

    def turn(self) -> None:
        """Open the choice of places, or close it again."""
        opening = self.where.parent is None
        self.inside.clear_widgets()
        self.found.clear_widgets()
        self.where.value = ""
        self.opener.text = spoken(words_of.SOMETHING_ELSE_CLOSE) if opening else self.opened_words
        self.inside.padding = [0, theme.gap * 0.6, 0, 0] if opening else [0, 0, 0, 0]
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
