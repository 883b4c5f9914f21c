"""The lead clinician's page of tablets, people, their keys, and what is held back."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.record import Record
from shared_models.entries.signatures import sign
from shared_models.entries.vouching import (
    VOUCHES,
    has_ended,
    is_copied,
    is_revoked,
    is_server_chain,
    key_mark,
)
from shared_models.language import spoken
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.holding import HeldItem, HeldOf, Holding
from shared_models.quantities.refusals import Refusal
from shared_models.wording.course_lines import stamp
from sync_server.services.roles import RoleChoice, RolesBefore, role_choices, roles_before, roles_words, seen_roles, staff_heads
from sync_server.services.signing_in import Door, Reviewer
from sync_server.services.station import Station

#: How many held entries of one are listed by themselves.
LISTED = 200


class PeopleRefusal(Refusal):
    """Nothing was changed: ``key_not_waiting``, ``staff_unknown``, ``tablet_unknown``."""


@dataclass(frozen=True)
class TabletLine:
    """One tablet: how far its record is here, and what is wrong with it."""

    tablet: str
    entries: int
    for_whom: str
    revoked: str
    is_revoked: bool
    copied: bool


@dataclass(frozen=True)
class PersonLine:
    """One member of staff; ``seen`` names what the staff list said when the page was made."""

    staff: str
    name: str
    roles: str
    ended: str
    has_ended: bool
    can_be_ended: bool
    choices: tuple[RoleChoice, ...]
    before: tuple[RolesBefore, ...]
    seen: str


@dataclass(frozen=True)
class KeyLine:
    """A key that nobody has vouched for."""

    digest: str
    name: str
    tablet: str
    mark: str
    time: str


@dataclass(frozen=True)
class HeldLine:
    """One entry or signature that is held back."""

    digest: str
    words: str
    name: str
    time: str
    left: bool


@dataclass(frozen=True)
class HeldGroup:
    """Everything held back of one tablet or person."""

    about: str
    words: str
    count: int
    by: str
    brought_by: str
    held_at: str
    left: bool
    reason: str
    lines: tuple[HeldLine, ...]


@dataclass(frozen=True)
class PeoplePage:
    """What the page shows."""

    tablets: tuple[TabletLine, ...]
    people: tuple[PersonLine, ...]
    keys: tuple[KeyLine, ...]
    held: tuple[HeldGroup, ...]


def people_page(station: Station, reviewer: Reviewer, from_where: str) -> PeoplePage:
    """Return the page; note that it was looked at."""
    clinic = reviewer.account.clinic
    with station.reading(clinic) as reading:
        record = reading.staff_record()
        holding = Holding(reading.connection, clinic)
        held = tuple(_held(record, g, holding.first_of(g, LISTED)) for g in holding.groups())
        ends = {t: reading.chain_end(t)[0] for t in record.subjects("tablet")}
    copied = {t for t in ends if is_copied(record, t)}
    station.audit.note([AuditRow(
        reviewer.account.login, "people", clinic, "", "shown", from_where
    )])
    return PeoplePage(
        tuple(_tablet(record, t, ends[t], t in copied) for t in sorted(ends) if not is_server_chain(t)),
        tuple(_person(record, s, reviewer) for s in record.subjects("staff") if staff_heads(record, s)),
        tuple(_key(record, e) for e in record.vouched.without),
        held,
    )


def waiting_for_lead(station: Station, clinic: str) -> int:
    """Return how much waits on that page: held items, keys, copied tablets."""
    with station.reading(clinic) as reading:
        record = reading.staff_record()
        held = sum(Holding(reading.connection, clinic).waiting().values())
    copied = sum(1 for t in record.subjects("tablet") if is_copied(record, t))
    return len(record.vouched.without) + held + copied


def vouch_on_page(
    station: Station, door: Door, reviewer: Reviewer, digest: str, password: str, from_where: str
) -> None:
    """Record and sign, as lead clinician, that a waiting key is right.

    Refused: ``password_wrong_for_decision``, ``key_not_waiting``.
    """
    key = door.unlock_again(reviewer, password, from_where)
    account = reviewer.account
    with station.writing(account.clinic) as reading:
        waiting = reading.staff_record().vouched.without
        found = next((e for e in waiting if e.digest == digest), None)
        if found is None:
            raise PeopleRefusal("key_not_waiting")
        body = {"tablet": str(found.body["tablet"]), "public_key": str(found.body["public_key"])}
        made = station.record_facts(
            reading, [("key_vouched", found.subject, body)], by=account.staff_id
        )
        signature = sign(
            key, clinic=account.clinic, signs=made[0].digest, signer_type="staff",
            signer=account.staff_id, printed_name=reviewer.name, meaning=VOUCHES,
            signed_at=made[0].recorded_at,
        )
        station.keep(reading, [], [signature], fold=False)
        station.fold(reading, made, [signature])  # only now does the key count
        station.audit.note([AuditRow(
            account.login, "vouch", account.clinic, f"staff/{found.subject.id}", "done", from_where
        )], within=reading.connection)


def note_act(station: Station, reviewer: Reviewer, act: str, about: str, outcome: str, from_where: str) -> None:
    """Note what a lead clinician did on the page, or what was refused."""
    account = reviewer.account
    station.audit.note([AuditRow(account.login, act, account.clinic, about, outcome, from_where)])


def known_tablet(station: Station, clinic: str, tablet: str) -> str:
    """Return the id of a tablet of the clinic; refused ``tablet_unknown``."""
    with station.reading(clinic) as reading:
        known = reading.staff_record().subjects("tablet")
    if tablet not in known or is_server_chain(tablet):
        raise PeopleRefusal("tablet_unknown")
    return tablet


def known_person(station: Station, clinic: str, staff: str) -> str:
    """Return the id of a member of the clinic's staff; refused ``staff_unknown``."""
    with station.reading(clinic) as reading:
        if not staff_heads(reading.staff_record(), staff):
            raise PeopleRefusal("staff_unknown")
    return staff


def _tablet(record: Record, tablet: str, entries: int, copied: bool) -> TabletLine:
    slot = record.slot(Subject("tablet", tablet), "tablet")
    heads = slot.heads()
    body = heads[0].body if heads else {}
    people = {str(p) for e in slot.entries.values() for p in e.body.get("code_for") or ()}
    return TabletLine(
        tablet, entries, ", ".join(sorted(record.name_of(p) for p in people)) or spoken("nobody by name"),
        str(body.get("reason", "")), is_revoked(record, tablet), copied,
    )


def _person(record: Record, staff: str, reviewer: Reviewer) -> PersonLine:
    heads = staff_heads(record, staff)
    body = heads[0].body if heads else {}
    head = record.head(Subject("staff", staff), "access")
    return PersonLine(
        staff, str(body.get("name", staff)),
        roles_words(body) if len(heads) == 1 else spoken("changed apart by two servers: none counts until you choose"),
        str(head.body.get("reason", "")) if head else "", has_ended(record, staff),
        staff != reviewer.account.staff_id,
        role_choices(record, staff), roles_before(record, staff), seen_roles(record, staff),
    )


def _key(record: Record, entry: Entry) -> KeyLine:
    return KeyLine(
        entry.digest, record.name_of(entry.subject.id), str(entry.body.get("tablet", entry.tablet)),
        key_mark(str(entry.body.get("public_key", ""))), stamp(entry.recorded_at),
    )


def _held(record: Record, group: HeldOf, shown: list[HeldItem]) -> HeldGroup:
    by: Counter[str] = Counter()
    for who, count in group.by.items():
        by[record.name_of(who)] += count
    person = bool(record.staff_body(group.about))
    return HeldGroup(
        group.about, record.name_of(group.about) if person else spoken("tablet {about}", about=group.about), group.count,
        ", ".join(f"{name} ({count})" for name, count in sorted(by.items())),
        ", ".join(group.brought_by), stamp(group.held_at), group.left, group.reason,
        tuple(_held_line(record, i) for i in shown),
    )


def _held_line(record: Record, item: HeldItem) -> HeldLine:
    if isinstance(item.item, Entry):
        kind = record.kind_of(item.item)
        title = kind.title if kind else item.item.kind
        words = f"{item.number}: {title}"
        time = item.item.recorded_at
    else:
        words, time = spoken("signature, {replace}", replace=item.item.meaning.replace('_', ' ')), item.item.signed_at
    return HeldLine(item.digest, words, record.name_of(item.who), stamp(time), bool(item.decision))
