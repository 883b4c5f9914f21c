"""Composing a new entry: what it replaces, what it rests on, its place in the chain."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Mapping

import uuid6

from shared_models.catalogue.edition import Kind, load_edition
from shared_models.entries.clock import HybridClock
from shared_models.entries.envelope import (
    CORRECTION_CODES,
    FORMAT,
    Entry,
    Subject,
    entry_from,
)
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.entries.slots import WITHDRAWN
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal


@dataclass
class ChainEnd:
    """Where a tablet's chain for one clinic ends: last number and digest."""

    clinic: str
    tablet: str
    number: int = 0
    digest: str = ""


class Author:
    """Makes the entries of one tablet (or server) for one clinic.

    Making an entry does not move the chain: call `accepted` once it is stored,
    so that a failed write leaves no hole.
    """

    def __init__(self, record: Record, end: ChainEnd, clock: HybridClock) -> None:
        self.record = record
        self.end = end
        self.clock = clock

    def accepted(self, entry: Entry) -> None:
        """The entry is durable: the chain now ends with it."""
        self.end.number, self.end.digest = entry.number, entry.digest

    def record_fact(
        self, kind_key: str, subject: Subject, body: Mapping[str, Any], by: str,
        *, happened_at: datetime | None = None, settles: bool = False, note: str = "",
    ) -> Entry:
        """Compose a new fact; it takes the place of what its author sees there.

        Raises Refusal ``settle_first`` when the place is disputed and this is
        not meant to settle it.
        """
        kind = load_edition().kinds[kind_key]
        slot = self.record.slot(subject, kind.slot_of(body))
        leaves, disputed = slot.leaves(), len(slot.heads()) > 1
        if disputed and not settles:
            raise Refusal("settle_first", title=kind.title)
        because = {}
        if leaves:
            code = "settled" if disputed else "changed"
            because = {"code": code, "note": note}
        return self._entry(
            kind, subject, body, by, happened_at,
            replaces=[e.digest for e in leaves], because=because,
            rests_on=self._rests_on(kind, subject, body),
        )

    def correct(
        self, wrong: Entry, body: Mapping[str, Any], by: str, code: str, note: str = "",
        *, happened_at: datetime | None = None,
    ) -> Entry:
        """Compose a correction: it keeps the place, and rests on what ``wrong`` did.

        Raises Refusal ``already_replaced`` when ``wrong`` is not what holds the
        place now, ``other_place`` when the new body belongs elsewhere, and
        ``unknown_reason``.
        """
        kind = load_edition().kinds[wrong.kind]
        if code not in CORRECTION_CODES:
            raise Refusal("unknown_reason", reason=code)
        if kind.slot_of(body) != kind.slot_of(wrong.body):
            raise Refusal("other_place", title=kind.title)
        self._must_be_newest(wrong, kind)
        return self._entry(
            kind, wrong.subject, body, by,
            happened_at, replaces=[wrong.digest], because={"code": code, "note": note},
            rests_on=list(wrong.rests_on), happened_text=wrong.happened_at,
        )

    def withdraw(self, wrong: Entry, by: str, code: str, note: str = "") -> Entry:
        """Compose a withdrawal: what ``wrong`` had replaced holds the place again."""
        kind = load_edition().kinds[wrong.kind]
        if code not in CORRECTION_CODES:
            raise Refusal("unknown_reason", reason=code)
        self._must_be_newest(wrong, kind)
        withdrawal = Kind(key=WITHDRAWN, title="Withdrawn", subject=kind.subject, slot="")
        return self._entry(
            withdrawal, wrong.subject, {"kind": wrong.kind}, by, None,
            replaces=[wrong.digest], because={"code": code, "note": note}, rests_on=[],
        )

    def _must_be_newest(self, wrong: Entry, kind: Kind) -> None:
        slot = self.record.slot(wrong.subject, kind.slot_of(wrong.body))
        replaced = {d for e in slot.entries.values() for d in e.replaces}
        if wrong.digest in replaced:
            raise Refusal("already_replaced", title=kind.title)

    def _rests_on(self, kind: Kind, subject: Subject, body: Mapping[str, Any]) -> list[str]:
        if subject.type != "fitting":
            return []
        view = FittingView(self.record, subject.id)
        named = {
            head.digest
            for slots in view.rests(kind, body) for slot in slots
            for head in view.heads(slot)
        }
        if "@sheet" in kind.made_after and body.get("sheet_digest"):
            named.add(str(body["sheet_digest"]))
        return sorted(named)

    def _entry(
        self, kind: Kind, subject: Subject, body: Mapping[str, Any], by: str,
        happened_at: datetime | None, *, replaces: list[str], because: dict[str, str],
        rests_on: list[str], happened_text: str = "",
    ) -> Entry:
        now = moment_text(now_here())
        happened = moment_text(happened_at) if happened_at else happened_text or now
        return entry_from({
            "format": FORMAT,
            "id": str(uuid6.uuid7()),
            "subject": {"type": subject.type, "id": subject.id},
            "clinic": self.end.clinic,
            "kind": kind.key,
            "kind_version": kind.version,
            "body": dict(body),
            "recorded_by": by,
            "happened_at": happened,
            "recorded_at": now,
            "clock": self.clock.tick(),
            "tablet": self.end.tablet,
            "number": self.end.number + 1,
            "previous": self.end.digest,
            "rests_on": sorted(set(rests_on)),
            "replaces": sorted(set(replaces)),
            "because": because,
            "edition": load_edition().name,
        })
