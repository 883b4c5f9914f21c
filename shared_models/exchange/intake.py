"""Judging a batch before anything of it is stored.  Pure.

All or nothing: one refused entry refuses the whole batch, with a reason for
each.  What is known already is passed over, so the same batch may come any
number of times, in pieces, by way of a hub.  A number with two digests (a
cloned or restored tablet) is not refused: both are kept and it is reported.
Kinds that this program does not know are taken unharmed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Collection, Mapping, Protocol

from shared_models.entries.envelope import BadEnvelope, Entry, entry_read
from shared_models.entries.signatures import Signature
from shared_models.exchange.batch import Batch
from shared_models.exchange.keys import Keys
from shared_models.exchange.practice import is_practice
from shared_models.exchange.signing_rules import check_signatures


class Known(Protocol):
    """What the receiving store knows; ``ledger.store.EntryStore`` fits."""

    def chain_end(self, clinic: str, tablet: str) -> tuple[int, str]:
        """Return number and digest of a chain's last entry; (0, "") if none."""

    def numbers(
        self, clinic: str, tablet: str, first: int, last: int
    ) -> Mapping[int, frozenset[str]]:
        """Return the digests known for each number of a stretch of a chain."""

    def by_digest(self, digest: str) -> Entry | None:
        """Return a known entry."""

    def known_signatures(self, digests: Collection[str]) -> set[str]:
        """Return which of these signature digests are known."""


@dataclass(frozen=True)
class Reason:
    """Why one item is refused; ``place`` is ``entries/3`` or ``signatures/0``."""

    place: str
    digest: str
    code: str
    figures: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Fork:
    """A number of a chain with more than one digest."""

    tablet: str
    number: int
    digests: tuple[str, ...]


@dataclass(frozen=True)
class Refused:
    """The batch is refused whole."""

    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class Accepted:
    """What is to be stored, in chain order; ``repeated`` was known already."""

    new_entries: tuple[Entry, ...]
    new_signatures: tuple[Signature, ...]
    repeated: tuple[str, ...]
    forks: tuple[Fork, ...]


def check_batch(batch: Batch, known: Known, keys: Keys) -> Accepted | Refused:
    """Judge a batch against what is known and which keys are enrolled."""
    entries, reasons = _formed(batch)
    by_digest = {entry.digest: entry for entry in entries.values()}
    new: list[Entry] = []
    repeated: list[str] = []
    forks: list[Fork] = []
    for tablet in sorted({entry.tablet for entry in by_digest.values()}):
        chain = sorted(
            (entry for entry in by_digest.values() if entry.tablet == tablet),
            key=lambda entry: (entry.number, entry.digest),
        )
        numbers = known.numbers(
            batch.clinic, tablet, chain[0].number - 1, chain[-1].number
        )
        fresh = [
            entry for entry in chain
            if entry.digest not in numbers.get(entry.number, frozenset())
        ]
        unknown = {entry.digest for entry in fresh}
        new.extend(fresh)
        repeated.extend(
            entry.digest for entry in chain if entry.digest not in unknown
        )
        reasons.extend(_gaps(batch, entries, fresh, numbers, known))
        forks.extend(_forks(tablet, chain, fresh, numbers))
    # Beside a refused entry, heads left uncovered would only be its echo.
    to_cover = () if reasons else new
    found = check_signatures(
        batch, by_digest, to_cover, known, keys.with_entries(by_digest.values())
    )
    reasons.extend(
        Reason(place, digest, code, figures)
        for place, digest, code, figures in found.troubles
    )
    if reasons:
        return Refused(tuple(reasons))
    return Accepted(tuple(new), found.new, tuple(repeated), tuple(forks))


def _formed(batch: Batch) -> tuple[dict[int, Entry], list[Reason]]:
    """Read every envelope; return the sound ones by place, and the reasons."""
    entries: dict[int, Entry] = {}
    reasons: list[Reason] = []
    for place, (digest, envelope) in enumerate(batch.entries):
        where = f"entries/{place}"
        try:
            entry = entry_read(envelope)
        except BadEnvelope as error:
            reasons.append(Reason(
                where, digest, "envelope_" + error.code, {"field": error.place}
            ))
            continue
        if entry.digest != digest:
            reasons.append(Reason(
                where, digest, "digest_differs", {"found": entry.digest}
            ))
        elif is_practice(entry.clinic):
            reasons.append(Reason(where, entry.digest, "practice_entry"))
        elif entry.clinic != batch.clinic:
            reasons.append(Reason(
                where, digest, "other_clinic",
                {"entry": entry.clinic, "batch": batch.clinic},
            ))
        else:
            entries[place] = entry
    return entries, reasons


def _gaps(
    batch: Batch, entries: Mapping[int, Entry], fresh: list[Entry],
    numbers: Mapping[int, frozenset[str]], known: Known,
) -> list[Reason]:
    """Each new entry follows one that is known or comes with it."""
    with_it = {(entry.number, entry.digest) for entry in fresh}
    stated = {digest for digest, _ in batch.entries}
    places = {entry.digest: place for place, entry in entries.items()}
    reasons = []
    for entry in fresh:
        before = entry.number - 1
        if (
            before == 0
            or entry.previous in numbers.get(before, frozenset())
            or (before, entry.previous) in with_it
        ):
            continue
        where = f"entries/{places[entry.digest]}"
        if entry.previous in stated:
            reasons.append(Reason(where, entry.digest, "follows_refused_entry"))
            continue
        number, digest = known.chain_end(batch.clinic, entry.tablet)
        reasons.append(Reason(where, entry.digest, "chain_gap", {
            "tablet": entry.tablet, "number": entry.number,
            "known_number": number, "known_digest": digest,
        }))
    return reasons


def _forks(
    tablet: str, chain: list[Entry], fresh: list[Entry],
    numbers: Mapping[int, frozenset[str]],
) -> list[Fork]:
    """Numbers at which a new entry stands beside another one."""
    digests: dict[int, set[str]] = {
        number: set(found) for number, found in numbers.items()
    }
    for entry in chain:
        digests.setdefault(entry.number, set()).add(entry.digest)
    return [
        Fork(tablet, number, tuple(sorted(digests[number])))
        for number in sorted({entry.number for entry in fresh})
        if len(digests[number]) > 1
    ]
