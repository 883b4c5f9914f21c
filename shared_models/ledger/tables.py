"""The tables of a tablet's and of a server's store.

On a tablet every ``content`` column is sealed; what stays readable there
names nobody: ids are random, and a draft's place is made of ids and slots.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
)

from shared_models.ledger import attachment_tables, read_tables  # noqa: F401  (add their tables)
from shared_models.ledger.columns import (
    ON_BOTH,
    ON_SERVER,
    ON_TABLET,
    SERVER,
    SIDES,
    TABLET,
    RowNumber,
    content,
    count,
    digest,
    identifier,
    key,
    metadata,
    moment,
    text,
)

__all__ = ["SERVER", "SIDES", "TABLET", "metadata", "metadata_of", "tables_of"]

# --- both sides -----------------------------------------------------------

about = Table(
    "about", metadata,
    key("store_id"),
    Column("store_kind", String(10), nullable=False),
    identifier("epoch"),
    moment("created_at"),
    text("program", nullable=False),
    info=ON_BOTH,
)

#: One (clinic, tablet, number) may stand twice: a cloned tablet made both.
entry = Table(
    "entry", metadata,
    digest("digest", primary_key=True),
    identifier("entry_id"),
    identifier("clinic"),
    identifier("subject_type"),
    identifier("subject_id"),
    identifier("kind"),
    identifier("tablet"),
    Column("number", BigInteger, nullable=False),
    digest("previous"),
    Column("clock", String(17), nullable=False),
    Column("server_sequence", BigInteger, nullable=True),
    moment("received_at"),
    content(),
    Index("entry_chain", "clinic", "tablet", "number"),
    Index("entry_subject", "clinic", "subject_type", "subject_id"),
    Index("entry_sequence", "clinic", "server_sequence"),
    Index("entry_clock", "clock"),
    info=ON_BOTH,
)

signature = Table(
    "signature", metadata,
    digest("digest", primary_key=True),
    identifier("clinic"),
    digest("signs"),
    identifier("signer_type"),
    identifier("signer"),
    Column("server_sequence", BigInteger, nullable=True),
    moment("received_at"),
    content(),
    Index("signature_signs", "signs"),
    Index("signature_sequence", "clinic", "server_sequence"),
    info=ON_BOTH,
)

#: Where this store stands towards the server above it; a hub is a server
#: that has one as well.  ``sealed`` holds the server's address and the token.
sync_state = Table(
    "sync_state", metadata,
    key("clinic"),
    identifier("epoch"),
    Column("pulled_to", BigInteger, nullable=False),
    Column("acknowledged_number", BigInteger, nullable=False),
    moment("last_contact_at", nullable=True),
    content("sealed", nullable=True),
    info=ON_BOTH,
)

# --- tablet ---------------------------------------------------------------

draft = Table(
    "draft", metadata,
    Column("place", String(300), primary_key=True, nullable=False),
    content(),
    moment("changed_at"),
    info=ON_TABLET,
)

key_slot = Table(
    "key_slot", metadata,
    key("staff_id"),
    Column("salt", LargeBinary, nullable=False),
    text("stretch", nullable=False),
    Column("wrapped_data_key", LargeBinary, nullable=False),
    Column("wrapped_signing_key", LargeBinary, nullable=False),
    count("wrong_tries"),
    info=ON_TABLET,
)

#: Further wrappings of the data key, for a forgotten PIN: ``sort`` is ``code`` (a
#: sealed code opens it, once) or ``server`` (what a server keeps opens it).
recovery_slot = Table(
    "recovery_slot", metadata,
    key("name"),
    identifier("sort"),
    identifier("staff_id"),
    Column("salt", LargeBinary, nullable=False),
    text("stretch", nullable=False),
    Column("wrapped_data_key", LargeBinary, nullable=False),
    count("wrong_tries"),
    text("address"),
    moment("made_at"),
    info=ON_TABLET,
)

#: Says that bytes are here whole; written with the last piece.  ``named``: by an
#: entry of this tablet, saved in the same transaction; such bytes are for ever.
#: ``whole_at``: the epoch of the server that named them whole; ``refused``: what it said.
attachment = Table(
    "attachment", metadata,
    digest("digest", primary_key=True),
    Column("bytes", BigInteger, nullable=False),
    count("pieces"),
    moment("kept_at"),
    Column("named", Boolean, nullable=False),
    Column("whole_at", String(100), nullable=True),
    text("refused"),
    info=ON_TABLET,
)

attachment_piece = Table(
    "attachment_piece", metadata,
    digest("digest", primary_key=True),
    Column("number", Integer, primary_key=True, nullable=False),
    content(),
    info=ON_TABLET,
)

device = Table(
    "device", metadata,
    key("tablet"),
    content("sealed_signing_key"),
    moment("made_at"),
    info=ON_TABLET,
)

#: What the list shows of a fitting; never the truth, see ``summaries``.
fitting_summary = Table(
    "fitting_summary", metadata,
    key("fitting"),
    identifier("clinic"),
    identifier("person"),
    Column("touched", String(17), nullable=False),
    count("marks"),
    Column("stale", Boolean, nullable=False),
    content(nullable=True),
    Index("fitting_summary_person", "person"),
    info=ON_TABLET,
)

# --- server ---------------------------------------------------------------

clinic_sequence = Table(
    "clinic_sequence", metadata,
    key("clinic"),
    Column("last", BigInteger, nullable=False),
    info=ON_SERVER,
)

account = Table(
    "account", metadata,
    key("login"),
    identifier("staff_id"),
    identifier("clinic"),
    text("roles", nullable=False),
    text("password_record", nullable=False),
    Column("wrapped_signing_key", LargeBinary, nullable=True),
    count("wrong_tries"),
    Column("locked", Boolean, nullable=False),
    info=ON_SERVER,
)

#: ``last_seen_ms`` comes from a clock that never runs backwards, so that
#: setting the wall clock back does not keep a session alive.
web_session = Table(
    "web_session", metadata,
    digest("token_hash", primary_key=True),
    Column("login", String(100), ForeignKey("account.login"), nullable=False),
    text("csrf", nullable=False),
    moment("created_at"),
    Column("last_seen_ms", BigInteger, nullable=False),
    moment("ended_at", nullable=True),
    Index("web_session_login", "login"),
    info=ON_SERVER,
)

enrolment_code = Table(
    "enrolment_code", metadata,
    digest("code_hash", primary_key=True),
    identifier("clinic"),
    text("tablet_name", nullable=False),
    moment("made_at"),
    moment("used_at", nullable=True),
    text("people"),
    info=ON_SERVER,
)

#: What a tablet whose access was taken away, or somebody who no longer works here,
#: brought after that: unharmed, in no sequence, until the lead clinician decides.
held = Table(
    "held", metadata,
    digest("digest", primary_key=True),
    identifier("clinic"),
    identifier("sort"),
    identifier("about"),
    Column("number", BigInteger, nullable=False),
    identifier("who"),
    identifier("brought_by"),
    moment("held_at"),
    moment("decided_at", nullable=True),
    text("decided_by"),
    text("decision"),
    text("reason"),
    content(),
    Index("held_about", "clinic", "about", "number"),
    info=ON_SERVER,
)

#: A tablet's data key stays on the tablet; this opens one more wrapping of it there.
recovery_share = Table(
    "recovery_share", metadata,
    key("tablet"),
    key("clinic"),
    text("share", nullable=False),
    moment("kept_at"),
    info=ON_SERVER,
)

pin_reset = Table(
    "pin_reset", metadata,
    digest("code_hash", primary_key=True),
    identifier("clinic"),
    identifier("tablet"),
    identifier("staff_id"),
    moment("made_at"),
    moment("used_at", nullable=True),
    info=ON_SERVER,
)

#: ``last_here_at`` is brought up to date at most once an hour.
tablet_access = Table(
    "tablet_access", metadata,
    digest("token_hash", primary_key=True),
    identifier("tablet"),
    identifier("clinic"),
    moment("revoked_at", nullable=True),
    moment("last_here_at", nullable=True),
    Index("tablet_access_tablet", "tablet"),
    info=ON_SERVER,
)

#: ``source`` is a digest of who or what was wrong; see ``wrong_tries``.
wrong_try = Table(
    "wrong_try", metadata,
    digest("source", primary_key=True),
    count("tries"),
    Column("until_ms", BigInteger, nullable=False),
    info=ON_SERVER,
)

audit = Table(
    "audit", metadata,
    Column("id", RowNumber, primary_key=True, autoincrement=True),
    moment("at"),
    identifier("who"),
    identifier("what"),
    identifier("clinic"),
    text("subject", nullable=False),
    identifier("outcome"),
    text("from_where", nullable=False),
    Index("audit_clinic", "clinic", "id"),
    info=ON_SERVER,
)

verdict = Table(
    "verdict", metadata,
    key("fitting"),
    identifier("clinic"),
    identifier("person"),
    identifier("state"),
    identifier("review"),
    text("detail", nullable=False),
    digest("fingerprint"),
    Index("verdict_clinic", "clinic", "state", "review"),
    info=ON_SERVER,
)


def tables_of(side: str) -> tuple[Table, ...]:
    """Return the tables that a store of ``side`` has."""
    return tuple(
        table for table in metadata.sorted_tables if side in table.info["sides"]
    )


def metadata_of(side: str) -> MetaData:
    """Return a copy of the metadata with the tables of ``side`` only."""
    found = MetaData()
    for table in tables_of(side):
        table.to_metadata(found)
    return found
