"""What is wrong in a store, the first of each chain; pure, over rows as they lie.

Rows come a few at a time and are let go: of each entry only a line of notes is
kept, so that a clinic's record of many years needs little memory.
"""

from __future__ import annotations

import sys
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from itertools import groupby
from typing import Iterable, Iterator, Mapping, NamedTuple

from shared_models.entries.canonical import NotStrictJson, strict_json
from shared_models.entries.envelope import BadEnvelope, Entry, entry_read
from shared_models.entries.record import KEEPERS, Record
from shared_models.entries.signatures import CHAIN_HEAD, BadSignature, Signature, signature_from
from shared_models.entries.vouching import is_server_chain
from shared_models.exchange.chains import verify_chain
from shared_models.exchange.keys import Keys
from shared_models.exchange.signing_rules import trouble_with
from shared_models.ledger.raw_rows import RawRow
from shared_models.wording.dates import moment_words

#: A clinic and the tablet whose chain it is.
ChainName = tuple[str, str]


@dataclass(frozen=True)
class Finding:
    """One thing that is wrong: which row of what, and a stable code."""

    code: str
    clinic: str = ""
    tablet: str = ""
    number: int = 0
    digest: str = ""
    what: str = ""


@dataclass(frozen=True)
class Looked:
    """What was looked at, what is wrong (the first of each chain first), and what to know."""

    entries: int = 0
    chains: int = 0
    signatures: int = 0
    findings: tuple[Finding, ...] = ()
    #: Keys that nobody vouched for; what they signed does not count.
    unvouched: int = 0
    #: Chains with a copied tablet's second branch; both are kept.
    copied: tuple[str, ...] = ()
    #: Own entries of a tablet that lead up to no signed head yet: not sent.
    unsigned: int = 0


class _Noted(NamedTuple):
    """What is kept of an entry once it was looked at."""

    clinic: str
    tablet: str
    number: int
    previous: str
    kind: str
    recorded_by: str
    recorded_at: str


@dataclass
class _Read:
    entries: dict[str, _Noted] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    #: Entries that say whose keys count, whole, and the signatures over them.
    keepers: list[Entry] = field(default_factory=list)
    over_keepers: list[Signature] = field(default_factory=list)
    #: Chains that found a clinic are believed: servers, and a tablet without one.
    founders: set[str] = field(default_factory=set)
    chains: set[ChainName] = field(default_factory=set)
    copied: set[str] = field(default_factory=set)
    entry_rows: int = 0
    signature_rows: int = 0
    #: Numbers of a server's sequence, by clinic.
    given: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    #: Entries that a chain's signature signs.
    heads: set[str] = field(default_factory=set)


def look_over(
    entry_rows: Iterable[RawRow], signature_rows: Iterable[RawRow],
    last_numbers: Mapping[str, int], held_heads: Mapping[ChainName, tuple[int, str]] | None = None,
    is_server: bool = False,
) -> Looked:
    """Check every row of a store against itself and against heads that others hold.

    ``entry_rows`` come by clinic, tablet and number, and are taken whole before
    the first of ``signature_rows``.  ``held_heads`` maps (clinic, tablet) to
    number and digest as a server (or another store) holds them: without them a
    tail that was cut off whole with all its signatures could not be seen.
    """
    read = _Read()
    _chains(read, entry_rows, held_heads or {})
    _signatures(read, signature_rows)
    unsigned = _heads(read, is_server)
    if is_server:
        _numbers(read, last_numbers)
    record = Record()
    record.add(read.keepers, read.over_keepers)
    return Looked(
        read.entry_rows, len(read.chains), read.signature_rows, tuple(read.findings),
        len(record.vouched.without), tuple(sorted(read.copied)), unsigned,
    )


def _chains(read: _Read, rows: Iterable[RawRow], held: Mapping[ChainName, tuple[int, str]]) -> None:
    found: dict[ChainName, list[Finding]] = {}
    for name, mine in groupby(rows, key=lambda row: (row.columns["clinic"], row.columns["tablet"])):
        read.chains.add(name)
        found[name] = _chain(read, name, mine, held.get(name))
    for name in set(held) - read.chains:
        found[name] = _chain(read, name, (), held[name])
    for name in sorted(found):
        read.findings += found[name]


def _chain(
    read: _Read, name: ChainName, rows: Iterable[RawRow], held: tuple[int, str] | None
) -> list[Finding]:
    columns: list[Finding] = []
    newest: list[RawRow] = []

    def noted() -> Iterator[RawRow]:
        for row in rows:
            if newest and newest[0].number == row.number:
                read.copied.add(name[1])
            newest[:] = [row]
            columns.extend(_note(read, name, row))
            yield row

    through = noted()
    bad = verify_chain(through, held)
    stopped_at = _entry(newest[0]) if bad and newest and newest[0].digest == bad.digest else None
    for _ in through:  # what stands behind the first bad row is looked at too
        pass
    if bad is None:
        return columns
    words = _words(stopped_at) if stopped_at else ""
    return [Finding(bad.code, *name, bad.number, bad.digest, words), *columns]


def _note(read: _Read, name: ChainName, row: RawRow) -> list[Finding]:
    """Keep what is asked of an entry later; return what is wrong beside it."""
    read.entry_rows += 1
    read.given[name[0]].append(row.sequence or 0)
    entry = _entry(row)
    if entry is None or entry.digest != row.digest:
        return []  # its chain names the first of these
    # The same few names stand in very many entries: each is kept once.
    clinic, tablet, kind, by = map(sys.intern, (entry.clinic, entry.tablet, entry.kind, entry.recorded_by))
    read.entries[row.digest] = _Noted(clinic, tablet, entry.number, entry.previous, kind, by, entry.recorded_at)
    if kind == "clinic" or is_server_chain(tablet):
        read.founders.add(tablet)
    if entry.subject.type in KEEPERS:
        read.keepers.append(entry)
    wrong = columns_that_differ(entry, row.columns)
    said = f"{', '.join(wrong)} of {_words(entry)}"
    return [Finding("column_differs", *name, row.number, row.digest, said)] if wrong else []


def _entry(row: RawRow) -> Entry | None:
    try:
        return entry_read(strict_json(row.plaintext)) if row.plaintext is not None else None
    except (NotStrictJson, BadEnvelope):
        return None


def columns_of(entry: Entry) -> dict[str, object]:
    """Return the readable columns that stand beside an entry in a store."""
    return {
        "entry_id": entry.id, "clinic": entry.clinic, "subject_type": entry.subject.type,
        "subject_id": entry.subject.id, "kind": entry.kind, "tablet": entry.tablet,
        "number": entry.number, "previous": entry.previous, "clock": entry.clock,
    }


def columns_that_differ(entry: Entry, kept: Mapping[str, object]) -> list[str]:
    """Return which readable columns of a row say something else than its entry."""
    return [name for name, value in columns_of(entry).items() if kept[name] != value]


def _signatures(read: _Read, rows: Iterable[RawRow]) -> None:
    keys = Keys(servers=frozenset(read.founders)).with_entries(read.keepers)
    keepers = {entry.digest for entry in read.keepers}
    troubles: list[Finding] = []
    for row in rows:
        read.signature_rows += 1
        read.given[row.columns["clinic"]].append(row.sequence or 0)
        found = _signature(read, row)
        if found is None:
            continue
        if found.meaning == CHAIN_HEAD:
            read.heads.add(found.signs)
        if found.signs in keepers:
            read.over_keepers.append(found)
        about = read.entries.get(found.signs)
        code = trouble_with(found, about, found.clinic, keys)
        if code:
            troubles.append(Finding(code, *_place(about, found.clinic), row.digest, _of(about, row)))
    read.findings += troubles


def _signature(read: _Read, row: RawRow) -> Signature | None:
    """Return the signature of a row, None where it is damaged; note what is wrong with the row."""
    try:
        found = signature_from(strict_json(row.plaintext)) if row.plaintext is not None else None
    except (NotStrictJson, BadSignature):
        found = None
    about = read.entries.get(row.columns["signs"])
    place = _place(about, row.columns["clinic"])
    if found is None or found.digest != row.digest:
        read.findings.append(Finding("signature_damaged", *place, row.digest, _of(about, row)))
        return None
    said = {"clinic": found.clinic, "signs": found.signs, "signer_type": found.signer_type, "signer": found.signer}
    if any(row.columns[c] != value for c, value in said.items()):
        read.findings.append(Finding("column_differs", *place, row.digest, "the signature of " + found.signer))
    return found


def _place(about: _Noted | None, clinic: str) -> tuple[str, str, int]:
    return (about.clinic, about.tablet, about.number) if about else (clinic, "", 0)


def _of(about: _Noted | None, row: RawRow) -> str:
    return f"{row.columns['signer']} over {_words(about) if about else row.columns['signs'][:12]}"


def _heads(read: _Read, is_server: bool) -> int:
    """Every entry leads up to a signed head; on a tablet its own unsent ones not yet."""
    if not read.heads and not is_server:
        return len(read.entries)
    covered: set[str] = set()
    for head in read.heads:
        at = head
        while at in read.entries and at not in covered:
            covered.add(at)
            at = read.entries[at].previous
    bare = ((digest, noted) for digest, noted in read.entries.items() if digest not in covered)
    if not is_server:
        return sum(1 for _ in bare)
    named = {(f.clinic, f.tablet) for f in read.findings}  # beside these it would be an echo
    bare = ((digest, e) for digest, e in bare if (e.clinic, e.tablet) not in named)
    digest, first = min(bare, key=lambda b: (b[1].clinic, b[1].tablet, b[1].number), default=("", None))
    if first is not None:
        read.findings.append(Finding(
            "chain_head_not_signed", first.clinic, first.tablet, first.number, digest, _words(first)
        ))
    return 0


def _numbers(read: _Read, last: Mapping[str, int]) -> None:
    """A server gave each number of a clinic's sequence once, from 1 on without a hole."""
    for clinic in sorted({*read.given, *last}):
        found = sorted(read.given.get(clinic, []))
        wanted = range(1, last.get(clinic, 0) + 1)
        if found != list(wanted):
            doubled = (n for n, times in Counter(found).items() if times > 1)
            hole = min(set(wanted) ^ set(found), default=0) or min(doubled)
            read.findings.append(Finding("sequence_hole", clinic, "", hole))


def _words(entry: Entry | _Noted) -> str:
    return f"{entry.kind.replace('_', ' ')}, recorded by {entry.recorded_by} at {moment_words(entry.recorded_at)}"
