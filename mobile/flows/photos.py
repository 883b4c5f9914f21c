"""Photos of a fitting: taken in by a worker thread, described as a draft, then an entry.

A photo's bytes are sealed in the store as soon as they are taken in, and the
draft names them; so marks and words typed for it outlive a crash, and saving
its entry is one short transaction.
"""

from __future__ import annotations

import queue
import threading
from datetime import datetime
from pathlib import Path
from typing import Any, Callable

import uuid6

from shared_models.checks.attached import PHOTO
from shared_models.checks.strokes import Stroke, strokes_body, strokes_from
from shared_models.entries.envelope import Entry
from shared_models.language import spoken
from shared_models.ledger.faults_of_storage import NotSaved
from shared_models.quantities.refusals import Refusal
from shared_models.wording.attachments import done_words
from mobile.flows.forms import SlotForm
from mobile.keeping.pictures import Picture, Shown, prepared, read_file, shown
from mobile.keeping.session import Session

#: What a photo shows when it was taken at one of these steps; otherwise it is asked.
_LIKELY = {
    "skin_first": "skin", "skin_end": "skin", "components": "component",
    "bench": "side_view", "static": "side_view", "alignment_recheck": "side_view", "alignment_closing": "side_view",
}


class Work:
    """Something done by a worker thread; ``drain`` brings its news to the screen's thread.

    After ``done``: ``result``, or ``refusal`` why there is none.  A fault of
    ours in the worker is raised again by ``drain``.
    """

    def __init__(self, do: Callable[["Work"], Any], words: str = "") -> None:
        self.words, self.share = words, 0.0
        self.done = False
        self.result: Any = None
        self.refusal: Refusal | None = None
        self._cancelled = threading.Event()
        self._news: queue.SimpleQueue[tuple[str, Any]] = queue.SimpleQueue()
        self._worker = threading.Thread(target=self._work, args=(do,), daemon=True)
        self._worker.start()

    def cancel(self) -> None:
        """Stop at the next chance."""
        self._cancelled.set()

    def is_cancelled(self) -> bool:
        """Whether somebody asked to stop."""
        return self._cancelled.is_set()

    def say(self, words: str, share: float) -> None:
        """Tell the screen how far it is; called by the worker."""
        self._news.put(("progress", (words, share)))
        if self.is_cancelled():
            raise NotSaved("attachment_cancelled")

    def drain(self) -> None:
        """Take the worker's news."""
        while not self._news.empty():
            sort, news = self._news.get()
            if sort == "progress":
                self.words, self.share = news
                continue
            self.done = True
            if isinstance(news, Refusal):
                self.refusal = news
            elif isinstance(news, Exception):
                raise news
            else:
                self.result = news

    def _work(self, do: Callable[["Work"], Any]) -> None:
        try:
            result = do(self)
        except Exception as error:  # handed to the screen's thread, which raises faults
            self._news.put(("end", error))
            return
        self._news.put(("end", result))


def take_in(session: Session, path: Path, remove: bool = False) -> Work:
    """Begin to take a file in; the work's result is what a draft says of it.

    ``remove`` deletes the file once its bytes are kept: the camera's own.
    """
    return Work(lambda work: _take_in(work, session, path, remove), spoken("Reading the file"))


def _take_in(work: Work, session: Session, path: Path, remove: bool) -> dict[str, Any]:
    work.say(spoken("Reading the file"), 0.05)
    data = read_file(path)
    changed_at = _changed(path)
    work.say(spoken("Taking out what the camera wrote beside it"), 0.2)
    picture = prepared(data, path.name)
    work.say(spoken("Keeping it"), 0.6)
    digest = session.entries.keep_attachment(
        picture.data, lambda share: work.say(spoken("Keeping it"), 0.6 + 0.4 * share) if share < 1 else None,
        work.is_cancelled,
    )
    if remove:
        path.unlink(missing_ok=True)
    return _said_of(picture, digest, picture.taken_at or changed_at)


def _changed(path: Path) -> str:
    """When the file was written, by its own folder's clock; "" when it is gone meanwhile."""
    try:
        return datetime.fromtimestamp(path.stat().st_mtime).strftime("%Y-%m-%d %H:%M")
    except OSError:
        return ""


def _said_of(picture: Picture, digest: str, taken_at: str) -> dict[str, Any]:
    return {
        "sha256": digest, "media_type": picture.media_type, "size_kb": str(-(-len(picture.data) // 1000)),
        "width_px": str(picture.width), "height_px": str(picture.height), "taken_at": taken_at,
        "kept_as": done_words(picture.done, **picture.figures),
    }


def look_at(session: Session, digest: str, most_across: int, most_up: int) -> Work:
    """Begin to read a kept photo for the screen; the work's result is a `Shown`."""
    def read(_work: Work) -> Shown:
        return shown(session.entries.attachment(digest), most_across, most_up)
    return Work(read)


class PhotoForm(SlotForm):
    """What is said of one photo; its bytes are here already, or on another tablet."""

    @classmethod
    def begin(cls, session: Session, fitting: str, step: str, said: dict[str, Any]) -> "PhotoForm":
        """Begin the draft of a photo just taken in; durable when this returns."""
        form = cls(session, fitting, f"photo/{uuid6.uuid7()}")
        form.typed |= {**said, "at_step": step, "shows": _LIKELY.get(step, "")}
        session.keep_draft(form.draft_place, form.typed)
        return form

    @property
    def sha256(self) -> str:
        """Digest of the photo's bytes."""
        return str(self.typed.get("sha256") or self.fixed.get("sha256") or "")

    @property
    def wide(self) -> float:
        """Width of the photo as a part of its height."""
        width, height = (int(self.typed.get(key) or 1) for key in ("width_px", "height_px"))
        return width / height

    @property
    def marks(self) -> tuple[Stroke, ...]:
        """What is drawn over the photo so far."""
        return strokes_from(self.typed.get("marks") or [])

    def mark(self, marks: list[Stroke]) -> None:
        """Take what is drawn over it now; a durable draft when this returns.

        Raises Refusal ``too_much_drawn``.
        """
        self.edit("marks", strokes_body(marks))

    def set_aside(self) -> None:
        """Throw the draft away, and the bytes where nothing else names them."""
        super().set_aside()
        if self.wrong is None:
            self.session.tidy_attachments()


def unsaved_photos(session: Session, fitting: str) -> list[str]:
    """Return the slots of photos taken in and not saved yet, newest first."""
    beginning = f"fitting/{fitting}/"
    places = session.entries.draft_places(f"{beginning}photo/")
    return [place[len(beginning):] for place in places if "/correct/" not in place]


def here(session: Session, entry: Entry) -> bool:
    """Whether the bytes of a recorded photo lie on this tablet."""
    return entry.kind == PHOTO and session.entries.has_attachment(str(entry.body.get("sha256", "")))
