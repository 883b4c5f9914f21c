"""What one slot of a step looks like: a form, what is recorded, or a dispute."""

from __future__ import annotations

from typing import Iterator

from shared_models.entries.envelope import Entry
from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.dates import clock_words, moment_words
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.findings import findings_words
from shared_models.wording.sentences import as_typed_words, said, value_words
from shared_models.wording.states import REASON
from mobile.flows.alignment import notes_beside, notes_of_open
from mobile.flows.board import card as card_of
from mobile.flows.correcting import KeptReason, correction_place
from mobile.flows.form_for import form_for
from mobile.flows.forms import FIXED, SlotForm
from mobile.flows.tuning import settings_strip
from mobile.screens.alignment import AlignmentPart, note_banner, show_recorded_alignment
from mobile.screens.component_map import show_component_map
from mobile.screens.attached import doors_beside
from mobile.screens.correcting import CorrectionSheet, reason_buttons, show_last_saved
from mobile.screens.outcomes import OUTCOME, show_outcomes
from mobile.screens.step_pictures import show_for_form, show_for_slot
from mobile.screens.timing_part import TIMING, show_timing
from mobile.screens.working_panes import save_words, working_pane
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow


def pane_for(page, slot: str) -> None:
    """Fill the page with what this slot needs now."""
    from mobile.screens.caps import CapsPane
    from mobile.screens.sign_off import SignOffPane
    from mobile.screens.trial import TrialPane

    heads = page.view.heads(slot)
    kind = page.view.edition.kinds.get(heads[0].kind) if len(heads) == 1 else None
    kind = kind or page.view.edition.kind_of_slot(slot)
    found = card_of(page.view, _verdict(page), slot)
    if len(heads) > 1:
        DisputePane(page, slot)
    elif kind.group == "trial":
        TrialPane(page, slot)
    elif kind.key == "sign_off" and not found.is_done:
        SignOffPane(page)
    elif kind.key == "cap" and not heads:
        CapsPane(page, slot)
    elif heads and not page.session.draft(SlotForm(page.session, page.fitting, slot).draft_place):
        if found.is_done or kind.key in ("identity", "opened"):
            RecordedPane(page, slot)
        else:
            EntryPane(page, slot)
    else:
        EntryPane(page, slot)


def _verdict(page):
    from mobile.screens.fitting import MISSING

    key = page.step_key if page.step_key != MISSING else page.verdict.steps[0].key
    return page.verdict.step(key)


class EntryPane:
    """A form for a slot, with the keypad beside it; saving goes on to the next."""

    def __init__(self, page, slot: str, wrong: Entry | None = None):
        self.page, self.slot = page, slot
        page.in_parts(self._parts(wrong))

    def _parts(self, wrong: Entry | None) -> Iterator[None]:
        page, slot = self.page, self.slot
        form = form_for(page.session, page.fitting, slot, wrong=wrong)
        found = card_of(page.view, _verdict(page), slot)
        title = spoken("Correct: {title}", title=found.title) if wrong else found.title
        page.heading(title, cautions=found.slot not in ("identity", "opened"))
        for sentence in found.sentences:
            page.body.add_widget(Banner(kind="doubt", text=sentence))
        for note in () if wrong else notes_of_open(page.view, slot):
            if note.sentence not in found.sentences:
                page.body.add_widget(note_banner(note))
        if form.had_draft:
            page.body.add_widget(Banner(
                kind="info", lead=spoken("Taken up again."),
                text=spoken("This was being typed and is not saved yet."), test_name="draft",
            ))
        yield
        keypad = page.keypad
        self.pane = working_pane(form, page.body, keypad)
        yield from self.pane.fill()
        yield
        self.part = AlignmentPart.beside(page, self.pane)
        show_component_map(page, slot)
        show_for_form(page, self.pane)
        self.pane.on_unfold = self._show_keypad
        self._show_keypad()
        yield
        doors_beside(page, slot)
        page.strip(settings_strip(page.view))
        page.plain(spoken("Back"), self.back, "back")
        if wrong is None:
            show_last_saved(page)
            page.main(save_words(page, slot), self.save, "save")
        else:
            self.kept = KeptReason(page.session, form.draft_place, form.typed)
            reason_buttons(page, self.save_correction, self.ask_reason)
        self.pane.take_first()

    def _show_keypad(self) -> None:
        """The keypad stands beside the form as soon as a figure is asked for."""
        page = self.page
        page.has_side = self.pane.has_figures
        if page.has_side and page.keypad.parent is None:
            page.side.add_widget(page.keypad)

    def back(self) -> None:
        """Back to the step's list; what is typed stays as a draft."""
        self.page.show_cards() if self.page.step_key != "missing" else self.page.show_missing()

    def save(self) -> None:
        """Save, and go on to the next."""
        if self.part is not None and self.part.refuses():
            return
        if self.pane.save(self.page.saved):
            self.page.go_on(self.slot)

    def may_correct(self) -> bool:
        """Whether what is typed can stand as a correction; says why not."""
        if self.part is not None and self.part.refuses() or self.pane.refuse():
            return False
        if not self.pane.form.changes_something:
            self.pane.say(spoken("Nothing differs from what is recorded. Change a figure, or go back."))
            return False
        return True

    def save_correction(self, code: str) -> None:
        """Save the correction for a reason that was one tap."""
        if self.may_correct():
            self.corrected(code, "")

    def ask_reason(self) -> None:
        """Ask for another reason, with a word."""
        if self.may_correct():
            CorrectionSheet(self.corrected, self.kept).open()

    def corrected(self, code: str, note: str) -> None:
        """Save the correction with its reason."""
        if self.pane.save(self.page.saved, code=code, note=note):
            self.page.go_on(self.slot)


class RecordedPane:
    """What is recorded in a slot, every field, with its earlier versions."""

    def __init__(self, page, slot: str):
        self.page, self.slot = page, slot
        self.head = page.view.head(slot)
        found = card_of(page.view, _verdict(page), slot)
        page.heading(found.title, cautions=False)
        for sentence in found.sentences:
            page.body.add_widget(Banner(kind="doubt", text=sentence))
        if self.head.kind == TIMING:
            show_timing(page, self.head)
        if slot == OUTCOME:
            show_outcomes(page)
        show_recorded_alignment(page, self.head)
        show_for_slot(page, slot)
        show_component_map(page, slot)
        show_facts(page, self.head)
        for note in notes_beside(page.view, self.head):
            if note.sentence not in found.sentences:
                page.body.add_widget(note_banner(note))
        for earlier in page.view.slot(slot).versions(self.head)[:-1]:
            page.body.add_widget(ListRow(
                title=spoken("Before: ") + (said(earlier, page.view) or spoken("as it was")),
                subtitle=spoken("corrected, {reason} {because_note}", reason=REASON.get(self.head.because_code, ''), because_note=self.head.because_note).strip(),
                pressable=False,
            ))
        doors_beside(page, slot)
        page.strip(settings_strip(page.view))
        self.kept = KeptReason(page.session, correction_place(page.fitting, slot, self.head))
        page.quiet(spoken("Should not be here"), self.withdraw, "withdraw")
        page.plain(spoken("Correct"), self.correct, "correct")
        if self.head.kind not in ("identity", "opened", TIMING):
            page.plain(spoken("Record anew"), self.anew, "anew")
        page.main(spoken("Go on"), lambda: page.go_on(slot), "main")

    def correct(self) -> None:
        """Open the recorded fields for a correction."""
        self.page.begin_content()
        EntryPane(self.page, self.slot, wrong=self.head)

    def anew(self) -> None:
        """Open an empty form: the world has changed, or it is measured once more."""
        self.page.begin_content()
        EntryPane(self.page, self.slot)

    def withdraw(self) -> None:
        """Take it out: recorded for the wrong person, or by mistake."""
        CorrectionSheet(self.withdrawn, self.kept, title=spoken("Take this out"), first="wrong_person").open()

    def withdrawn(self, code: str, note: str) -> None:
        """Record the withdrawal with its reason."""
        try:
            self.page.saved(self.page.session.withdraw(self.head, code, note))
            self.kept.drop()
        except Refusal as refusal:
            self.page.body.add_widget(Banner(kind="doubt", lead=refusal_sentence(refusal)))
            return
        self.page.go(self.page.step_key)


def show_facts(page, entry: Entry) -> None:
    """Show every recorded field of an entry, and who saved it when."""
    kind = page.view.edition.kinds[entry.kind]
    for field in kind.fields:
        words = value_words(field, entry.body.get(field.key), page.view)
        words += as_typed_words(entry.body, field.key) if words else ""
        if field.type == "findings":
            words = "; ".join(findings_words(entry, page.view))
        if words and field.type == "contacts":
            page.body.add_widget(ListRow(title=field.label, subtitle=words, pressable=False))
        elif words and field.type not in (*FIXED, "person"):
            page.body.add_widget(ListRow(title=field.label, trailing=words, pressable=False))
    by = page.view.record.name_of(entry.recorded_by)
    moment = moment_words(entry.recorded_at)
    page.body.add_widget(ListRow(title=spoken("Saved by {by}", by=by), trailing=moment, pressable=False))


class DisputePane:
    """What was changed apart, side by side; a named person says which one stands."""

    def __init__(self, page, slot: str):
        self.page, self.slot = page, slot
        found = card_of(page.view, _verdict(page), slot)
        page.head(spoken("Changed apart: {title}", title=found.title), spoken("Two tablets recorded this without knowing of each other. Both are kept. Say which one stands."))
        for number, head in enumerate(found.heads, 1):
            by = page.view.record.name_of(head.recorded_by)
            if head.kind == "withdrawn":
                page.body.add_widget(Banner(kind="info", lead=spoken("{by} took it out.", by=by), text=head.because_note))
                continue
            page.body.add_widget(Banner(
                kind="doubt", lead=f"{by}, {clock_words(head.happened_at)}:",
                text=said(head, page.view), button_words=spoken("This one stands"),
                test_name=f"stands:{number}",
            ))
            page.body.children[0].fbind("on_act", lambda *_, e=head: self.settle(e))
            show_facts(page, head)
        page.plain(spoken("Back"), lambda: page.show_cards(), "back")

    def settle(self, chosen: Entry) -> None:
        """Record that this one stands; the other stays readable."""
        entry = self.page.attempt(lambda: self.page.session.save(
            chosen.kind, chosen.subject, chosen.body, settles=True,
            note=f"chosen over what was recorded apart: {chosen.digest[:12]}",
        ))
        if entry is not None:
            self.page.saved(entry)
            self.page.go_on(self.slot)
