"""Accepting a fitting or returning it: an entry on the server's own chain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from shared_models.checks.deciding import ACCEPTED, RETURNED, DecisionRefusal, refuse_decision
from shared_models.checks.verdict import Verdict, judge
from shared_models.entries.canonical import digest_of
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.entries.signatures import Signature, sign
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.held_attachments import lacking_of
from shared_models.ledger.server_folding import ClinicReading
from shared_models.quantities.refusals import Refusal
from shared_models.wording.course_lines import stamp
from sync_server.services.signing_in import Door, Reviewer, SessionRefusal
from sync_server.services.station import Station

KIND, MEANING = "review_decision", "decides"
#: The longest remark at one step (characters); a longer one is refused, never cut.
LONGEST_REMARK = 4000


@dataclass(frozen=True)
class Decision:
    """What the form says: ``seen`` names what the page showed; remarks by step."""

    decision: str
    remarks: Mapping[str, str]
    seen: str
    password: str

    @property
    def said(self) -> dict[str, str]:
        """The remarks that say anything."""
        # Browsers send a line's end as two characters and count it as one.
        return {
            step: text.strip().replace("\r\n", "\n") for step, text in self.remarks.items() if text.strip()
        }

    @property
    def too_long(self) -> dict[str, int]:
        """By how many characters each remark is longer than one may be."""
        return {
            step: len(text) - LONGEST_REMARK for step, text in self.said.items() if len(text) > LONGEST_REMARK
        }


def seen_mark(view: FittingView, verdict: Verdict) -> str:
    """Return one text for all that a page showed: verdict, entries, signatures."""
    entries = sorted(e.digest for e in view.entries())
    identity = sorted(view.slot("identity").entries)
    signatures = sorted(
        s.digest for digest in entries for s in view.record.signatures_over(digest)
    )
    return digest_of({
        "verdict": verdict.digest, "entries": entries, "identity": identity,
        "signatures": signatures,
    })


def decide(
    station: Station, door: Door, reviewer: Reviewer, fitting: str, asked: Decision,
    from_where: str,
) -> Entry:
    """Record and sign a decision.

    Refused: as ``refuse_decision``; ``changed_since_seen`` when the page is no
    longer what it showed, ``accepted_meanwhile`` or ``returned_meanwhile`` (figures
    ``who``, ``when``) when that is because somebody decided; ``remark_too_long``;
    ``password_wrong_for_decision``; ``not_found``.
    """
    account = reviewer.account
    try:
        key = door.unlock_again(reviewer, asked.password, from_where)
        with station.writing(account.clinic) as reading:
            view = reading.view(fitting)
            if view is None:
                raise SessionRefusal("not_found")
            verdict = judge(view, station.today(), lacking_of(reading.connection, view, account.clinic))
            if seen_mark(view, verdict) != asked.seen:
                raise _changed_since_seen(view, verdict)
            _refuse_long_remarks(asked)
            refuse_decision(view, verdict, account.staff_id, asked.decision, asked.said)
            entry = _entry(station, reading, view, reviewer, asked)
            signatures = [station.sign_head(entry), _signature(key, reviewer, entry)]
            station.keep(reading, [entry], signatures)
            station.audit.note([_row(reviewer, fitting, asked.decision, from_where)],
                               within=reading.connection)
        return entry
    except Refusal as refusal:
        outcome = f"refused: {refusal.code}"
        station.audit.note([_row(reviewer, fitting, outcome, from_where)])
        raise


def _changed_since_seen(view: FittingView, verdict: Verdict) -> DecisionRefusal:
    """What to tell somebody whose page is out of date: who decided and when, where that is what changed."""
    if verdict.review not in (ACCEPTED, RETURNED) or verdict.changed_since_review:
        return DecisionRefusal("changed_since_seen")
    latest = max(view.heads("review"), key=lambda e: e.recorded_at)
    told = {"who": view.record.name_of(latest.recorded_by), "when": stamp(latest.recorded_at)}
    if verdict.review == ACCEPTED:
        return DecisionRefusal("accepted_meanwhile", **told)
    return DecisionRefusal("returned_meanwhile", **told)


def _refuse_long_remarks(asked: Decision) -> None:
    if asked.too_long:
        raise DecisionRefusal("remark_too_long", over=max(asked.too_long.values()), longest=LONGEST_REMARK)


def _entry(
    station: Station, reading: ClinicReading, view: FittingView, reviewer: Reviewer,
    asked: Decision,
) -> Entry:
    remarks = [{"step": step, "text": text} for step, text in asked.said.items()]
    author = station.author(reading, view.record)
    return author.record_fact(
        KIND, view.subject, {"decision": asked.decision, "remarks": remarks},
        reviewer.account.staff_id, settles=len(view.heads("review")) > 1,
    )


def _signature(key: Ed25519PrivateKey, reviewer: Reviewer, entry: Entry) -> Signature:
    return sign(
        key, clinic=entry.clinic, signs=entry.digest, signer_type="staff",
        signer=entry.recorded_by, printed_name=reviewer.name, meaning=MEANING,
        signed_at=entry.recorded_at,
    )


def _row(reviewer: Reviewer, fitting: str, outcome: str, from_where: str) -> AuditRow:
    account = reviewer.account
    return AuditRow(account.login, "decide", account.clinic, f"fitting/{fitting}", outcome, from_where)
