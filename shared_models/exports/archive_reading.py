"""Reading a clinic's archive back, with every check before anything of it is believed."""

from __future__ import annotations

import hashlib
import re
import struct
import zipfile
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO, Iterator, Mapping

from shared_models.checks.attached import named_bytes
from shared_models.entries.canonical import NotStrictJson, canonical_bytes, strict_json
from shared_models.entries.envelope import BadEnvelope, Entry, entry_in
from shared_models.entries.signatures import BadSignature, Signature, signature_from
from shared_models.exchange.chains import PlainRow, verify_chain
from shared_models.exports.archive import (
    ATTACHMENTS,
    ENTRIES,
    FOLDERS,
    FORMAT,
    MANIFEST,
    MANIFEST_SUM,
    PIECE,
    README,
    SIGNATURES,
    ArchiveRefusal,
    file_of,
    lacking_of,
    put,
    sum_line,
)
from shared_models.ledger.fingerprints import fingerprint_of
from shared_models.quantities.refusals import Refusal

#: What the zip module raises over bytes that are no sound zip.
_UNREADABLE = (
    zipfile.BadZipFile, OSError, EOFError, ValueError, KeyError, IndexError, OverflowError,
    NotImplementedError, RuntimeError, struct.error,
)
_MANIFEST_NAMES = {
    "format", "clinic", "made_at", "program", "entries", "signatures", "fingerprint", "lacking", "files",
}
#: Names between slashes, none of them empty, hidden, or a way up.
_PLAIN_NAME = re.compile(r"[A-Za-z0-9_%~-][A-Za-z0-9._%~-]*(/[A-Za-z0-9_%~-][A-Za-z0-9._%~-]*)+")
#: A manifest names each file in some 200 bytes; this is for a million photos.
_LARGEST_MANIFEST = 256 * 1024 * 1024


@dataclass(frozen=True)
class Archive:
    """An archive whose every byte was checked; entries, signatures and photos are read one at a time."""

    clinic: str
    made_at: str
    tablets: tuple[str, ...]
    entry_count: int
    signature_count: int
    photos: tuple[str, ...]
    lacking: tuple[str, ...]
    manifest_sha256: str
    _zip: zipfile.ZipFile

    def entries(self) -> Iterator[Entry]:
        """Give every entry by tablet, number and digest; refused as ``photo``."""
        for tablet in self.tablets:
            yield from _entries(self._zip, file_of(ENTRIES, tablet), self.clinic)

    def signatures(self) -> Iterator[Signature]:
        """Give every signature by the tablet and the number of what it signs; refused as ``photo``."""
        for tablet in self.tablets:
            name = file_of(SIGNATURES, tablet)
            if name in self._zip.namelist():
                yield from (signature for signature, _ in _signatures(self._zip, name, self.clinic))

    def photo(self, sha256: str) -> bytes:
        """Return a photo's bytes; refused ``archive_file_changed`` where the file changed meanwhile."""
        name = ATTACHMENTS + sha256
        data = b"".join(_pieces(self._zip, name))
        if hashlib.sha256(data).hexdigest() != sha256:
            raise ArchiveRefusal("archive_file_changed", file=name)
        return data


@contextmanager
def open_archive(path: Path) -> Iterator[Archive]:
    """Give an archive after all checks: names, sizes, hashes, digests, chains, signatures, every byte of the zip.

    Raises ArchiveRefusal, which says which file is wrong.
    """
    try:
        file = path.open("rb")
    except OSError as error:
        raise ArchiveRefusal("archive_not_readable", file=path.name) from error
    with file:
        try:
            source = zipfile.ZipFile(file)
        except _UNREADABLE as error:
            raise ArchiveRefusal("archive_not_readable", file=path.name) from error
        with source:
            _refuse_more_than_there_is(source, path)
            manifest, digest = _manifest(source)
            names = _check_files(source, manifest)
            _check_frame(file, source, [*names, MANIFEST, MANIFEST_SUM], path.name)
            yield _record(source, manifest, digest, names)


def _refuse_more_than_there_is(source: zipfile.ZipFile, path: Path) -> None:
    """Files that are stored as they are can't be larger together than the zip: or one part is named many times."""
    if sum(info.file_size for info in source.infolist()) > path.stat().st_size:
        raise ArchiveRefusal("archive_frame_changed", file=path.name)


def _manifest(source: zipfile.ZipFile) -> tuple[Mapping[str, Any], str]:
    there = {info.filename: info for info in source.infolist()}
    for name in (MANIFEST, MANIFEST_SUM):
        if name not in there:
            raise ArchiveRefusal("archive_file_missing", file=name)
        if there[name].file_size > _LARGEST_MANIFEST:
            raise ArchiveRefusal("archive_file_changed", file=name)
    data, said = (b"".join(_pieces(source, name)) for name in (MANIFEST, MANIFEST_SUM))
    digest = hashlib.sha256(data).hexdigest()
    if said != sum_line(digest):
        raise ArchiveRefusal("archive_file_changed", file=MANIFEST)
    try:
        value = strict_json(data)
        if value["format"] != FORMAT:
            raise ArchiveRefusal("archive_of_newer_form")
        well_formed = set(value) == _MANIFEST_NAMES and canonical_bytes(value) == data and all(
            set(told) == {"bytes", "sha256"} for told in value["files"].values()
        )
    except (NotStrictJson, KeyError, TypeError, AttributeError) as error:
        raise ArchiveRefusal("archive_file_changed", file=MANIFEST) from error
    if not well_formed:
        raise ArchiveRefusal("archive_file_changed", file=MANIFEST)
    return value, digest


def _check_files(source: zipfile.ZipFile, manifest: Mapping[str, Any]) -> list[str]:
    """Exactly the files of the manifest, each of its size and SHA-256; return their names in order."""
    listed = manifest["files"]
    there = set(source.namelist()) - {MANIFEST, MANIFEST_SUM}
    for name in sorted(set(listed) - there):
        raise ArchiveRefusal("archive_file_missing", file=_printable(name))
    unknown = {name for name in listed if name != README and not _is_ours(name)}
    for name in sorted((there - set(listed)) | unknown):
        raise ArchiveRefusal("archive_file_added", file=_printable(name))
    for name in sorted(listed):
        found, size = hashlib.sha256(), 0
        for piece in _pieces(source, name):
            found.update(piece)
            size += len(piece)
        if {"bytes": size, "sha256": found.hexdigest()} != listed[name]:
            raise ArchiveRefusal("archive_file_changed", file=name)
        if name.startswith(ATTACHMENTS) and name != ATTACHMENTS + found.hexdigest():
            raise ArchiveRefusal("archive_file_changed", file=name)
    return sorted(listed)


def _printable(name: str) -> str:
    """A name as it may be shown: one that somebody made up could steer the terminal it is written to."""
    return "".join(sign if sign.isprintable() else "\ufffd" for sign in name)


def _is_ours(name: str) -> bool:
    """Whether a file lies in one of the folders, and nowhere else once somebody unpacks it."""
    return name.startswith(FOLDERS) and _PLAIN_NAME.fullmatch(name) is not None


def _pieces(source: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    try:
        info = source.getinfo(name)
        if info.compress_type != zipfile.ZIP_STORED:
            raise ArchiveRefusal("archive_file_changed", file=name)
        with source.open(info) as file:
            while piece := file.read(PIECE):
                yield piece
    except Refusal:
        raise
    except _UNREADABLE as error:
        raise ArchiveRefusal("archive_file_changed", file=name) from error


def _check_frame(file: BinaryIO, source: zipfile.ZipFile, names: list[str], called: str) -> None:
    """What lies around the files is what ``write_archive`` puts there, to the last byte."""
    same = _Same(file)
    with zipfile.ZipFile(same, "w", zipfile.ZIP_STORED) as again:  # type: ignore[call-overload]
        for name in names:
            put(again, name, source.getinfo(name).file_size, _pieces(source, name))
    if not same.is_whole():
        raise ArchiveRefusal("archive_frame_changed", file=called)


class _Same:
    """Takes what would be written, and compares it with what a file holds there."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._at = self._end = 0
        #: A file's head is written twice, the second time with its checksum: the last one counts.
        self._different: set[tuple[int, int]] = set()

    def write(self, data: Any) -> int:
        data = bytes(data)
        there = self._file.tell()
        self._file.seek(self._at)
        place = (self._at, len(data))
        if self._file.read(len(data)) == data:
            self._different.discard(place)
        else:
            self._different.add(place)
        self._file.seek(there)
        self._at += len(data)
        self._end = max(self._end, self._at)
        return len(data)

    def tell(self) -> int:
        return self._at

    def seek(self, offset: int, whence: int = 0) -> int:
        self._at = offset + {0: 0, 1: self._at, 2: self._end}[whence]
        return self._at

    def seekable(self) -> bool:
        return True

    def flush(self) -> None:
        """Nothing waits."""

    def is_whole(self) -> bool:
        """Whether all that was written stands there, and nothing after it."""
        return not self._different and self._file.seek(0, 2) == self._end


def _record(source: zipfile.ZipFile, manifest: Mapping[str, Any], digest: str, names: list[str]) -> Archive:
    clinic, found = manifest["clinic"], _Found()
    for name in names:
        if name.startswith(ENTRIES):
            _check_tablet(source, name, clinic, found)
    beside = {name.replace(ENTRIES, SIGNATURES, 1) for name in names if name.startswith(ENTRIES)}
    for name in names:
        if name.startswith(SIGNATURES) and name not in beside:
            raise ArchiveRefusal("archive_line_wrong", file=name, line=1)
    photos = tuple(name.removeprefix(ATTACHMENTS) for name in names if name.startswith(ATTACHMENTS))
    lacking = lacking_of(found.named, photos)
    told = {
        "entries": found.entries, "signatures": found.signatures, "lacking": lacking,
        "fingerprint": fingerprint_of(found.digests),
    }
    if any(manifest[name] != value for name, value in told.items()):
        raise ArchiveRefusal("archive_count_differs", file=MANIFEST)
    return Archive(
        clinic, str(manifest["made_at"]), tuple(found.tablets), found.entries, found.signatures, photos,
        tuple(lacking), digest, source,
    )


@dataclass
class _Found:
    """What a look at every line found; of an entry only its digest is kept."""

    digests: list[str] = field(default_factory=list)
    entries: int = 0
    signatures: int = 0
    named: set[str] = field(default_factory=set)
    tablets: list[str] = field(default_factory=list)


def _check_tablet(source: zipfile.ZipFile, name: str, clinic: str, found: _Found) -> None:
    """Check a tablet's chain, and every signature over it."""
    chain: set[str] = set()
    place, tablet = 0, ""

    def rows() -> Iterator[PlainRow]:
        nonlocal place, tablet
        for place, entry in enumerate(_entries(source, name, clinic), 1):
            tablet = entry.tablet
            chain.add(entry.digest)
            found.named.update(named_bytes(entry))
            yield PlainRow(entry.number, entry.digest, entry.plaintext())

    if verify_chain(rows()) is not None:
        raise ArchiveRefusal("archive_line_wrong", file=name, line=place)
    found.entries += len(chain)
    found.digests += chain
    found.tablets.append(tablet)
    signed = name.replace(ENTRIES, SIGNATURES, 1)
    if signed in source.namelist():
        for signature, line in _signatures(source, signed, clinic):
            if signature.signs not in chain or not signature.is_valid():
                raise ArchiveRefusal("archive_line_wrong", file=signed, line=line)
            found.signatures += 1
            found.digests.append(signature.digest)


def _entries(source: zipfile.ZipFile, name: str, clinic: str) -> Iterator[Entry]:
    """Give the entries of a file, each in its exact bytes and behind the one before."""
    before: tuple[int, str] = (0, "")
    for place, line in enumerate(_lines(source, name), 1):
        try:
            entry = entry_in(line)
        except (NotStrictJson, BadEnvelope) as error:
            raise ArchiveRefusal("archive_line_wrong", file=name, line=place) from error
        here = (entry.number, entry.digest)
        if (
            entry.plaintext() != line or entry.clinic != clinic or file_of(ENTRIES, entry.tablet) != name
            or (place > 1 and before >= here)
        ):
            raise ArchiveRefusal("archive_line_wrong", file=name, line=place)
        before = here
        yield entry


def _signatures(source: zipfile.ZipFile, name: str, clinic: str) -> Iterator[tuple[Signature, int]]:
    """Give the signatures of a file with their lines, each in its exact bytes."""
    for place, line in enumerate(_lines(source, name), 1):
        try:
            signature = signature_from(strict_json(line))
            is_canonical = canonical_bytes(signature.as_record()) == line
        except (NotStrictJson, BadSignature) as error:
            raise ArchiveRefusal("archive_line_wrong", file=name, line=place) from error
        if not is_canonical or signature.clinic != clinic:
            raise ArchiveRefusal("archive_line_wrong", file=name, line=place)
        yield signature, place


def _lines(source: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    left = b""
    for piece in _pieces(source, name):
        *whole, left = (left + piece).split(b"\n")
        yield from whole
    if left or source.getinfo(name).file_size == 0:
        raise ArchiveRefusal("archive_file_changed", file=name)
