"""The record: entries and signatures taken in, in any order, and read as slots.

`Record` is the fold.  It only adds; what it shows depends on the set of what
was added, never on the order.  Tablet, server, page and papers use this one.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Collection, Iterable, Mapping

from shared_models.catalogue.edition import Edition, Kind, UnknownEdition, load_edition
from shared_models.catalogue.sheets import Sheet
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.signatures import Signature
from shared_models.entries.slots import WITHDRAWN, Slot
from shared_models.entries.vouching import Vouched, vouched

#: Subjects whose slots an entry of an unknown kind may come to hold.  Staff and
#: keys are left out: nothing unread may change who may sign.
_FOLLOWED = ("fitting", "person")
#: Subjects that say whose keys count.
KEEPERS = ("staff", "clinic", "tablet")


class Record:
    """Everything known of some clinics, folded by subject and slot."""

    def __init__(self) -> None:
        self.entries: dict[str, Entry] = {}
        self.signatures: dict[str, Signature] = {}
        self._slots: dict[Subject, dict[str, Slot]] = defaultdict(dict)
        self._followers: dict[str, list[Entry]] = defaultdict(list)
        self._places: dict[str, set[str]] = defaultdict(set)
        self._signed: dict[str, dict[str, Signature]] = defaultdict(dict)
        self._needs_newer: dict[Subject, dict[str, Entry]] = defaultdict(dict)
        self._by_type: dict[str, set[str]] = defaultdict(set)
        self._vouched: Vouched | None = None
        #: Of which members of staff name, roles or keys were asked: what was judged rests on these.
        self.staff_asked: set[str] = set()
        #: Component sheets as read, by digest: views are made anew, sheets never change.
        self.sheets_read: dict[str, Sheet | None] = {}

    def add(
        self, entries: Iterable[Entry] = (), signatures: Iterable[Signature] = ()
    ) -> None:
        """Take in entries and signatures; known ones change nothing."""
        for entry in entries:
            if entry.digest not in self.entries:
                self.entries[entry.digest] = entry
                self._by_type[entry.subject.type].add(entry.subject.id)
                if entry.subject.type in KEEPERS:
                    self._vouched = None
                self._settle(entry)
        for signature in signatures:
            self.signatures[signature.digest] = signature
            self._signed[signature.signs][signature.digest] = signature
            signed = self.entries.get(signature.signs)
            if signed is None or signed.subject.type in KEEPERS:
                self._vouched = None

    def forget(self, subject: Subject) -> None:
        """Put what is known of a subject out of memory; taking it in again brings it back."""
        gone = {d: e for d, e in self.entries.items() if e.subject == subject}
        for digest, entry in gone.items():
            del self.entries[digest]
            self._places.pop(digest, None)
            self._followers.pop(digest, None)
            for signature in self._signed.pop(digest, {}):
                self.signatures.pop(signature, None)
            for replaced in entry.replaces:
                left = [f for f in self._followers.get(replaced, ()) if f.digest != digest]
                if left:
                    self._followers[replaced] = left
                else:
                    self._followers.pop(replaced, None)
        self._slots.pop(subject, None)
        self._needs_newer.pop(subject, None)
        self._by_type[subject.type].discard(subject.id)

    def _settle(self, entry: Entry) -> None:
        kind = self.kind_of(entry)
        if kind is not None:
            self._put(entry, kind.slot_of(entry.body))
            return
        if entry.kind != WITHDRAWN:
            self._needs_newer[entry.subject][entry.digest] = entry
            if entry.subject.type not in _FOLLOWED:
                return
        # A withdrawal, or a fact of a kind not known here, has no slot of its
        # own: it stands wherever what it replaces stands, whichever came first.
        for digest in entry.replaces:
            self._followers[digest].append(entry)
            replaced = self.entries.get(digest)
            if replaced is not None and replaced.subject == entry.subject:
                for slot_name in sorted(self._places[digest]):
                    self._put(entry, slot_name)

    def _put(self, entry: Entry, slot_name: str) -> None:
        slots = self._slots[entry.subject]
        slot = slots.setdefault(slot_name, Slot(slot_name))
        queue = [entry]
        while queue:
            newest = queue.pop()
            if newest.digest in slot.entries:
                continue
            slot.add(newest)
            self._places[newest.digest].add(slot_name)
            followers = self._followers.get(newest.digest, ())
            queue += [f for f in followers if f.subject == entry.subject]

    def kind_of(self, entry: Entry) -> Kind | None:
        """Return the kind of an entry; None when this program does not know it."""
        edition = edition_of(entry)
        kind = edition.kinds.get(entry.kind) if edition else None
        return None if kind is None or entry.kind_version > kind.version else kind

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
        places = self._places.get(digest)
        return (self.entries[digest].subject, min(places)) if places else None

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
        """Return the public keys recorded under a member of staff, vouched for or not."""
        subject = Subject("staff", staff)
        keys = set()
        for name, slot in self.slots(subject).items():
            if name.startswith("key/"):
                gone = slot.withdrawn()
                keys |= {
                    str(e.body.get("public_key")) for e in slot.entries.values()
                    if e.kind == "staff_key" and e.digest not in gone
                }
        return keys

    @property
    def vouched(self) -> Vouched:
        """Which keys count, and which wait for somebody to vouch: see ``vouching``."""
        if self._vouched is None:
            asked = set(self.staff_asked)
            self._vouched = vouched(self)
            self.staff_asked = asked  # who vouched for whom is followed when it changes: ``ledger.touching``
        return self._vouched

    def staff_body(self, staff: str) -> Mapping[str, object]:
        """Return name and roles of a member of staff; {} when not known."""
        self.staff_asked.add(staff)
        head = self.head(Subject("staff", staff), "staff")
        return head.body if head else {}

    def name_of(self, staff: str) -> str:
        """Return the printed name of a member of staff, or the bare id."""
        return str(self.staff_body(staff).get("name", staff))

    def has_signed(self, entry: Entry, meaning: str) -> Signature | None:
        """Return a valid signature of the entry's own author in that sense, by a key that counts."""
        self.staff_asked.add(entry.recorded_by)
        return self._signed_by_one_of(entry, meaning, self.vouched.of(entry.recorded_by))

    def has_signed_unvouched(self, entry: Entry, meaning: str) -> Signature | None:
        """Return a signature like that whose key is recorded but waits for a voucher."""
        keys = self.staff_keys(entry.recorded_by) - self.vouched.of(entry.recorded_by)
        return self._signed_by_one_of(entry, meaning, keys)

    def _signed_by_one_of(self, entry: Entry, meaning: str, keys: Collection[str]) -> Signature | None:
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
