"""A new fitting: who it is, which side; a possible duplicate is asked about."""

from __future__ import annotations

from shared_models.checks.entering import limits_of
from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.people import Known, NewFitting, possible_duplicates
from mobile.screens import fields
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.keypad import Keypad
from mobile.widgets.sheet import Sheet
from mobile.widgets.buttons import PlainButton


class NewFittingPage(StagePage):
    """The form that opens a fitting."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False, has_side=True)
        self.form = NewFitting(stage.session)
        self.header.who, self.header.detail, self.header.leave_words = spoken("New fitting"), "", spoken("Fittings")
        self.head(spoken("Who is it?"), spoken("Ask for name and second identifier; write them as on the file."))
        if self.form.typed:
            self.body.add_widget(Banner(kind="info", lead=spoken("Taken up again."), text=spoken("This was being typed and is not saved yet."), test_name="draft"))
        keypad = Keypad(test_name="keypad")
        self.widgets = {}
        for field in self.form.fields:
            options = list(self.form.choices[field.choices].items()) if field.choices else []
            widget = fields.make_field(
                field, self.form.typed.get(field.key), limits_of(field), options, keypad, self.form.edit,
            )
            self.widgets[field.key] = widget
            self.body.add_widget(widget)
        self.side.add_widget(keypad)
        self.trouble = Banner(kind="doubt", test_name="form:trouble")
        self.quiet(spoken("Set aside what is typed"), self.set_aside, "set_aside")
        self.main(spoken("Open the fitting"), self.open_fitting, "save")

    def set_aside(self) -> None:
        """Forget the form and go back."""
        from mobile.flows.people import DRAFT

        self.stage.session.drop_draft(DRAFT)
        self.stage.go_home()

    def open_fitting(self) -> None:
        """Check the form, ask about duplicates, then save."""
        identity, refused = self.form.read()
        fields.insist_on(refused, self.widgets.get)
        if refused:
            return
        known = possible_duplicates(self.stage.session, identity.body)
        if known:
            SameSheet(known, self.save).open()
        else:
            self.save("", ())

    def save(self, same_as: str, different_from: tuple[str, ...]) -> None:
        """Record the person and open the fitting."""
        try:
            fitting = self.form.save(same_as, different_from)
        except Refusal as refusal:
            self.trouble.lead = refusal_sentence(refusal)
            if self.trouble.parent is None:
                self.body.add_widget(self.trouble)
            return
        view = self.stage.session.fitting(fitting)
        self.stage.saved(view.opened)
        self.stage.go_fitting(fitting, "person")


class SameSheet(Sheet):
    """Asks whether somebody known is the same person."""

    def __init__(self, known: list[Known], on_answer):
        super().__init__(
            test_name="same", title=spoken("Is it one of these?"), lead=spoken("They look alike. Two records of one person are dangerous; one record of two people is worse."),
            main_words=spoken("Somebody else"), plain_words=spoken("Back to the form"),
        )
        self._known, self._on_answer = known, on_answer
        for item in known:
            button = PlainButton(text=spoken("The same: {words}", words=item.words), test_name=f"same_as:{item.person}")
            button.fbind("on_release", lambda *_, person=item.person: self.answer(person))
            self.content.add_widget(button)

    def answer(self, person: str) -> None:
        """It is somebody known."""
        self.dismiss()
        self._on_answer(person, ())

    def on_confirm(self) -> None:
        """It is somebody else; that is recorded."""
        self.dismiss()
        self._on_answer("", tuple(item.person for item in self._known))
