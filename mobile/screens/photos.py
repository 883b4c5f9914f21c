"""The photos of a fitting as a list, and taking a further one in: by camera, or from a file."""

from __future__ import annotations

import time
from datetime import datetime
from pathlib import Path

from kivy.clock import Clock

from shared_models.checks.attached import photos_in, taken_on
from shared_models.drawings.strokes import paths_of
from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.attachments import ADVICE, FILE_STAYS, NO_CAMERA, marked_words, photo_place_words
from shared_models.wording.dates import moment_words_of, taken_words
from shared_models.wording.refusals import refusal_sentence
from mobile.device import camera
from mobile.flows.board import who
from mobile.flows.photo_files import forget_old, photo_files
from mobile.flows.photos import PhotoForm, Work, here, take_in, unsaved_photos
from mobile.screens.frame import StagePage
from mobile.screens.looking import POLL_SECONDS, Looking
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow, ProgressLine
from mobile.widgets.photo_row import PhotoRow
from mobile.widgets.surface import Words

PHOTOS = "photos"
#: Pixels of a picture in the list.
_SMALL = (336, 252)


class PhotosPage(StagePage):
    """Photos not saved yet first, then the saved ones, newest first."""

    def __init__(self, stage, fitting: str, step: str):
        super().__init__(stage, has_rail=False)
        self.fitting, self.step_key = fitting, step
        self.session, self.tablet = stage.session, stage.tablet
        self.view = self.session.fitting(fitting)
        self.header.leave_words = spoken("Back")
        self.header.who, self.header.detail, _ = who(self.view)
        self.work: Work | None = None
        stage.keep_where(fitting, step, PHOTOS)
        self.looking = Looking(self.session, lambda: self.get_parent_window() is not None)
        forget_old(self.tablet.camera_folder)
        self.list()

    def leave(self) -> None:
        """Back to the step; a file that is being read is let go of."""
        if self.work is not None:
            self.work.cancel()
        self.stage.go_fitting(self.fitting, self.step_key)

    def list(self, trouble: str = "") -> None:
        """Show the photos, and the ways to a further one."""
        self._begin(spoken("Photos"), spoken(ADVICE), trouble)
        shown = [self._unsaved_row(slot) for slot in unsaved_photos(self.session, self.fitting)]
        shown += [self._row(photo) for photo in reversed(photos_in(self.view))]
        for row in shown:
            self.body.add_widget(row)
        if not shown:
            self.body.add_widget(Words(text=spoken("No photo yet."), tone="ink_soft"))
        self.plain(spoken("Back"), self.leave, "back")
        if camera.is_there():
            self.plain(spoken("Choose a file"), self.choose, "choose_file")
            self.main(spoken("Take a photo"), self.photograph, "take_photo")
        else:
            self.body.add_widget(Banner(kind="info", text=spoken(NO_CAMERA), test_name="no_camera"))
            self.main(spoken("Choose a file"), self.choose, "choose_file")
        self.scroll_to_top()

    def _begin(self, title: str, lead: str, trouble: str = "") -> None:
        """What is in the way stands at the top, however long the list is."""
        self.empty()
        self.head(title, lead)
        if trouble:
            self.body.add_widget(Banner(kind="doubt", lead=trouble, test_name="trouble"))

    def _row(self, photo) -> PhotoRow:
        body, entry = photo.entry.body, photo.entry
        is_here = here(self.session, entry)
        where = photo_place_words(taken_on(self.view, entry), is_here)
        said = [str(body.get("note") or ""), marked_words(len(photo.marks)), "" if is_here else where]
        row = PhotoRow(
            test_name=photo.slot, title=self.view.edition.words("photo_shows", photo.shows),
            subtitle="\n".join(part for part in said if part), trailing=taken_words(str(body.get("taken_at") or "")),
            instead="" if is_here else spoken("on another tablet"),
        )
        self._picture(row, photo.sha256 if is_here else "", photo.marks, photo.wide)
        row.fbind("on_release", lambda *_: self.stage.go_fitting(self.fitting, self.step_key, photo.slot))
        return row

    def _unsaved_row(self, slot: str) -> PhotoRow:
        typed = PhotoForm(self.session, self.fitting, slot)
        words = self.view.edition.words("photo_shows", str(typed.typed.get("shows") or ""))
        row = PhotoRow(
            test_name=slot, title=spoken("Not saved yet{words}", words=': ' + words if words else ''),
            subtitle=spoken("Say what it shows, then save it."), trailing=taken_words(str(typed.typed.get("taken_at") or "")),
        )
        self._picture(row, typed.sha256, typed.marks, typed.wide)
        row.fbind("on_release", lambda *_: self.stage.go_fitting(self.fitting, self.step_key, slot))
        return row

    def _picture(self, row: PhotoRow, digest: str, marks, wide: float) -> None:
        row.pad.lines_of, row.pad.frame_wide = paths_of, wide
        if not digest:
            return
        row.instead = spoken("reading it")

        def refused(sentence: str) -> None:
            row.instead = spoken("can't be shown")
            row.subtitle = "\n".join(part for part in (row.subtitle, sentence) if part)

        def read(*picture) -> None:
            row.show_picture(*picture)
            row.pad.strokes = marks

        self.looking.show(digest, _SMALL, read, refused)

    # Taking one in ------------------------------------------------------------------

    def photograph(self) -> None:
        """Ask the camera; what it leaves is taken in."""
        folder = self.tablet.camera_folder
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"{time.time_ns()}.jpg"
        try:
            camera.take(path, lambda: Clock.schedule_once(lambda _dt: self._photographed(path)))
        except camera.NoCamera:
            self.list(refusal_sentence(Refusal("camera_not_there")))

    def _photographed(self, path: Path) -> None:
        if not path.exists():
            self.list(refusal_sentence(Refusal("camera_gave_nothing")))
        else:
            self.take(path)

    def choose(self, trouble: str = "") -> None:
        """Show the files that may be chosen, newest first."""
        self._begin(spoken("Choose a photo"), spoken(FILE_STAYS), trouble)
        files = photo_files(self.tablet.camera_folder, self.tablet.photos_folder)
        for path in files:
            row = ListRow(title=path.name, subtitle=_file_words(path), test_name=f"file:{path.name}")
            row.fbind("on_release", lambda *_, p=path: self.take(p))
            self.body.add_widget(row)
        if not files:
            self.body.add_widget(Banner(
                kind="info", lead=spoken("No photo is here."), text=spoken("Put a JPEG, PNG or WebP file into the folder {photos_folder}.", photos_folder=self.tablet.photos_folder),
                test_name="no_files",
            ))
        self.plain(spoken("Back"), self.list, "back")
        self.scroll_to_top()

    def take(self, path: Path) -> None:
        """Read a file, free it of what is written beside the picture, and seal it; off this thread."""
        if self.work is not None and not self.work.done:
            return
        self.empty()
        self.head(spoken("Taking the photo in"), path.name)
        self.progress = ProgressLine(test_name="photo:progress", cancel_words=spoken("Cancel"))
        self.progress.fbind("on_cancel", lambda *_: self.work.cancel())
        self.body.add_widget(self.progress)
        self.work = take_in(self.session, path, remove=path.parent == self.tablet.camera_folder)
        Clock.schedule_interval(self._poll, POLL_SECONDS)

    def _poll(self, _dt) -> bool:
        work = self.work
        work.drain()
        self.progress.words, self.progress.share = work.words, work.share
        if not work.done:
            return self.stage.session is self.session
        if self.stage.page is not self:
            return False  # left meanwhile: what nothing names goes at the next start
        if work.refusal is not None:
            self.choose(refusal_sentence(work.refusal))
            return False
        form = self.attempt(lambda: PhotoForm.begin(self.session, self.fitting, self.step_key, work.result))
        self.stage.go_fitting(self.fitting, self.step_key, form.slot) if form else self.list()
        return False


def _file_words(path: Path) -> str:
    try:
        state = path.stat()
    except OSError:
        return ""
    changed = datetime.fromtimestamp(state.st_mtime).astimezone()
    size = spoken("{st_size:.1f} MB", st_size=state.st_size / 1e6) if state.st_size >= 100_000 else spoken("{st_size:.0f} kB", st_size=state.st_size / 1e3)
    return f"{size}, {moment_words_of(changed)}"


__all__ = ["PHOTOS", "PhotosPage"]
