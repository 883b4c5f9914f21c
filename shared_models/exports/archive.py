"""A clinic's whole record as one plain zip that can be read without this program.

What is in it is written in ``archive_readme.txt``, which goes into each archive.
The zip is stored, not compressed, in one order and without dates, so that the
same record gives the same bytes and every byte of the file can be checked.
"""

from __future__ import annotations

import hashlib
import os
import zipfile
from dataclasses import dataclass, field
from functools import partial
from importlib.resources import files as resources
from pathlib import Path
from typing import BinaryIO, Callable, Iterable, Iterator, Mapping
from urllib.parse import quote

from shared_models.catalogue.edition import UnknownEdition, files_of_edition
from shared_models.checks.attached import named_bytes
from shared_models.entries.canonical import canonical_bytes
from shared_models.entries.envelope import Entry
from shared_models.entries.signatures import Signature
from shared_models.ledger.fingerprints import fingerprint_of
from shared_models.quantities.refusals import Refusal

FORMAT = 1
README, MANIFEST, MANIFEST_SUM = "README.txt", "manifest.json", "manifest.sha256"
ENTRIES, SIGNATURES, ATTACHMENTS, EDITIONS = "entries/", "signatures/", "attachments/", "editions/"
FOLDERS = (ENTRIES, SIGNATURES, ATTACHMENTS, EDITIONS)
_LINES = ".jsonl"
PIECE = 1 << 20
#: The first moment that a zip can name: an archive says in its manifest when it was made.
_NO_DATE = (1980, 1, 1, 0, 0, 0)
_UNIX, _OWNER_ONLY = 3, 0o600


class ArchiveRefusal(Refusal):
    """An archive can't be written, or is not what it says: nothing of it is taken.

    Codes: ``archive_there``, ``archive_not_written``, ``archive_photo_damaged``, ``archive_not_readable``,
    ``archive_of_newer_form``, ``archive_file_missing``, ``archive_file_added``,
    ``archive_file_changed``, ``archive_line_wrong``, ``archive_count_differs``,
    ``archive_frame_changed``; figure ``file`` says which file is wrong.
    """


@dataclass(frozen=True)
class Contents:
    """What goes into an archive: ``photos`` are the files of whole bytes by SHA-256.

    ``entries`` gives those of a tablet by number and digest, ``signatures`` the
    signatures over them by the number that they sign, what they sign, and digest.
    Both are asked twice and must give the same again; a clinic's record of many
    years is never held in memory whole.
    """

    clinic: str
    tablets: tuple[str, ...]
    entries: Callable[[str], Iterable[Entry]]
    signatures: Callable[[str], Iterable[Signature]]
    photos: Mapping[str, Path]
    made_at: str
    program: str


def write_archive(path: Path, contents: Contents) -> str:
    """Write an archive into a new file, on the disk when this returns; return its manifest's SHA-256.

    Refused: ``archive_there``, ``archive_not_written``, ``archive_photo_damaged``
    where a photo's file is missing or its bytes are not those of its name.
    """
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ONLY)
    except FileExistsError as error:
        raise ArchiveRefusal("archive_there", file=path.name) from error
    except OSError as error:
        raise ArchiveRefusal("archive_not_written", file=path.name) from error
    try:
        with os.fdopen(handle, "wb") as file:
            found = _write(file, contents)
            file.flush()
            os.fsync(file.fileno())
            return found
    except OSError as error:
        path.unlink(missing_ok=True)
        raise ArchiveRefusal("archive_not_written", file=path.name) from error
    except Refusal:
        path.unlink(missing_ok=True)
        raise


@dataclass(frozen=True)
class _Lines:
    """A file of lines that are made again each time; ``size`` is of all of them."""

    size: int
    lines: Callable[[], Iterator[bytes]]


_Source = bytes | Path | _Lines


@dataclass
class _Counted:
    """What a first look at a record found: for the manifest, and for which editions go along."""

    digests: list[str] = field(default_factory=list)
    entries: int = 0
    signatures: int = 0
    editions: set[str] = field(default_factory=set)
    named: set[str] = field(default_factory=set)
    sources: dict[str, _Source] = field(default_factory=dict)


def _write(file: BinaryIO, contents: Contents) -> str:
    counted = _count(contents)
    sources = _sources(contents, counted)
    listed: dict[str, dict[str, object]] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as target:
        for name in sorted(sources):
            listed[name] = _put_source(target, name, sources[name])
        manifest = canonical_bytes(_manifest(contents, counted, listed))
        digest = hashlib.sha256(manifest).hexdigest()
        put(target, MANIFEST, len(manifest), [manifest])
        said = sum_line(digest)
        put(target, MANIFEST_SUM, len(said), [said])
    return digest


def _put_source(target: zipfile.ZipFile, name: str, source: _Source) -> dict[str, object]:
    found = hashlib.sha256()
    try:
        size = _size(source)
    except FileNotFoundError as error:
        raise ArchiveRefusal("archive_photo_damaged", file=name) from error

    def hashed() -> Iterator[bytes]:
        for piece in _pieces(source):
            found.update(piece)
            yield piece

    put(target, name, size, hashed())
    digest = found.hexdigest()
    if name.startswith(ATTACHMENTS) and name != ATTACHMENTS + digest:
        raise ArchiveRefusal("archive_photo_damaged", file=name)
    return {"bytes": size, "sha256": digest}


def _size(source: _Source) -> int:
    if isinstance(source, bytes):
        return len(source)
    return source.size if isinstance(source, _Lines) else source.stat().st_size


def put(target: zipfile.ZipFile, name: str, size: int, pieces: Iterable[bytes]) -> None:
    """Add a file to a zip in the one form that an archive has."""
    info = zipfile.ZipInfo(name, _NO_DATE)
    info.create_system, info.external_attr, info.file_size = _UNIX, _OWNER_ONLY << 16, size
    with target.open(info, "w") as file:
        for piece in pieces:
            file.write(piece)


def sum_line(digest: str) -> bytes:
    """Return what ``manifest.sha256`` holds, as ``sha256sum --check`` reads it."""
    return f"{digest}  {MANIFEST}\n".encode()


def file_of(folder: str, tablet: str) -> str:
    """Return the name of a tablet's file: whatever its name is made of, it is no path."""
    return folder + quote(tablet, safe="") + _LINES


def lacking_of(named: Iterable[str], photos: Iterable[str]) -> list[str]:
    """Return the SHA-256 of what entries name and is not there."""
    return sorted(set(named) - set(photos))


def _count(contents: Contents) -> _Counted:
    counted = _Counted()
    for tablet in contents.tablets:
        size = 0
        for entry in contents.entries(tablet):
            size += len(entry.plaintext()) + 1
            counted.entries += 1
            counted.digests.append(entry.digest)
            counted.editions.add(entry.edition)
            counted.named.update(named_bytes(entry))
        lines = partial(_entry_lines, contents, tablet)
        counted.sources[file_of(ENTRIES, tablet)] = _Lines(size, lines)
        size = 0
        for signature in contents.signatures(tablet):
            size += len(canonical_bytes(signature.as_record())) + 1
            counted.signatures += 1
            counted.digests.append(signature.digest)
        if size:
            lines = partial(_signature_lines, contents, tablet)
            counted.sources[file_of(SIGNATURES, tablet)] = _Lines(size, lines)
    return counted


def _entry_lines(contents: Contents, tablet: str) -> Iterator[bytes]:
    for entry in contents.entries(tablet):
        yield entry.plaintext() + b"\n"


def _signature_lines(contents: Contents, tablet: str) -> Iterator[bytes]:
    for signature in contents.signatures(tablet):
        yield canonical_bytes(signature.as_record()) + b"\n"


def _sources(contents: Contents, counted: _Counted) -> dict[str, _Source]:
    sources: dict[str, _Source] = {README: resources(__package__).joinpath("archive_readme.txt").read_bytes()}
    sources.update(counted.sources)
    for edition in sorted(counted.editions):
        sources.update(_edition(edition))
    sources.update({ATTACHMENTS + sha256: path for sha256, path in contents.photos.items()})
    return sources


def _edition(edition: str) -> dict[str, bytes]:
    """The files of an edition; none of one that this program does not know, whose entries are taken unharmed."""
    try:
        found = files_of_edition(edition)
    except UnknownEdition:
        return {}
    return {f"{EDITIONS}{quote(edition, safe='')}/{name}": data for name, data in found.items()}


def _manifest(
    contents: Contents, counted: _Counted, listed: Mapping[str, Mapping[str, object]]
) -> dict[str, object]:
    return {
        "format": FORMAT, "clinic": contents.clinic, "made_at": contents.made_at, "program": contents.program,
        "entries": counted.entries, "signatures": counted.signatures,
        "fingerprint": fingerprint_of(counted.digests),
        "lacking": lacking_of(counted.named, contents.photos), "files": dict(listed),
    }


def _pieces(source: _Source) -> Iterator[bytes]:
    if isinstance(source, bytes):
        yield source
    elif isinstance(source, _Lines):
        yield from source.lines()
    else:
        with source.open("rb") as file:
            while piece := file.read(PIECE):
                yield piece
