"""A clinic's whole record as one plain zip that can be read without this program.

What is in it is written in ``archive_readme.txt``, which goes into each archive.
The zip is stored, not compressed, in one order and without dates, so that the
same record gives the same bytes and every byte of the file can be checked.
"""

from __future__ import annotations

import hashlib
import os
import zipfile
from collections import defaultdict
from dataclasses import dataclass
from importlib.resources import files as resources
from pathlib import Path
from typing import BinaryIO, Iterable, Iterator, Mapping
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
    """What goes into an archive: ``photos`` are the files of whole bytes by SHA-256."""

    clinic: str
    entries: tuple[Entry, ...]
    signatures: tuple[Signature, ...]
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


def _write(file: BinaryIO, contents: Contents) -> str:
    sources = _sources(contents)
    listed: dict[str, dict[str, object]] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as target:
        for name in sorted(sources):
            listed[name] = _put_source(target, name, sources[name])
        manifest = canonical_bytes(_manifest(contents, listed))
        digest = hashlib.sha256(manifest).hexdigest()
        put(target, MANIFEST, len(manifest), [manifest])
        said = sum_line(digest)
        put(target, MANIFEST_SUM, len(said), [said])
    return digest


def _put_source(target: zipfile.ZipFile, name: str, source: bytes | Path) -> dict[str, object]:
    found = hashlib.sha256()
    try:
        size = len(source) if isinstance(source, bytes) else source.stat().st_size
    except FileNotFoundError as error:
        raise ArchiveRefusal("archive_photo_damaged", file=name) from error

    def hashed() -> Iterator[bytes]:
        for piece in [source] if isinstance(source, bytes) else _pieces(source):
            found.update(piece)
            yield piece

    put(target, name, size, hashed())
    digest = found.hexdigest()
    if name.startswith(ATTACHMENTS) and name != ATTACHMENTS + digest:
        raise ArchiveRefusal("archive_photo_damaged", file=name)
    return {"bytes": size, "sha256": digest}


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


def lacking_of(entries: Iterable[Entry], photos: Iterable[str]) -> list[str]:
    """Return the SHA-256 of what entries name and is not there."""
    return sorted({named for entry in entries for named in named_bytes(entry)} - set(photos))


def _sources(contents: Contents) -> dict[str, bytes | Path]:
    sources: dict[str, bytes | Path] = {README: resources(__package__).joinpath("archive_readme.txt").read_bytes()}
    lines: dict[str, list[bytes]] = defaultdict(list)
    about = {entry.digest: entry for entry in contents.entries}
    for entry in sorted(contents.entries, key=lambda e: (e.tablet, e.number, e.digest)):
        lines[file_of(ENTRIES, entry.tablet)].append(entry.plaintext())
    for signature in sorted(contents.signatures, key=lambda s: (about[s.signs].number, s.signs, s.digest)):
        lines[file_of(SIGNATURES, about[signature.signs].tablet)].append(canonical_bytes(signature.as_record()))
    sources.update({name: b"".join(line + b"\n" for line in found) for name, found in lines.items()})
    for edition in sorted({entry.edition for entry in contents.entries}):
        sources.update(_edition(edition))
    sources.update({ATTACHMENTS + sha256: path for sha256, path in contents.photos.items()})
    return sources


def _edition(edition: str) -> dict[str, bytes | Path]:
    """The files of an edition; none of one that this program does not know, whose entries are taken unharmed."""
    try:
        found = files_of_edition(edition)
    except UnknownEdition:
        return {}
    return {f"{EDITIONS}{quote(edition, safe='')}/{name}": data for name, data in found.items()}


def _manifest(contents: Contents, listed: Mapping[str, Mapping[str, object]]) -> dict[str, object]:
    return {
        "format": FORMAT, "clinic": contents.clinic, "made_at": contents.made_at, "program": contents.program,
        "entries": len(contents.entries), "signatures": len(contents.signatures),
        "fingerprint": fingerprint_of(item.digest for item in (*contents.entries, *contents.signatures)),
        "lacking": lacking_of(contents.entries, contents.photos), "files": dict(listed),
    }


def _pieces(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(PIECE):
            yield piece
