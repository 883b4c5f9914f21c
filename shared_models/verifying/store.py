"""What is wrong in a store, the first of each chain; pure, over rows as they lie."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Iterable, Mapping, Sequence

from shared_models.entries.canonical import NotStrictJson, strict_json
from shared_models.entries.envelope import BadEnvelope, Entry, entry_read
from shared_models.entries.record import Record
from shared_models.entries.signatures import CHAIN_HEAD, BadSignature, Signature, signature_from
from shared_models.entries.vouching import is_server_chain
from shared_models.exchange.chains import verify_chain
from shared_models.exchange.keys import Keys
from shared_models.exchange.signing_rules import trouble_with
from shared_models.ledger.raw_rows import RawRow
from shared_models.wording.dates import moment_words


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


@dataclass
class _Read:
    entries: dict[str, Entry] = field(default_factory=dict)
    signatures: list[tuple[RawRow, Signature]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def look_over(
    entry_rows: Sequence[RawRow], signature_rows: Sequence[RawRow],
    last_numbers: Mapping[str, int], held_heads: Mapping[tuple[str, str], tuple[int, str]] | None = None,
    is_server: bool = False,
) -> Looked:
    """Check every row of a store against itself and against heads that others hold.

    ``held_heads`` maps (clinic, tablet) to number and digest as a server (or
    another store) holds them: without them a tail that was cut off whole with
    all its signatures could not be seen.
    """
    read = _Read()
    chains = _chains(read, entry_rows, held_heads or {})
    _read_signatures(read, signature_rows)
    keys = _keys(read.entries.values())
    _signatures(read, keys)
    unsigned = _heads(read, is_server)
    if is_server:
        _numbers(read, entry_rows, signature_rows, last_numbers)
    record = Record()
    record.add(read.entries.values(), [s for _, s in read.signatures])
    return Looked(
        len(entry_rows), len(chains), len(signature_rows), tuple(read.findings),
        len(record.vouched.without),
        tuple(sorted(t for (_, t), rows in chains.items() if len({r.number for r in rows}) < len(rows))),
        unsigned,
    )


def _chains(
    read: _Read, rows: Sequence[RawRow], held: Mapping[tuple[str, str], tuple[int, str]]
) -> dict[tuple[str, str], list[RawRow]]:
    chains: dict[tuple[str, str], list[RawRow]] = defaultdict(list)
    for row in rows:
        chains[row.columns["clinic"], row.columns["tablet"]].append(row)
    for name in sorted({*chains, *held}):
        mine = chains.get(name, [])
        bad = verify_chain(mine, held.get(name))
        if bad is not None:
            read.findings.append(Finding(
                bad.code, *name, bad.number, bad.digest, _said(mine, bad.digest)
            ))
        for row in mine:
            entry = _entry(row)
            if entry is None or entry.digest != row.digest:
                continue  # its chain names the first of these
            read.entries[entry.digest] = entry
            wrong = columns_that_differ(entry, row.columns)
            if wrong:
                read.findings.append(Finding(
                    "column_differs", *name, row.number, row.digest, f"{', '.join(wrong)} of {_words(entry)}"
                ))
    return chains


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


def _read_signatures(read: _Read, rows: Iterable[RawRow]) -> None:
    for row in rows:
        try:
            found = signature_from(strict_json(row.plaintext)) if row.plaintext is not None else None
        except (NotStrictJson, BadSignature):
            found = None
        signs = row.columns["signs"]
        about = read.entries.get(signs)
        place = (about.clinic, about.tablet, about.number) if about else (row.columns["clinic"], "", 0)
        if found is None or found.digest != row.digest:
            read.findings.append(Finding("signature_damaged", *place, row.digest, _of(about, row)))
            continue
        said = {"clinic": found.clinic, "signs": found.signs, "signer_type": found.signer_type, "signer": found.signer}
        if any(row.columns[c] != value for c, value in said.items()):
            read.findings.append(Finding("column_differs", *place, row.digest, "the signature of " + found.signer))
        read.signatures.append((row, found))


def _of(about: Entry | None, row: RawRow) -> str:
    return f"{row.columns['signer']} over {_words(about) if about else row.columns['signs'][:12]}"


def _keys(entries: Iterable[Entry]) -> Keys:
    """Chains that found a clinic are believed: servers, and a tablet without one."""
    entries = list(entries)
    founders = {e.tablet for e in entries if e.kind == "clinic" or is_server_chain(e.tablet)}
    return Keys(servers=frozenset(founders)).with_entries(entries)


def _signatures(read: _Read, keys: Keys) -> None:
    for row, found in read.signatures:
        entry = read.entries.get(found.signs)
        code = trouble_with(found, entry, found.clinic, keys)
        if code:
            place = (entry.clinic, entry.tablet, entry.number) if entry else (found.clinic, "", 0)
            read.findings.append(Finding(code, *place, row.digest, _of(entry, row)))


def _heads(read: _Read, is_server: bool) -> int:
    """Every entry leads up to a signed head; on a tablet its own unsent ones not yet."""
    signed = {s.signs for _, s in read.signatures if s.meaning == CHAIN_HEAD}
    if not signed and not is_server:
        return len(read.entries)
    covered: set[str] = set()
    for head in signed:
        at = head
        while at in read.entries and at not in covered:
            covered.add(at)
            at = read.entries[at].previous
    bare = [e for e in read.entries.values() if e.digest not in covered]
    if is_server:
        named = {(f.clinic, f.tablet) for f in read.findings}  # beside these it would be an echo
        bare = [e for e in bare if (e.clinic, e.tablet) not in named]
        first = min(bare, key=lambda e: (e.clinic, e.tablet, e.number), default=None)
        if first is not None:
            read.findings.append(Finding(
                "chain_head_not_signed", first.clinic, first.tablet, first.number, first.digest, _words(first)
            ))
        return 0
    return len(bare)


def _numbers(
    read: _Read, entries: Sequence[RawRow], signatures: Sequence[RawRow], last: Mapping[str, int]
) -> None:
    """A server gave each number of a clinic's sequence once, from 1 on without a hole."""
    given: dict[str, list[int]] = defaultdict(list)
    for row in (*entries, *signatures):
        given[row.columns["clinic"]].append(row.sequence or 0)
    for clinic in sorted({*given, *last}):
        wanted = set(range(1, last.get(clinic, 0) + 1))
        found = given.get(clinic, [])
        if set(found) != wanted or len(found) != len(wanted):
            hole = min(wanted ^ set(found), default=0) or min(n for n in found if found.count(n) > 1)
            read.findings.append(Finding("sequence_hole", clinic, "", hole))


def _said(rows: Sequence[RawRow], digest: str) -> str:
    row = next((r for r in rows if r.digest == digest), None)
    entry = _entry(row) if row else None
    return _words(entry) if entry else ""


def _words(entry: Entry) -> str:
    return f"{entry.kind.replace('_', ' ')}, recorded by {entry.recorded_by} at {moment_words(entry.recorded_at)}"
