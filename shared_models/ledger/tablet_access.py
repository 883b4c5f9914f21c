"""One-time enrolment codes and the access tokens of tablets; hashes only."""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any, Sequence

from sqlalchemy import Connection, bindparam, func, insert, select, update

from shared_models.ledger.accounts import hash_of
from shared_models.ledger.engine import Store
from shared_models.ledger.prepared import Prepared
from shared_models.ledger.tables import enrolment_code, tablet_access
from shared_models.quantities.moments import moment_from, moment_text, now_here
from shared_models.quantities.refusals import Refusal

CODE_DAYS = 7
HERE_AT_MOST_EACH = timedelta(hours=1)
#: What a code is for, where it is not for a further tablet of a known clinic: a server
#: in the field; a tablet that founded its clinic without a server.  Such a code with no
#: clinic takes the clinic that is named with it.
HUB, FOUNDER = "hub", "founder"
_GROUPS, _GROUP = 4, 4
#: No letter that reads like a figure.
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"

_OF_TOKEN = Prepared(select(
    tablet_access.c.tablet, tablet_access.c.clinic, tablet_access.c.revoked_at, tablet_access.c.last_here_at,
).where(tablet_access.c.token_hash == bindparam("hash")))


class AccessRefusal(Refusal):
    """A tablet may not come in."""


@dataclass(frozen=True)
class Access:
    """Which tablet comes in, and for which clinic."""

    tablet: str
    clinic: str
    #: Taken away: what it brings is held back for the lead clinician.
    revoked: bool = False


class TabletAccess:
    """The codes and tokens of a server's store."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def new_code(self, clinic: str, tablet_name: str = "", people: Sequence[str] = ()) -> str:
        """Return a fresh one-time code (80 random bits), good for seven days.

        ``people`` are the members of staff whose first keys on the tablet it
        stands behind, see ``entries.vouching``.
        """
        code = new_code_text()
        with self._store.writing() as connection:
            connection.execute(insert(enrolment_code).values(
                code_hash=code_hash(code), clinic=clinic, tablet_name=tablet_name,
                made_at=moment_text(now_here()), used_at=None,
                people=json.dumps(sorted(set(people))) if people else None,
            ))
        return code

    def people_of_code(self, connection: Connection, code: str) -> list[str]:
        """Return for whom a code was issued; [] for nobody by name."""
        told = connection.scalar(
            select(enrolment_code.c.people).where(enrolment_code.c.code_hash == code_hash(code))
        )
        return [str(person) for person in json.loads(told)] if told else []

    def sort_of_code(self, connection: Connection, code: str) -> str:
        """Return what a code is for: ``HUB``, ``FOUNDER``, or a tablet ("")."""
        told = connection.scalar(
            select(enrolment_code.c.tablet_name).where(enrolment_code.c.code_hash == code_hash(code))
        )
        return str(told) if told in (HUB, FOUNDER) else ""

    def clinic_of_code(self, connection: Connection, code: str, now: datetime) -> str:
        """Return the clinic of a code that can still be used.

        Refused: ``code_not_known``, ``code_used``, ``code_expired``.
        """
        row = connection.execute(
            select(enrolment_code).where(enrolment_code.c.code_hash == code_hash(code))
        ).one_or_none()
        if row is None:
            raise AccessRefusal("code_not_known")
        refuse_old_code(row, now)
        return str(row.clinic)

    def use_code(self, connection: Connection, code: str, now: datetime) -> str:
        """Use up a code and return its clinic; refused as ``clinic_of_code``."""
        clinic = self.clinic_of_code(connection, code, now)
        used = connection.execute(
            update(enrolment_code)
            .where(enrolment_code.c.code_hash == code_hash(code))
            .where(enrolment_code.c.used_at.is_(None))
            .values(used_at=moment_text(now))
        )
        if used.rowcount != 1:
            raise AccessRefusal("code_used")
        return clinic

    def give_token(self, connection: Connection, tablet: str, clinic: str) -> str:
        """Return a fresh access token (256 random bits) for a tablet."""
        token = secrets.token_urlsafe(32)
        connection.execute(insert(tablet_access).values(
            token_hash=hash_of(token), tablet=tablet, clinic=clinic, revoked_at=None,
            last_here_at=_in_utc(now_here()),
        ))
        return token

    def of_token(self, token: str, even_revoked: bool = False) -> Access:
        """Return who comes with a token; refused: ``token_not_known``, ``access_revoked``.

        ``even_revoked`` lets a tablet in that may still hand over what it has.
        """
        with self._store.reading() as connection:
            rows = _OF_TOKEN.run(connection, hash=hash_of(token))
        if not rows:
            raise AccessRefusal("token_not_known")
        tablet, clinic, revoked_at, last_here_at = rows[0]
        if revoked_at is not None and not even_revoked:
            raise AccessRefusal("access_revoked", tablet=tablet)
        if revoked_at is None:
            self._note_here(token, last_here_at)
        return Access(tablet, clinic, revoked_at is not None)

    def _note_here(self, token: str, last: str | None) -> None:
        """Note that a tablet was here, at most once an hour: each note is a write."""
        now = now_here()
        # A clock that was set back since would otherwise keep the old note for long.
        if last is not None and abs(now - moment_from(last)) < HERE_AT_MOST_EACH:
            return
        with self._store.writing() as connection:
            connection.execute(
                update(tablet_access).where(tablet_access.c.token_hash == hash_of(token))
                .values(last_here_at=_in_utc(now))
            )

    def last_here(self, clinic: str) -> dict[str, str]:
        """Return when each tablet that has access was last here, in UTC; "" where that is not known."""
        with self._store.reading() as connection:
            rows = connection.execute(
                select(tablet_access.c.tablet, func.max(tablet_access.c.last_here_at).label("at"))
                .where(tablet_access.c.clinic == clinic, tablet_access.c.revoked_at.is_(None))
                .group_by(tablet_access.c.tablet).order_by(tablet_access.c.tablet)
            ).all()
        return {row.tablet: row.at or "" for row in rows}

    @staticmethod
    def revoke_within(connection: Connection, clinic: str, tablets: Sequence[str]) -> None:
        """Take a clinic's tokens away in an open transaction: a restored server learns of it again."""
        connection.execute(
            update(tablet_access)
            .where(
                tablet_access.c.clinic == clinic, tablet_access.c.tablet.in_(sorted(tablets)),
                tablet_access.c.revoked_at.is_(None),
            )
            .values(revoked_at=moment_text(now_here()))
        )

    def clinics_of(self, tablet: str) -> list[str]:
        """Return the clinics in which a tablet's access was not taken away yet."""
        with self._store.reading() as connection:
            return list(connection.scalars(
                select(tablet_access.c.clinic).distinct().where(
                    tablet_access.c.tablet == tablet, tablet_access.c.revoked_at.is_(None)
                ).order_by(tablet_access.c.clinic)
            ))

    def revoke(self, clinic: str, tablet: str) -> int:
        """Take every token of a tablet for a clinic away; return how many there were."""
        with self._store.writing() as connection:
            return connection.execute(
                update(tablet_access)
                .where(
                    tablet_access.c.clinic == clinic, tablet_access.c.tablet == tablet,
                    tablet_access.c.revoked_at.is_(None),
                )
                .values(revoked_at=moment_text(now_here()))
            ).rowcount


def _in_utc(moment: datetime) -> str:
    return moment_text(moment.astimezone(timezone.utc))


def new_code_text() -> str:
    """Return a fresh code (80 random bits) in groups that can be read aloud."""
    letters = [secrets.choice(_LETTERS) for _ in range(_GROUPS * _GROUP)]
    return "-".join(
        "".join(letters[start:start + _GROUP]) for start in range(0, len(letters), _GROUP)
    )


def refuse_old_code(row: Any, now: datetime) -> None:
    """Refuse ``code_used``, ``code_expired`` by a code's row."""
    if row.used_at is not None:
        raise AccessRefusal("code_used")
    if now - moment_from(row.made_at) > timedelta(days=CODE_DAYS):
        raise AccessRefusal("code_expired", days=CODE_DAYS)


def code_hash(code: str) -> str:
    """A code is read aloud and typed: case, blanks and hyphens don't matter."""
    return hash_of("".join(c for c in code.upper() if c.isascii() and c.isalnum()))
