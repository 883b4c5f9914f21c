"""One photo: looked at, marked up, and what it shows; saved, corrected or taken out."""

from __future__ import annotations

from kivy.clock import Clock
from kivy.uix.boxlayout import BoxLayout
from kivy.metrics import dp

from shared_models.checks.attached import taken_on
from shared_models.checks.strokes import ARROW, LINE, RING, Stroke
from shared_models.drawings.strokes import paths_of
from shared_models.entries.envelope import Entry
from shared_models.language import phrase, spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.attachments import photo_place_words
from shared_models.wording.dates import moment_words
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.sentences import value_words
from mobile.flows.board import who
from mobile.flows.correcting import KeptReason, correction_place
from mobile.flows.photos import PhotoForm, Work, here
from mobile.screens.correcting import CorrectionSheet, reason_buttons
from mobile.screens.form_pane import FormPane
from mobile.screens.frame import StagePage
from mobile.screens.looking import POLL_SECONDS, Looking
from mobile.screens.photos import PHOTOS
from mobile.widgets.banner import Banner
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.drawing_pad import DrawingPad
from mobile.widgets.listing import ListRow, ProgressLine
from mobile.widgets.surface import Column, Row

#: Pixels of the picture on its own page.
_LARGE = (1280, 1280)
#: Of the width (lying) or the height (upright) the picture takes.
_SHARE_LYING, _SHARE_UPRIGHT = 0.62, 0.56
_WAYS = [(LINE, phrase("line")), (ARROW, phrase("arrow")), (RING, phrase("ring"))]
_SHOWN = ("note", "taken_at", "at_step", "kept_as")
_LEFT_OUT = ("taken_at", "media_type", "size_kb", "width_px", "height_px", "kept_as")


class PhotoPage(StagePage):
    """A photo that is recorded, or one taken in and not saved yet."""

    def __init__(self, stage, fitting: str, step: str, slot: str):
        super().__init__(stage, has_rail=False)
        self.fitting, self.step_key, self.slot = fitting, step, slot
        self.session = stage.session
        self.header.leave_words = spoken("Photos")
        stage.keep_where(fitting, step, slot)
        self.looking = Looking(self.session, lambda: self.get_parent_window() is not None)
        self.pad: DrawingPad | None = None
        self.fbind("size", self._fit)
        self.view = self.session.fitting(fitting)
        self.entry: Entry | None = self.view.head(slot)
        self.header.who, self.header.detail, _ = who(self.view)
        self._edit() if self.entry is None else self._show()

    def leave(self) -> None:
        """Back to the photos; what is typed and drawn stays as a draft."""
        self.stage.go_fitting(self.fitting, self.step_key, PHOTOS)

    # The picture ----------------------------------------------------------------------

    def _picture(self, form: PhotoForm, draws: bool) -> None:
        """Put the picture beside what is said of it, with what draws over it."""
        self.pad = DrawingPad(
            test_name="photo:pad", takes_drawing=draws, lines_of=paths_of, frame_wide=form.wide,
            line_tone="doubt", edge_tone="field", ground_tone="panel", rim_tone="hairline",
            strokes=form.marks, way=ARROW,
        )
        if draws:
            self.pad.fbind("on_drawn", self._drawn)
        around = BoxLayout(orientation="vertical", padding=dp(14), spacing=dp(10))
        around.add_widget(self.pad)
        if draws:
            around.add_widget(self._tools())
        self.around = around
        self.side.add_widget(around)
        self.has_side = True
        self._fit()
        self.looking.show(form.sha256, _LARGE, self.pad.show_picture, self._not_shown)

    def _tools(self) -> Column:
        ways = ChoiceRow(test_name="field:way", label="", options=[(way, spoken(words)) for way, words in _WAYS], value=ARROW)
        ways.fbind("on_edit", lambda _row, way: setattr(self.pad, "way", way))
        tools = Column(spacing=dp(8))
        tools.add_widget(ways)
        row = Row(spacing=dp(12))
        tools.add_widget(row)
        self.plain(spoken("Undo a mark"), self.pad.undo, "photo:undo", row)
        self.plain(spoken("Clear the marks"), self.pad.clear, "photo:clear", row)
        for button in row.children:
            button.fit, button.size_hint_x = False, 1
        return tools

    def _not_shown(self, sentence: str) -> None:
        self.warn(sentence)

    def _fit(self, *_args) -> None:
        """The picture fills the side lying, and a share of the height upright."""
        if self.pad is None:
            return
        self.side_share = _SHARE_LYING
        self.around.size_hint_y = 1 if self.is_wide else None
        if not self.is_wide:
            self.around.height = self.height * _SHARE_UPRIGHT

    def _drawn(self, _pad) -> None:
        try:
            self.form.mark([Stroke(*stroke) for stroke in self.pad.strokes])
        except Refusal as refusal:
            self.pad.strokes = self.form.marks
            self.warn(refusal_sentence(refusal))

    # Saying what it shows ---------------------------------------------------------------

    def _edit(self, wrong: Entry | None = None) -> None:
        self.empty()
        self.form = PhotoForm(self.session, self.fitting, self.slot, wrong=wrong)
        self.head(spoken("Photo"), spoken("Draw over it where that helps; the photo itself stays as it was taken."))
        self.pane = FormPane(self.form, self.body, None, leave_out=_LEFT_OUT)
        kept = str(self.form.typed.get("kept_as") or "")
        if kept and wrong is None:
            self.body.add_widget(Banner(kind="info", text=kept, test_name="kept_as"))
        if wrong is None or here(self.session, wrong):
            self._picture(self.form, draws=True)
        if wrong is None:
            self.quiet(spoken("Throw away"), self._throw_away, "throw_away")
            self.plain(spoken("Back"), self.leave, "back")
            self.main(spoken("Save"), self.save, "save")
        else:
            self.quiet(spoken("Leave it as it was"), self._leave_it, "leave_it")
            self.kept = KeptReason(self.session, self.form.draft_place, self.form.typed)
            reason_buttons(self, lambda code: self._correct(code, ""), lambda: CorrectionSheet(self._correct, self.kept).open())

    def save(self) -> None:
        """Save what it shows; its bytes are sealed on this tablet already."""
        if self.pane.save(self.stage.saved):
            self.leave()

    def _throw_away(self) -> None:
        self.form.set_aside()
        self.leave()

    def _leave_it(self) -> None:
        self.form.set_aside()
        self._show()

    def _correct(self, code: str, note: str) -> None:
        if self.pane.refuse():
            return
        if not self.form.changes_something:
            self.pane.say(spoken("Nothing differs from what is recorded. Change something, or go back."))
            return
        if self.pane.save(self.stage.saved, code=code, note=note):
            self.stage.go_fitting(self.fitting, self.step_key, self.slot)

    # Recorded ---------------------------------------------------------------------------

    def _show(self) -> None:
        entry, view = self.entry, self.view
        if self.session.draft(PhotoForm(self.session, self.fitting, self.slot, wrong=entry).draft_place):
            self._edit(wrong=entry)
            return
        self.empty()
        kind = view.edition.kinds[entry.kind]
        self.head(spoken("Photo"), value_words(kind.field("shows"), entry.body.get("shows"), view))
        form = PhotoForm(self.session, self.fitting, self.slot, wrong=entry)
        is_here = here(self.session, entry)
        if is_here:
            self._picture(form, draws=False)
        else:
            self.body.add_widget(Banner(
                kind="info", lead=f"{_first_capital(photo_place_words(taken_on(view, entry)))}.",
                text=refusal_sentence(Refusal("attachment_not_here")), test_name="elsewhere",
            ))
            self.fetching = ProgressLine(test_name="photo:fetching", cancel_words=spoken("Cancel"))
            if self.session.has_server:
                self.plain(spoken("Fetch the picture"), self._fetch, "fetch_photo")
        for key in _SHOWN:
            words = value_words(kind.field(key), entry.body.get(key), view)
            if key == "at_step" and words:
                words = next((s.title for s in view.edition.steps if s.key == words), words)
            if words:
                self.body.add_widget(ListRow(title=kind.field(key).label, subtitle=words, pressable=False))
        by = view.record.name_of(entry.recorded_by)
        moment = moment_words(entry.recorded_at)
        self.body.add_widget(ListRow(title=spoken("Saved by {by}", by=by), subtitle=moment, pressable=False))
        self.taking_out = KeptReason(self.session, correction_place(self.fitting, self.slot, entry))
        self.quiet(spoken("Should not be here"), self._withdraw, "withdraw")
        self.plain(spoken("Correct"), lambda: self._edit(wrong=entry), "correct")
        self.main(spoken("Go on"), self.leave)

    def _fetch(self) -> None:
        """Fetch the picture in a worker; the page shows it once it is kept here."""
        if self.fetching.parent:
            return
        sha256, courier = str(self.entry.body.get("sha256", "")), self.stage.courier
        work = Work(lambda work: courier.fetch_photo(self.session, sha256, work.say), spoken("Asking the server"))
        self.fetching.fbind("on_cancel", lambda *_: work.cancel())
        self.body.add_widget(self.fetching)
        Clock.schedule_interval(lambda _dt: self._fetched(work), POLL_SECONDS)

    def _fetched(self, work: Work) -> bool:
        work.drain()
        self.fetching.words, self.fetching.share = work.words, work.share
        if not work.done:
            return True
        self.body.remove_widget(self.fetching)
        if self.get_parent_window() is None:
            return False  # left meanwhile; what came is kept
        if work.refusal is not None:
            self.warn(refusal_sentence(work.refusal))
        else:
            self._show()
        return False

    def _withdraw(self) -> None:
        CorrectionSheet(self._withdrawn, self.taking_out, title=spoken("Take this out"), first="wrong_person").open()

    def _withdrawn(self, code: str, note: str) -> None:
        entry = self.attempt(lambda: self.session.withdraw(self.entry, code, note))
        if entry is not None:
            self.taking_out.drop()
            self.stage.saved(entry)
            self.leave()


def _first_capital(words: str) -> str:
    return words[:1].upper() + words[1:]
