"""A drawn signature: what is signed, a paper to sign on, or why it is not signed."""

from __future__ import annotations

from kivy.uix.widget import Widget

from shared_models.checks.attached import drawn_in
from shared_models.checks.strokes import Stroke
from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.attachments import (
    STAFF_SIGN_OTHERWISE, STANDS_NO_MORE, WHAT_A_DRAWN_LINE_IS, drawn_words,
)
from shared_models.wording.dates import moment_words
from shared_models.wording.refusals import refusal_sentence
from mobile.flows.board import who
from mobile.flows.correcting import KeptReason, correction_place
from mobile.flows.drawn import DrawnForm
from mobile.screens.correcting import CorrectionSheet
from mobile.screens.form_pane import FormPane
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.listing import ListRow
from mobile.widgets.signature_pad import SignaturePad
from mobile.widgets.surface import Words

_SIDE_SHARE = 0.58
_WHO_ROW, _BECAUSE_ROW = "who", "not_signed_because"


class DrawnPage(StagePage):
    """The drawn signature under one thing: recorded, or to be made."""

    def __init__(self, stage, fitting: str, step: str, under: str):
        super().__init__(stage, has_rail=False)
        self.fitting, self.step_key, self.under = fitting, step, under
        self.session = stage.session
        self.header.leave_words = spoken("Back")
        stage.keep_where(fitting, step, f"drawn/{under}")
        self._begin()
        found = drawn_in(self.form.view, under)
        if found and not self.form.had_draft:
            self._show(found)
        else:
            self._draw()

    def leave(self) -> None:
        """Back to the step; what is drawn stays as a draft."""
        self.stage.go_fitting(self.fitting, self.step_key)

    def _begin(self) -> None:
        self.empty()
        self.has_side = False
        self.form = DrawnForm(self.session, self.fitting, self.under)
        self.header.who, self.header.detail, _ = who(self.form.view)
        self.title = self.form.view.edition.words("signed_under", self.under)

    def _nothing_to_sign(self, sentences: list[str]) -> None:
        self.head(spoken("Signature: {title}", title=self.title))
        for sentence in sentences:
            self.body.add_widget(Banner(kind="doubt", text=sentence, test_name="nothing_to_sign"))
        self.plain(spoken("Back"), self.leave, "back")

    # Signing ------------------------------------------------------------------------

    def _draw(self) -> None:
        form = self.form
        in_the_way = form.in_the_way()
        if in_the_way:
            self._nothing_to_sign(in_the_way)
            return
        self.head(spoken("Signature: {title}", title=self.title), form.sentence())
        if form.had_draft:
            self.body.add_widget(Banner(
                kind="info", lead=spoken("Taken up again."), text=spoken("This was being signed and is not saved yet."), test_name="draft",
            ))
        signed = "\n".join(f"{label}: {words}" for label, words in form.what_is_signed())
        self.body.add_widget(Words(text=signed, test_name="what_is_signed"))
        self._ask_who()
        self.pane = FormPane(form, self.body, None, leave_out=(_WHO_ROW, _BECAUSE_ROW))
        self.pane.edited = self._name_edited
        self.because = self._choice(_BECAUSE_ROW, spoken("Not signed: say why"), "", clearable=True)
        self._say_what_it_is()
        self.pad = SignaturePad(
            test_name="signature", label=spoken("Sign here"), strokes=form.strokes, name=self._printed(),
        )
        self.pad.fbind("on_edit", self._drawn)
        self._beside(self.pad)
        self.plain(spoken("Back"), self.leave, "back")
        self.main(spoken("Save"), self.save, "save")

    def _beside(self, pad: SignaturePad) -> None:
        """The paper stays where it is, whatever is said beneath it."""
        self.has_side, self.side_share = True, _SIDE_SHARE
        if not self.side.children:
            self.side.add_widget(Widget())
        self.side.add_widget(pad, index=1)

    def _ask_who(self) -> None:
        if self.under == "sign_off":
            return
        words = self.form.view.edition.choices["drawn_by"]
        self.who = self._choice(_WHO_ROW, spoken("Who signs"), "", options=[(k, words[k]) for k in ("person", "guardian")])

    def _choice(self, key: str, label: str, hint: str, **more) -> ChoiceRow:
        field = self.form.kind.field(key)
        options = more.pop("options", list(self.form.view.edition.choices[field.choices].items()))
        row = ChoiceRow(
            test_name=f"field:{key}", label=label, hint=hint, options=options,
            value=str(self.form.typed.get(key) or ""), **more,
        )
        row.fbind("on_edit", lambda _row, value: self._chosen(key, value))
        self.body.add_widget(row)
        return row

    def _chosen(self, key: str, value: str) -> None:
        self.form.edit(key, value)
        if key == _WHO_ROW:
            # The name known of one person is not the other's.
            name = self.form.name_of(value)
            self.form.edit("printed_name", name)
            self.pane.widgets["printed_name"].text = name
            self.pad.name = self._printed()
        self.pad.message = ""

    def _name_edited(self, _key: str) -> None:
        self.pad.name = self._printed()

    def _printed(self) -> str:
        return str(self.form.typed.get("printed_name") or "")

    def _drawn(self, _pad, strokes) -> None:
        try:
            self.form.draw([Stroke(*stroke) for stroke in strokes])
        except Refusal as refusal:
            self.pad.strokes = self.form.strokes
            self._refuse(refusal)

    def _refuse(self, refusal: Refusal) -> None:
        self.pad.message, self.pad.message_kind = refusal_sentence(refusal), "refusal"

    def save(self) -> None:
        """Save the strokes, or the reason; refused beside the paper when it is neither or both."""
        refusal = self.form.refusal()
        if refusal is not None:
            self._refuse(refusal)
            return
        disputed = len(self.form.view.heads(self.form.slot)) > 1
        if self.pane.save(self.stage.saved, settles=disputed):
            self.leave()

    # Signed -------------------------------------------------------------------------

    def _show(self, found) -> None:
        view = self.form.view
        self.head(spoken("Signature: {title}", title=self.title))
        for drawn in found:
            self._show_one(view, drawn)
        self._say_what_it_is()
        self.head_entry = found[0].entry
        self.kept = KeptReason(self.session, correction_place(self.fitting, self.form.slot, self.head_entry))
        if len(found) == 1:
            self.quiet(spoken("Should not be here"), self._withdraw, "withdraw")
        self.plain(spoken("Sign again"), self._again, "again")
        self.main(spoken("Go on"), self.leave)

    def _show_one(self, view, drawn) -> None:
        words = view.edition.words
        because = words("not_signed_because", drawn.because) if drawn.because else ""
        entry = drawn.entry
        if not drawn.stands:
            self.body.add_widget(Banner(kind="doubt", lead=spoken(STANDS_NO_MORE), test_name="stands_no_more"))
        self.body.add_widget(ListRow(
            title=drawn_words(drawn.printed_name, words("drawn_by", drawn.who), because),
            subtitle=spoken("saved by {by}", by=view.record.name_of(entry.recorded_by)),
            trailing=moment_words(entry.recorded_at), pressable=False,
        ))
        if drawn.strokes:
            self._beside(SignaturePad(
                test_name="signature", label=self.title, strokes=drawn.strokes,
                name=drawn.printed_name, only_shows=True,
            ))

    def _say_what_it_is(self) -> None:
        staff = f" {spoken(STAFF_SIGN_OTHERWISE)}" if self.under == "sign_off" else ""
        self.body.add_widget(Banner(kind="info", text=spoken(WHAT_A_DRAWN_LINE_IS) + staff, test_name="what_it_is"))

    def _again(self) -> None:
        self._begin()
        self._draw()

    def _withdraw(self) -> None:
        CorrectionSheet(self._withdrawn, self.kept, title=spoken("Take this out"), first="wrong_person").open()

    def _withdrawn(self, code: str, note: str) -> None:
        entry = self.attempt(lambda: self.session.withdraw(self.head_entry, code, note))
        if entry is not None:
            self.kept.drop()
            self.stage.saved(entry)
            self.leave()
