"""What is held back: brought after an access was taken away, and waiting for the lead.

It lies beside the clinic's sequence, unharmed: nobody pulls it, no verdict sees
it.  Taking it in stores the same bytes in the sequence; leaving it keeps it here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Collection, Iterable, Mapping, Sequence

from sqlalchemy import ColumnElement, Connection, func, insert, select, update

from shared_models.entries.canonical import canonical_bytes, strict_json
from shared_models.entries.envelope import Entry, entry_read
from shared_models.entries.signatures import CHAIN_HEAD, Signature, signature_from
from shared_models.ledger.fingerprints import AT_ONCE
from shared_models.ledger.tables import held
from shared_models.quantities.refusals import Refusal

TAKEN_IN, LEFT = "taken in", "left"
#: What one tablet or person may have waiting here, in entries and bytes.
MOST_ITEMS = 50_000
MOST_BYTES = 256 * 1024 * 1024
_ENTRY, _SIGNATURE = "entry", "signature"


class HoldingRefusal(Refusal):
    """Nothing was held or taken in: ``held_full``, ``held_not_there``, ``held_not_sound``, ``reason_missing``."""


@dataclass(frozen=True)
class HeldItem:
    """One entry or signature that is held back, of whom, and what was decided."""

    item: Entry | Signature
    about: str
    number: int
    who: str
    brought_by: str
    held_at: str
    decision: str = ""
    reason: str = ""

    @property
    def digest(self) -> str:
        """Identity of the entry or signature."""
        return self.item.digest


@dataclass(frozen=True)
class HeldOf:
    """How much is held back of one tablet or person: counted, not read.

    ``count`` and ``by`` (of whom how many) are of the entries, or of the
    signatures where no entry is held; ``reason`` is that of the last decision.
    """

    about: str
    of_entries: bool
    count: int
    by: Mapping[str, int]
    brought_by: tuple[str, ...]
    held_at: str
    left: bool
    reason: str


class Holding:
    """What one clinic holds back, read and written within a transaction."""

    def __init__(self, connection: Connection, clinic: str) -> None:
        self._connection = connection
        self._clinic = clinic

    def hold(
        self, about: Mapping[str, Sequence[Entry | Signature]], brought_by: str, at: str
    ) -> int:
        """Hold items back by what they are of; known ones change nothing; return how many are new."""
        rows = [
            self._row(item, of, brought_by, at) for of, items in about.items() for item in items
        ]
        known = self._known({row["digest"] for row in rows})
        rows = list({row["digest"]: row for row in rows if row["digest"] not in known}.values())
        for of in about:
            self._refuse_full(of, [row for row in rows if row["about"] == of])
        if rows:
            self._connection.execute(insert(held), rows)
        return len(rows)

    def items(self, about: str | None = None, but_decided: bool = False) -> list[HeldItem]:
        """Return what is held back (not yet taken in), by whom and number."""
        undecided = held.c.decision.is_(None) if but_decided else self._here
        wanted = select(held).where(held.c.clinic == self._clinic, undecided).order_by(held.c.about, held.c.number, held.c.digest)
        if about is not None:
            wanted = wanted.where(held.c.about == about)
        return [_item(row) for row in self._connection.execute(wanted)]

    def first_of(self, group: HeldOf, most: int) -> list[HeldItem]:
        """Return the first of what is counted in a group, at most ``most``."""
        sort = _ENTRY if group.of_entries else _SIGNATURE
        return [_item(row) for row in self._connection.execute(
            select(held).where(held.c.clinic == self._clinic, self._here, held.c.about == group.about, held.c.sort == sort)
            .order_by(held.c.number, held.c.digest).limit(most)
        )]

    def groups(self) -> list[HeldOf]:
        """Count what is held back (not yet taken in), by tablet or person."""
        rows: dict[str, list[Any]] = {}
        for row in self._connection.execute(
            select(held.c.about, held.c.sort, held.c.who, held.c.brought_by, func.count().label("items"),
                   func.count(held.c.decision).label("decided"), func.min(held.c.held_at).label("since"))
            .where(held.c.clinic == self._clinic, self._here)
            .group_by(held.c.about, held.c.sort, held.c.who, held.c.brought_by)
        ):
            rows.setdefault(row.about, []).append(row)
        return [self._group(about, rows[about]) for about in sorted(rows)]

    def _group(self, about: str, rows: Sequence[Any]) -> HeldOf:
        entries = [row for row in rows if row.sort == _ENTRY]
        by: dict[str, int] = {}
        for row in entries or rows:
            by[row.who] = by.get(row.who, 0) + row.items
        reason = self._connection.scalar(
            select(held.c.reason).where(
                held.c.clinic == self._clinic, self._here, held.c.about == about, held.c.reason != "")
            .order_by(held.c.decided_at.desc()).limit(1)
        )
        return HeldOf(
            about, bool(entries), sum(by.values()), by, tuple(sorted({row.brought_by for row in rows})),
            min(row.since for row in rows), all(row.decided == row.items for row in rows), reason or "",
        )

    @property
    def _here(self) -> ColumnElement[bool]:
        """Not yet taken in."""
        return func.coalesce(held.c.decision, "") != TAKEN_IN

    def waiting(self) -> dict[str, int]:
        """Return how many items of whom wait for the lead."""
        return {about: count for about, count in self._connection.execute(
            select(held.c.about, func.count()).where(
                held.c.clinic == self._clinic, held.c.decision.is_(None)
            ).group_by(held.c.about).order_by(held.c.about)
        )}

    def decide(
        self, digests: Collection[str], decision: str, by: str, reason: str, at: str
    ) -> None:
        """Note what was decided of some items."""
        asked = sorted(digests)
        for start in range(0, len(asked), AT_ONCE):
            self._connection.execute(
                update(held).where(
                    held.c.clinic == self._clinic, held.c.digest.in_(asked[start:start + AT_ONCE])
                ).values(decision=decision, decided_by=by, reason=reason, decided_at=at)
            )

    def _row(self, item: Entry | Signature, about: str, brought_by: str, at: str) -> dict[str, Any]:
        of_entry = isinstance(item, Entry)
        content = item.plaintext() if isinstance(item, Entry) else canonical_bytes(item.as_record())
        return {
            "digest": item.digest, "clinic": self._clinic, "about": about,
            "sort": _ENTRY if of_entry else _SIGNATURE,
            "number": item.number if isinstance(item, Entry) else 0,
            "who": item.recorded_by if isinstance(item, Entry) else item.signer,
            "brought_by": brought_by, "held_at": at, "content": content,
        }

    def _known(self, digests: Collection[str]) -> set[str]:
        asked, found = sorted(digests), set()
        for start in range(0, len(asked), AT_ONCE):
            found.update(self._connection.scalars(
                select(held.c.digest).where(held.c.digest.in_(asked[start:start + AT_ONCE]))
            ))
        return found

    def _refuse_full(self, about: str, rows: Sequence[Mapping[str, Any]]) -> None:
        count, size = self._connection.execute(
            select(func.count(), func.coalesce(func.sum(func.length(held.c.content)), 0))
            .where(held.c.clinic == self._clinic, held.c.about == about)
        ).one()
        if count + len(rows) > MOST_ITEMS or size + sum(len(r["content"]) for r in rows) > MOST_BYTES:
            raise HoldingRefusal("held_full", most=MOST_ITEMS)


class KnownAndHeld:
    """What a server knows of a clinic together with what it holds back, for ``check_batch``."""

    def __init__(self, known: Any, items: Iterable[HeldItem]) -> None:
        self._known = known
        items = list(items)
        self.entries = {i.digest: i.item for i in items if isinstance(i.item, Entry)}
        signatures = [i.item for i in items if isinstance(i.item, Signature)]
        self._signatures = {s.digest for s in signatures}
        #: Entries over which a tablet's signed head is held; one is enough.
        self.heads = {s.signs for s in signatures if s.meaning == CHAIN_HEAD}

    def chain_end(self, clinic: str, tablet: str) -> tuple[int, str]:
        """Return number and digest of a chain's last entry, held ones among them."""
        mine = [(e.number, e.digest) for e in self.entries.values() if e.tablet == tablet]
        end: tuple[int, str] = self._known.chain_end(clinic, tablet)
        return max([end, *mine])

    def numbers(
        self, clinic: str, tablet: str, first: int, last: int
    ) -> Mapping[int, frozenset[str]]:
        """Return the digests for each number of a stretch of a chain."""
        found = {n: set(d) for n, d in self._known.numbers(clinic, tablet, first, last).items()}
        for entry in self.entries.values():
            if entry.tablet == tablet and first <= entry.number <= last:
                found.setdefault(entry.number, set()).add(entry.digest)
        return {number: frozenset(digests) for number, digests in found.items()}

    def by_digest(self, digest: str) -> Entry | None:
        """Return an entry, held or not."""
        found: Entry | None = self.entries.get(digest) or self._known.by_digest(digest)
        return found

    def known_signatures(self, digests: Collection[str]) -> set[str]:
        """Return which of these signatures are here, held or not."""
        known: set[str] = self._known.known_signatures(digests)
        return known | (self._signatures & set(digests))


def _item(row: Any) -> HeldItem:
    record = strict_json(row.content)
    item = entry_read(record) if row.sort == _ENTRY else signature_from(record)
    if item.digest != row.digest:
        raise HoldingRefusal("held_not_sound")
    return HeldItem(
        item, row.about, row.number, row.who, row.brought_by, row.held_at,
        row.decision or "", row.reason or "",
    )
