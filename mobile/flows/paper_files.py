"""The person's sheet made into a file, in a worker: whole or not at all, and never over another one."""

from __future__ import annotations

import errno
import os
import queue
import re
import threading
from pathlib import Path
from typing import Any, Callable

from shared_models.papers.person_sheet import PersonSheet
from shared_models.quantities.moments import day_of
from shared_models.quantities.refusals import Refusal
from shared_models.wording.person_sheet import FILE_NAME, MAKING

_MOST_SHEETS = 999
_UNFINISHED = ".part"


def sheet_name(sheet: PersonSheet) -> str:
    """Return the stem of a sheet's file: its file number and the day of its record.

    Letters and digits of any writing stay, all else becomes a dash; at most 60
    characters of the number, so that any disk takes the name.
    """
    number = re.sub(r"\W+", "-", sheet.file_number).strip("-_")[:60] or "no-number"
    return f"{FILE_NAME}_{number}_{day_of(sheet.moment).isoformat()}"


def save_sheet(folder: Path, stem: str, data: bytes, cancelled: Callable[[], bool] = lambda: False) -> Path:
    """Write a sheet under a name that no file has; return where it lies.

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
    for number in range(1, _MOST_SHEETS + 1):
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
    raise Refusal("paper_too_many", count=_MOST_SHEETS)


def _tidy(folder: Path) -> None:
    """Take away what a killed app left half-written."""
    for left in folder.glob(f"{FILE_NAME}_*{_UNFINISHED}"):
        _drop(left)


def _drop(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError:
        pass  # a disk that can't be written keeps it; the next sheet tries again


def take_away(path: Path) -> bool:
    """Remove a saved sheet; tell whether it is gone."""
    _drop(path)
    return not path.exists()


def saved_sheets(folder: Path, sheet: PersonSheet) -> list[Path]:
    """Return the sheets of the same file number that lie in the folder, newest name last."""
    stem = sheet_name(sheet).rpartition("_")[0]
    return sorted(folder.glob(f"{stem}_*.pdf")) if folder.is_dir() else []


class PaperRun:
    """One sheet being made.  ``drain`` is called on the screen's thread.

    After ``done``: ``path`` says where it lies, or ``refusal`` why it was not
    saved.  A fault of ours in the worker is raised again by ``drain``.
    """

    def __init__(self, sheet: PersonSheet, folder: Path) -> None:
        self.words, self.share = MAKING["content"], 0.0
        self.done = False
        self.path: Path | None = None
        self.refusal: Refusal | None = None
        self._news: queue.SimpleQueue[tuple[str, Any]] = queue.SimpleQueue()
        self._cancelled = threading.Event()
        threading.Thread(target=self._work, args=(sheet, folder), daemon=True).start()

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

    def _work(self, sheet: PersonSheet, folder: Path) -> None:
        try:
            # Imported here, so that opening the page does not wait for it.
            from shared_models.papers.pdf import make_pdf

            data = make_pdf(sheet, lambda what, share: self._news.put(("progress", (what, share))), self._cancelled.is_set)
            self._news.put(("progress", (MAKING["saving"], 0.95)))
            path = save_sheet(folder, sheet_name(sheet), data, self._cancelled.is_set)
        except Exception as error:  # handed to the screen's thread, which raises faults
            self._news.put(("end", error))
            return
        self._news.put(("end", path))
