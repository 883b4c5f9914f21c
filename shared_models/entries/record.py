"""The record: entries and signatures taken in, in any order, and read as slots.

`Record` is the fold.  It only adds; what it shows depends on the set of what
was added, never on the order.  Tablet, server, page and papers use this one.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Iterable, Mapping

from shared_models.catalogue.edition import Edition, UnknownEdition, load_edition
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import Signature
from shared_models.entries.slots import WITHDRAWN, Slot


class Record:
    """Everything known of some clinics, folded by subject and slot."""

    def __init__(self) -> None:
        self.entries: dict[str, Entry] = {}
        self.signatures: dict[str, Signature] = {}
        self._slots: dict[Subject, dict[str, Slot]] = defaultdict(dict)
        self._waiting: dict[str, list[Entry]] = defaultdict(list)
        self._place: dict[str, tuple[Subject, str]] = {}
        self._signed: dict[str, dict[str, Signature]] = defaultdict(dict)
        self._needs_newer: dict[Subject, dict[str, Entry]] = defaultdict(dict)
        self._by_type: dict[str, set[str]] = defaultdict(set)

    def add(
        self, entries: Iterable[Entry] = (), signatures: Iterable[Signature] = ()
    ) -> None:
        """Take in entries and signatures; known ones change nothing."""
        for entry in entries:
            if entry.digest not in self.entries:
                self.entries[entry.digest] = entry
                self._by_type[entry.subject.type].add(entry.subject.id)
                self._settle(entry)
        for signature in signatures:
            self.signatures[signature.digest] = signature
            self._signed[signature.signs][signature.digest] = signature

    def _settle(self, entry: Entry) -> None:
        slot_name = self._slot_name(entry)
        if slot_name is None:
            return
        if slot_name == "":
            for digest in entry.replaces:
                self._waiting[digest].append(entry)
            return
        self._put(entry, slot_name)

    def _put(self, entry: Entry, slot_name: str) -> None:
        slots = self._slots[entry.subject]
        slots.setdefault(slot_name, Slot(slot_name)).add(entry)
        self._place[entry.digest] = (entry.subject, slot_name)
        for withdrawal in self._waiting.pop(entry.digest, []):
            if withdrawal.subject == entry.subject and withdrawal.digest not in self._place:
                self._put(withdrawal, slot_name)

    def _slot_name(self, entry: Entry) -> str | None:
        """The entry's slot; "" while a withdrawal waits; None when unknown."""
        if entry.kind == WITHDRAWN:
            places = [self._place.get(d) for d in entry.replaces]
            for place in places:
                if place and place[0] == entry.subject:
                    return place[1]
            return ""
        edition = edition_of(entry)
        kind = edition.kinds.get(entry.kind) if edition else None
        if kind is None or entry.kind_version > kind.version:
            self._needs_newer[entry.subject][entry.digest] = entry
            return None
        return kind.slot_of(entry.body)

    def slots(self, subject: Subject) -> Mapping[str, Slot]:
        """Return the slots of a subject that hold anything."""
        return self._slots.get(subject, {})

    def slot(self, subject: Subject, name: str) -> Slot:
        """Return one slot of a subject; an empty one when nothing is there."""
        return self._slots.get(subject, {}).get(name) or Slot(name)

    def head(self, subject: Subject, name: str) -> Entry | None:
        """Return what holds a slot, None when nothing does or it is disputed."""
        heads = self.slot(subject, name).heads()
        return heads[0] if len(heads) == 1 else None

    def place_of(self, digest: str) -> tuple[Subject, str] | None:
        """Return subject and slot of a known entry."""
        return self._place.get(digest)

    def needs_newer(self, subject: Subject) -> list[Entry]:
        """Entries kept of a kind or version that this program does not know."""
        found = self._needs_newer.get(subject, {}).values()
        return sorted(found, key=lambda e: e.order)

    def subjects(self, type_: str) -> list[str]:
        """Return the ids of all subjects of one type, sorted."""
        return sorted(self._by_type[type_])

    def signatures_over(self, digest: str) -> list[Signature]:
        """Return the signatures over one entry, in a fixed order."""
        found = self._signed.get(digest, {}).values()
        return sorted(found, key=lambda s: (s.signed_at, s.digest))

    def staff_keys(self, staff: str) -> set[str]:
        """Return the public keys under a member of staff, on any tablet."""
        subject = Subject("staff", staff)
        keys = set()
        for name, slot in self.slots(subject).items():
            if name.startswith("key/"):
                keys |= {str(e.body.get("public_key")) for e in slot.entries.values()}
        return keys

    def staff_body(self, staff: str) -> Mapping[str, object]:
        """Return name and roles of a member of staff; {} when not known."""
        head = self.head(Subject("staff", staff), "staff")
        return head.body if head else {}

    def name_of(self, staff: str) -> str:
        """Return the printed name of a member of staff, or the bare id."""
        return str(self.staff_body(staff).get("name", staff))

    def has_signed(self, entry: Entry, meaning: str) -> Signature | None:
        """Return a valid signature of the entry's own author in that sense."""
        keys = self.staff_keys(entry.recorded_by)
        for signature in self.signatures_over(entry.digest):
            if (
                signature.signer_type == "staff"
                and signature.signer == entry.recorded_by
                and signature.meaning == meaning
                and signature.clinic == entry.clinic
                and signature.key in keys
                and signature.is_valid()
            ):
                return signature
        return None


def edition_of(entry: Entry) -> Edition | None:
    """Return the edition an entry was made under; None when not known here."""
    try:
        return load_edition(entry.edition)
    except UnknownEdition:
        return None
