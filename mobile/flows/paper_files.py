"""Papers made into files, in a worker: whole or not at all, and never over another one."""

from __future__ import annotations

import errno
import os
import queue
import re
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Callable

from shared_models.language import current_language, in_language
from shared_models.papers.fitting_record import FittingRecord
from shared_models.papers.person_sheet import PersonSheet
from shared_models.quantities.moments import day_of
from shared_models.quantities.refusals import Refusal
from shared_models.wording import fitting_record as record_words
from shared_models.wording.person_sheet import FILE_NAME, MAKING

_MOST_PAPERS = 999
_UNFINISHED = ".part"
_FILE_NAMES = (FILE_NAME, record_words.FILE_NAME)
Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class ToPrint:
    """A paper to be made: the stem of its file, and what makes its bytes in the worker."""

    stem: str
    make: Callable[[Progress, Callable[[], bool]], bytes]


def sheet_to_print(sheet: PersonSheet, language: str = "") -> ToPrint:
    """Return the person's sheet as a paper to be made, in the language that its content is in."""
    spoken_in = language or current_language()

    def make(progress: Progress, cancelled: Callable[[], bool]) -> bytes:
        # Imported here and below, so that opening the page does not wait for it.
        from shared_models.papers.pdf import make_pdf

        with in_language(spoken_in):
            return make_pdf(sheet, progress, cancelled)

    return ToPrint(_stem(FILE_NAME, sheet.file_number, sheet.moment), make)


def record_to_print(record: FittingRecord) -> ToPrint:
    """Return the record of a fitting as a paper to be made."""
    def make(progress: Progress, cancelled: Callable[[], bool]) -> bytes:
        from shared_models.papers.record_pdf import record_pdf

        progress(MAKING["pages"], 0.35)
        return record_pdf(record)

    return ToPrint(_stem(record_words.FILE_NAME, record.file_number, record.moment), make)


def _stem(kind: str, file_number: str, moment: str) -> str:
    """Return the stem of a file: which paper, whose, and the day of its record."""
    return f"{kind}_{_in_a_name(file_number)}_{day_of(moment).isoformat()}"


def _in_a_name(file_number: str) -> str:
    """Letters and digits of any writing stay, all else becomes a dash; at most 60, so that any disk takes it."""
    return re.sub(r"\W+", "-", file_number).strip("-_")[:60] or "no-number"


def save_paper(folder: Path, stem: str, data: bytes, cancelled: Callable[[], bool] = lambda: False) -> Path:
    """Write a paper under a name that no file has; return where it lies.

    It appears whole or not at all.  Raises Refusal ``paper_disk_full``,
    ``paper_not_saved``, ``paper_too_many`` and ``paper_cancelled``.
    """
    unfinished = folder / f"{stem}.{os.getpid()}{_UNFINISHED}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _tidy(folder)
        with open(unfinished, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if cancelled():
            raise Refusal("paper_cancelled")
        return _named(unfinished, folder, stem)
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise Refusal("paper_disk_full") from error
        raise Refusal("paper_not_saved") from error
    finally:
        _drop(unfinished)


def _named(unfinished: Path, folder: Path, stem: str) -> Path:
    for number in range(1, _MOST_PAPERS + 1):
        target = folder / (f"{stem}.pdf" if number == 1 else f"{stem}_{number}.pdf")
        try:
            # A link takes a name only where there is none; some cards know no links.
            os.link(unfinished, target)
            return target
        except FileExistsError:
            continue
        except OSError:
            if target.exists():
                continue
            os.rename(unfinished, target)
            return target
    raise Refusal("paper_too_many", count=_MOST_PAPERS)


def _tidy(folder: Path) -> None:
    """Take away what a killed app left half-written."""
    for name in _FILE_NAMES:
        for left in folder.glob(f"{name}_*{_UNFINISHED}"):
            _drop(left)


def _drop(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError:
        pass  # a disk that can't be written keeps it; the next paper tries again


def take_away(path: Path) -> bool:
    """Remove a saved paper; tell whether it is gone."""
    _drop(path)
    return not path.exists()


def saved_papers(folder: Path, file_number: str) -> list[Path]:
    """Return the papers of a file number that lie in the folder, the sheets first, newest name last."""
    if not folder.is_dir():
        return []
    whose = _in_a_name(file_number)
    return [p for name in _FILE_NAMES for p in sorted(folder.glob(f"{name}_{whose}_*.pdf"))]


class PaperRun:
    """One paper being made.  ``drain`` is called on the screen's thread.

    After ``done``: ``path`` says where it lies, or ``refusal`` why it was not
    saved.  A fault of ours in the worker is raised again by ``drain``.
    """

    def __init__(self, paper: ToPrint, folder: Path) -> None:
        self.words, self.share = MAKING["content"], 0.0
        self.done = False
        self.path: Path | None = None
        self.refusal: Refusal | None = None
        self._news: queue.SimpleQueue[tuple[str, Any]] = queue.SimpleQueue()
        self._cancelled = threading.Event()
        threading.Thread(target=self._work, args=(paper, folder), daemon=True).start()

    def cancel(self) -> None:
        """Stop before the next part; nothing is left of it."""
        self._cancelled.set()

    def drain(self) -> None:
        """Take the worker's news: progress and the end."""
        while True:
            try:
                sort, news = self._news.get_nowait()
            except queue.Empty:
                return
            if sort == "progress":
                self.words, self.share = news
                continue
            self.done = True
            if isinstance(news, Path):
                self.path = news
            elif isinstance(news, Refusal):
                self.refusal = news
            else:
                raise news

    def _work(self, paper: ToPrint, folder: Path) -> None:
        try:
            data = paper.make(lambda what, share: self._news.put(("progress", (what, share))), self._cancelled.is_set)
            self._news.put(("progress", (MAKING["saving"], 0.95)))
            path = save_paper(folder, paper.stem, data, self._cancelled.is_set)
        except Exception as error:  # handed to the screen's thread, which raises faults
            self._news.put(("end", error))
            return
        self._news.put(("end", path))
