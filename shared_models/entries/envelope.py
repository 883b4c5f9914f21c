"""The envelope of an entry: the form that every recorded fact has for ever.

An entry is immutable.  Its digest is the SHA-256 over the plaintext envelope
in canonical JSON; whatever names an entry names it by that digest.  Fields:

``format``       1
``id``           UUIDv7 (RFC 9562), made where the entry was made
``subject``      ``{"type": ..., "id": ...}``: a person, a fitting, a component
                 sheet, a member of staff, a tablet or a clinic
``clinic``       the clinic that the subject belongs to
``kind``         what is recorded, a kind of the edition; ``kind_version`` >= 1
``body``         the facts: text, yes/no, lists and objects of these
``recorded_by``  id of the member of staff (or of the program) who recorded it
``happened_at``  when it happened, ``recorded_at`` when it was saved: wall clock
                 with offset
``clock``        hybrid logical clock, for display order only
``tablet``       where it was made; ``number`` that tablet's n-th entry for this
                 clinic, from 1; ``previous`` the digest of its n-1-th, or ""
``rests_on``     digests of the entries it depends on, sorted
``replaces``     digests of the entries that it takes the place of, sorted
``because``      why it replaces them: ``{"code": ..., "note": ...}``, or {}
``edition``      the edition of steps and rules that it was made under

Names that this program does not know are kept: the envelope as received is
what is stored, digested and passed on.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from shared_models.entries.canonical import (
    canonical_bytes,
    canonical_of_strict,
    sha256_of,
    strict_json,
)
from shared_models.entries.clock import is_clock_reading
from shared_models.quantities.moments import NotAMoment, moment_from

FORMAT = 1
SUBJECT_TYPES = (
    "person", "fitting", "component_sheet", "staff", "tablet", "clinic",
)
#: A replacement with one of these reasons corrects what was recorded and
#: keeps its place in the order; the others say that the world moved on.
CORRECTION_CODES = ("mistyped", "measured_again", "wrong_person", "other")
CHANGE_CODES = ("changed", "settled")

_DIGEST = re.compile(r"^[0-9a-f]{64}$")
_UUID7 = re.compile(r"^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$")
_NAME = re.compile(r"^[a-z][a-z0-9_]{0,63}$")
_IDENTIFIER = re.compile(r"^[A-Za-z0-9][A-Za-z0-9._:-]{0,99}$")


class BadEnvelope(ValueError):
    """The envelope is not of the form; ``code`` is stable, ``place`` the field."""

    def __init__(self, code: str, place: str, found: object = "") -> None:
        super().__init__(f"{code}: {place} ({found!r})")
        self.code = code
        self.place = place
        self.found = found


@dataclass(frozen=True)
class Subject:
    """What an entry is about."""

    type: str
    id: str


@dataclass(frozen=True)
class Entry:
    """One immutable entry; ``envelope`` is exactly what the digest covers."""

    digest: str
    envelope: Mapping[str, Any] = field(repr=False, compare=False)
    id: str
    subject: Subject
    clinic: str
    kind: str
    kind_version: int
    body: Mapping[str, Any] = field(compare=False)
    recorded_by: str
    happened_at: str
    recorded_at: str
    clock: str
    tablet: str
    number: int
    previous: str
    rests_on: tuple[str, ...]
    replaces: tuple[str, ...]
    because_code: str
    because_note: str
    edition: str
    _plaintext: bytes = field(repr=False, compare=False)

    @property
    def is_correction(self) -> bool:
        """Whether it corrects what was recorded, rather than a changed world."""
        return bool(self.replaces) and self.because_code in CORRECTION_CODES

    @property
    def order(self) -> tuple[str, str, int, str]:
        """Key of the display order; total, and equal on every machine."""
        return (self.clock, self.tablet, self.number, self.digest)

    def plaintext(self) -> bytes:
        """Return the canonical bytes that the digest covers."""
        return self._plaintext


def entry_from(envelope: Mapping[str, Any]) -> Entry:
    """Check an envelope and return its Entry; raise BadEnvelope otherwise."""
    form = _looked_at(envelope)
    try:
        plaintext = canonical_bytes(dict(envelope))
    except ValueError as error:
        raise BadEnvelope("not_strict_json", "entry", str(error)) from error
    # A copy of its own, so that a list that the caller goes on filling can't
    # change what was recorded under the digest.
    return _entry(strict_json(plaintext), plaintext, form)


def entry_read(envelope: Any) -> Entry:
    """As ``entry_from``, for what ``strict_json`` has just read and nobody else will change."""
    form = _looked_at(envelope)
    try:
        plaintext = canonical_of_strict(envelope)
    except ValueError as error:
        raise BadEnvelope("not_strict_json", "entry", str(error)) from error
    return _entry(envelope, plaintext, form)


def entry_in(plaintext: bytes) -> Entry:
    """Return the Entry of an envelope's bytes as a store keeps them.

    Its digest is that of the canonical form.  Raises NotStrictJson, and BadEnvelope as ``entry_from``.
    """
    return entry_read(strict_json(plaintext))


def _looked_at(envelope: Any) -> tuple[Subject, str, str]:
    """Refuse another format before anything else is read; return the subject, and why it replaces."""
    if not isinstance(envelope, Mapping):
        raise BadEnvelope("not_an_object", "entry", type(envelope).__name__)
    if envelope.get("format") != FORMAT or envelope.get("format") is True:
        raise BadEnvelope("unknown_format", "format", envelope.get("format"))
    return (_subject(envelope), *_because(envelope))


def _entry(envelope: Mapping[str, Any], plaintext: bytes, form: tuple[Subject, str, str]) -> Entry:
    subject, because_code, because_note = form
    return Entry(
        digest=sha256_of(plaintext),
        envelope=envelope,
        id=_uuid(envelope, "id"),
        subject=subject,
        clinic=_match(envelope, "clinic", _IDENTIFIER),
        kind=_match(envelope, "kind", _NAME),
        kind_version=_whole(envelope, "kind_version"),
        body=_object(envelope, "body"),
        recorded_by=_match(envelope, "recorded_by", _IDENTIFIER),
        happened_at=_moment(envelope, "happened_at"),
        recorded_at=_moment(envelope, "recorded_at"),
        clock=_clock(envelope),
        tablet=_match(envelope, "tablet", _IDENTIFIER),
        number=_whole(envelope, "number"),
        previous=_previous(envelope),
        rests_on=_digests(envelope, "rests_on"),
        replaces=_digests(envelope, "replaces"),
        because_code=because_code,
        because_note=because_note,
        edition=_match(envelope, "edition", _IDENTIFIER),
        _plaintext=plaintext,
    )


def _object(envelope: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    found = envelope.get(name)
    if not isinstance(found, Mapping):
        raise BadEnvelope("not_an_object", name, found)
    return found


def _match(
    envelope: Mapping[str, Any], name: str, form: re.Pattern[str]
) -> str:
    found = envelope.get(name)
    if not isinstance(found, str) or not form.fullmatch(found):
        raise BadEnvelope("wrong_form", name, found)
    return found


def _uuid(envelope: Mapping[str, Any], name: str) -> str:
    found = envelope.get(name)
    if not isinstance(found, str) or not _UUID7.fullmatch(found):
        raise BadEnvelope("not_a_uuid7", name, found)
    return found


def _whole(envelope: Mapping[str, Any], name: str) -> int:
    found = envelope.get(name)
    if isinstance(found, bool) or not isinstance(found, int) or found < 1:
        raise BadEnvelope("not_a_count", name, found)
    return found


def _moment(envelope: Mapping[str, Any], name: str) -> str:
    found = envelope.get(name)
    try:
        moment_from(found)  # type: ignore[arg-type]
    except NotAMoment as error:
        raise BadEnvelope("not_a_moment", name, found) from error
    return str(found)


def _clock(envelope: Mapping[str, Any]) -> str:
    found = envelope.get("clock")
    if not is_clock_reading(found):
        raise BadEnvelope("not_a_clock_reading", "clock", found)
    return str(found)


def _digests(envelope: Mapping[str, Any], name: str) -> tuple[str, ...]:
    found = envelope.get(name)
    if not isinstance(found, (list, tuple)) or not all(
        isinstance(item, str) and _DIGEST.fullmatch(item) for item in found
    ):
        raise BadEnvelope("not_digests", name, found)
    if list(found) != sorted(set(found)):
        raise BadEnvelope("not_sorted", name, found)
    return tuple(found)


def _previous(envelope: Mapping[str, Any]) -> str:
    found = envelope.get("previous")
    if not isinstance(found, str) or not (found == "" or _DIGEST.fullmatch(found)):
        raise BadEnvelope("not_a_digest", "previous", found)
    if (found == "") != (envelope.get("number") == 1):
        raise BadEnvelope("chain_start", "previous", found)
    return found


def _subject(envelope: Mapping[str, Any]) -> Subject:
    subject = _object(envelope, "subject")
    type_ = _match(subject, "type", _NAME)
    return Subject(type_, _match(subject, "id", _IDENTIFIER))


def _because(envelope: Mapping[str, Any]) -> tuple[str, str]:
    because = _object(envelope, "because")
    replaces = envelope.get("replaces")
    code, note = because.get("code", ""), because.get("note", "")
    if not isinstance(code, str) or not isinstance(note, str):
        raise BadEnvelope("wrong_form", "because", dict(because))
    if bool(code) != bool(replaces):
        raise BadEnvelope("reason_and_replaces_go_together", "because", code)
    return code, note
