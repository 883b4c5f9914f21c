"""The roles of a member of staff: what the page shows of them, and a lead clinician's change of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from shared_models.catalogue.edition import load_edition
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.record import Record
from shared_models.entries.roles import KNOWN_TO, roles_in
from shared_models.entries.signatures import sign
from shared_models.entries.vouching import LEAD, has_ended, is_lead
from shared_models.language import spoken
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.server_folding import ClinicReading
from shared_models.quantities.refusals import Refusal
from shared_models.wording.course_lines import stamp
from sync_server.services.holding import LONGEST_REASON, refuse_former_lead
from sync_server.services.signing_in import Door, Reviewer
from sync_server.services.station import Station

KIND, MEANING = "staff", "changes_roles"
#: Beside which part of the form a refusal is said; the others are said beside the roles.
_BESIDE = {
    "reason_missing": "reason", "remark_too_long": "reason",
    "password_wrong_for_decision": "password", "login_waits": "password", "login_locked": "password",
}


class RolesRefusal(Refusal):
    """No role was changed; the codes are those of ``change_roles``."""


@dataclass(frozen=True)
class RoleChoice:
    """One role that somebody may have, and whether they have it."""

    code: str
    words: str
    held: bool


@dataclass(frozen=True)
class RolesBefore:
    """Roles that somebody had until a change: which, when they ended, who ended them and why."""

    roles: str
    until: str
    by: str
    reason: str


@dataclass(frozen=True)
class RolesAsked:
    """What the form says: whose roles, which they are to be, why, what the page showed, the password."""

    staff: str
    roles: tuple[str, ...]
    reason: str
    seen: str
    password: str


@dataclass(frozen=True)
class RolesRefused:
    """A form that was refused: what was chosen and typed, why, and beside which part that is said."""

    asked: RolesAsked
    said: str
    beside: str


def refused_form(asked: RolesAsked, code: str, said: str) -> RolesRefused:
    """Return what the page shows of a form that was refused."""
    return RolesRefused(asked, said, _BESIDE.get(code, "roles"))


def seen_roles(record: Record, staff: str) -> str:
    """Return one text for what the staff list says of somebody."""
    return "-".join(sorted(e.digest for e in staff_heads(record, staff)))


def role_choices(record: Record, staff: str) -> tuple[RoleChoice, ...]:
    """Return every role there is, and whether somebody has it; where two servers differ, what either says."""
    held = {role for head in staff_heads(record, staff) for role in roles_in(head.body)}
    return tuple(RoleChoice(code, words, code in held) for code, words in load_edition().choices["role"].items())


def roles_words(body: Any) -> str:
    """Return the roles of a body of the staff list in words."""
    edition = load_edition()
    return ", ".join(edition.words("role", role) for role in roles_in(body))


def roles_before(record: Record, staff: str) -> tuple[RolesBefore, ...]:
    """Return the roles that somebody had before, the latest first; nothing of them is ever overwritten."""
    slot = record.slot(Subject("staff", staff), "staff")
    found = []
    for later in slot.entries.values():
        for digest in later.replaces:
            earlier = slot.entries.get(digest)
            if earlier and set(roles_in(earlier.body)) != set(roles_in(later.body)):
                found.append((later, earlier))
    found.sort(key=lambda pair: (pair[0].order, pair[1].order), reverse=True)
    return tuple(
        RolesBefore(
            roles_words(earlier.body), stamp(later.recorded_at),
            str(record.staff_body(later.recorded_by).get("name", "")) or spoken("the clinic's server"),
            str(later.body.get("reason", "")),
        ) for later, earlier in found
    )


def change_roles(station: Station, door: Door, reviewer: Reviewer, asked: RolesAsked, from_where: str) -> Entry:
    """Record and sign, as lead clinician, which roles somebody has from now on.

    The entry replaces what the staff list said, which stays, and says how far
    each chain was known (``entries.roles``).
    Refused: ``staff_unknown``, ``staff_ended``, ``roles_missing``, ``reason_missing``, ``remark_too_long``,
    ``password_wrong_for_decision``; ``role_missing`` to who is no lead any more;
    ``roles_changed_meanwhile`` (figures ``who``, ``when``); ``roles_unchanged``; ``last_lead``.
    """
    _refuse_form(asked)
    account = reviewer.account
    key = door.unlock_again(reviewer, asked.password, from_where)
    may_log_in = {a.staff_id for a in door.accounts.all() if a.clinic == account.clinic and LEAD in a.roles}
    with station.writing(account.clinic) as reading:
        record = reading.staff_record()
        refuse_former_lead(record, account.staff_id)
        _refuse_change(record, asked, may_log_in)
        entry = station.author(reading, record).record_fact(
            KIND, Subject("staff", asked.staff), _body(station, reading, record, asked), account.staff_id, settles=True)
        signed = sign(
            key, clinic=entry.clinic, signs=entry.digest, signer_type="staff", signer=account.staff_id,
            printed_name=reviewer.name, meaning=MEANING, signed_at=entry.recorded_at)
        station.keep(reading, [entry], [station.sign_head(entry), signed])
        station.audit.note([AuditRow(
            account.login, "people: roles", account.clinic, f"staff/{asked.staff}", ", ".join(asked.roles), from_where
        )], within=reading.connection)
    return entry


def _refuse_form(asked: RolesAsked) -> None:
    """Refuse what can't be taken whoever asks."""
    if not asked.roles:
        raise RolesRefusal("roles_missing")
    if not asked.reason:
        raise RolesRefusal("reason_missing")
    if len(asked.reason) > LONGEST_REASON:
        raise RolesRefusal("remark_too_long", over=len(asked.reason) - LONGEST_REASON, longest=LONGEST_REASON)


def _refuse_change(record: Record, asked: RolesAsked, may_log_in: set[str]) -> None:
    heads = staff_heads(record, asked.staff)
    if not heads:
        raise RolesRefusal("staff_unknown")
    if seen_roles(record, asked.staff) != asked.seen:
        latest = max(heads, key=lambda e: e.order)
        who = str(record.staff_body(latest.recorded_by).get("name", "")) or spoken("the clinic's server")
        raise RolesRefusal("roles_changed_meanwhile", who=who, when=stamp(latest.recorded_at))
    if has_ended(record, asked.staff):
        raise RolesRefusal("staff_ended")
    if len(heads) == 1 and set(asked.roles) == set(roles_in(heads[0].body)):
        raise RolesRefusal("roles_unchanged")
    others = may_log_in - {asked.staff}
    if LEAD not in asked.roles and not any(is_lead(record, s) and not has_ended(record, s) for s in others):
        raise RolesRefusal("last_lead")


def _body(station: Station, reading: ClinicReading, record: Record, asked: RolesAsked) -> dict[str, Any]:
    known = {t: str(reading.chain_end(t)[0]) for t in station.entries.chain_tablets(reading.clinic)}
    latest = max(staff_heads(record, asked.staff), key=lambda e: e.order)
    return {**latest.body, "roles": list(asked.roles), "reason": asked.reason, KNOWN_TO: known}


def staff_heads(record: Record, staff: str) -> tuple[Entry, ...]:
    """What the staff list says of somebody; more than one where two servers said it apart."""
    return record.slot(Subject("staff", staff), "staff").heads()
