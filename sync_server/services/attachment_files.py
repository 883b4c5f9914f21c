"""Photos as plain files: appended to, looked at, and then named as whole.

Files and not rows, because an upload only ever appends, a database would write
such bytes twice and carry them in every copy of itself, and several processes
of one server can share a folder.  The folder of a clinic is named by a hash of
its id and a file by the SHA-256 of its bytes, so nothing that anybody sent
becomes a path.  What is unfinished ends in ``.part`` and gets its name by a
rename once it is whole and on the disk.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Callable, Iterator

from shared_models.quantities.refusals import Refusal

_PART = ".part"


class UploadRefusal(Refusal):
    """Bytes of a photo are not taken, or not given.

    Codes: ``upload_offset_differs`` (figures ``expected``, ``offered``),
    ``upload_is_whole``, ``upload_length_differs``, ``attachment_not_its_hash``,
    ``attachment_disk``, and what a request may have wrong.
    """


@dataclass(frozen=True)
class Stand:
    """How far bytes have come: how many are here, and whether that is all."""

    offset: int
    whole: bool


class AttachmentFiles:
    """The files of one server."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, clinic: str, sha256: str) -> Path:
        """Return where whole bytes lie, or would."""
        return self._of_clinic(clinic) / sha256[:2] / sha256

    def stand(self, clinic: str, sha256: str) -> Stand:
        """Return how far bytes have come."""
        whole = self.path(clinic, sha256)
        try:
            return Stand(whole.stat().st_size, True)
        except OSError:
            pass
        try:
            return Stand(whole.with_name(sha256 + _PART).stat().st_size, False)
        except OSError:
            return Stand(0, False)

    def append(self, clinic: str, sha256: str, offset: int, data: bytes) -> Stand:
        """Add bytes at an offset; on the disk when this returns.

        Refused ``upload_offset_differs`` where they don't belong at the end,
        ``upload_is_whole``, ``attachment_disk``; then nothing has changed.
        """
        with self._held(clinic, sha256) as part:
            if self.path(clinic, sha256).exists():
                raise UploadRefusal("upload_is_whole")
            there = os.fstat(part).st_size
            if there != offset:
                raise UploadRefusal("upload_offset_differs", expected=there, offered=offset)
            try:
                _write(part, data, there)
                os.fsync(part)
            except OSError as error:
                with suppress(OSError):  # where even that fails, the hash of the whole finds it
                    os.ftruncate(part, there)
                raise UploadRefusal("attachment_disk") from error
            return Stand(there + len(data), False)

    def finish(self, clinic: str, sha256: str, look: Callable[[bytes], object], size: int | None = None) -> object:
        """Look at what is here and name it as whole; return what ``look`` says of it.

        Refused ``attachment_not_its_hash`` and as ``look`` refuses: then what
        was here is dropped, so that it is sent from its beginning.  Bytes that
        are whole already are looked at and stay.  ``upload_length_differs``
        where there are not ``size`` bytes, ``attachment_disk`` where they can't be
        read or named: then what is here stays.
        """
        whole = self.path(clinic, sha256)
        with self._held(clinic, sha256) as part, _as_refusal():
            if whole.exists():
                looked = look(_checked(whole.read_bytes(), sha256))
                _sync_folder(whole.parent)  # it may have failed when they were named
                return looked
            found = os.fstat(part).st_size
            if size is not None and size != found:
                raise UploadRefusal("upload_length_differs", stated=size, found=found)
            try:
                looked = look(_checked(_all_of(part, found), sha256))
            except Refusal:
                os.ftruncate(part, 0)
                os.fsync(part)
                raise
            os.rename(whole.with_name(sha256 + _PART), whole)
            _sync_folder(whole.parent)
            return looked

    def drop(self, clinic: str, sha256: str) -> None:
        """Take away whole bytes that are found to be damaged, so that they are sent again."""
        self.path(clinic, sha256).unlink(missing_ok=True)

    def _of_clinic(self, clinic: str) -> Path:
        return self.folder / hashlib.sha256(clinic.encode()).hexdigest()[:32]

    @contextmanager
    def _held(self, clinic: str, sha256: str) -> Iterator[int]:
        """Open the unfinished bytes for oneself alone, also against other processes."""
        path = self.path(clinic, sha256)
        with _as_refusal():
            self._make_folder(path.parent)
            while True:
                part = os.open(path.with_name(sha256 + _PART), os.O_RDWR | os.O_CREAT, 0o600)
                try:
                    fcntl.flock(part, fcntl.LOCK_EX)
                except OSError:
                    os.close(part)
                    raise
                if _is_still(part, path.with_name(sha256 + _PART)) or path.exists():
                    break
                os.close(part)  # somebody renamed it while we waited
        try:
            yield part
        finally:
            with suppress(OSError):  # an empty one that stays does no harm
                if path.exists() and os.fstat(part).st_size == 0:
                    path.with_name(sha256 + _PART).unlink(missing_ok=True)
            os.close(part)

    def _make_folder(self, folder: Path) -> None:
        """Make a folder whose own name is on the disk as well: a file in it is found after power was lost."""
        if folder.is_dir():
            return
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        for above in (folder.parent, self.folder, self.folder.parent):
            _sync_folder(above)


@contextmanager
def _as_refusal() -> Iterator[None]:
    """Say an error of the disk as a refusal: full, out of order, or not to be reached."""
    try:
        yield
    except OSError as error:
        raise UploadRefusal("attachment_disk") from error


def _is_still(part: int, path: Path) -> bool:
    try:
        return os.fstat(part).st_ino == path.stat().st_ino
    except OSError:
        return False


def _write(part: int, data: bytes, at: int) -> None:
    view = memoryview(data)
    while view:
        written = os.pwrite(part, view, at)
        view, at = view[written:], at + written


def _all_of(part: int, size: int) -> bytes:
    found = bytearray()
    while len(found) < size:
        piece = os.pread(part, size - len(found), len(found))
        if not piece:
            break
        found += piece
    return bytes(found)


def _checked(data: bytes, sha256: str) -> bytes:
    if hashlib.sha256(data).hexdigest() != sha256:
        raise UploadRefusal("attachment_not_its_hash")
    return data


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
