"""Whom to practise on: invented people, each with what is special about them."""

from __future__ import annotations

from shared_models.language import spoken
from shared_models.rehearsing.practice_people import PEOPLE, PracticePerson
from shared_models.wording import practice as words_of
from mobile.flows.people import DRAFT
from mobile.flows.practice import choose
from mobile.screens.frame import StagePage
from mobile.widgets.listing import ListRow


class PracticePeoplePage(StagePage):
    """Choose an invented person; their fitting is opened next."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False)
        self.header.who, self.header.detail, self.header.leave_words = spoken(words_of.CLINIC_NAME), "", spoken("Fittings")
        self.head(spoken(words_of.BEGIN_TITLE), spoken(words_of.BEGIN_LEAD))
        for person in PEOPLE:
            row = ListRow(
                title=f"{person.given_name} {person.family_name}", subtitle=spoken(person.trait),
                trailing=spoken("{side} prosthesis", side=spoken(person.side)), test_name=f"practise:{person.key}",
            )
            row.fbind("on_release", lambda *_, p=person: self.begin(p))
            self.body.add_widget(row)

    def begin(self, person: PracticePerson) -> None:
        """Take this person, and open their fitting; a form half typed for another is set aside."""
        choose(self.stage.session, person)
        self.stage.session.drop_draft(DRAFT)
        self.stage.go_new()
