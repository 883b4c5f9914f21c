"""The first schema: entries, signatures, drafts, keys, accounts, read tables.

Revision: 0001
"""

import sqlalchemy as sa
from alembic import context, op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of the side that the store belongs to."""
    _make_common_tables()
    if context.config.attributes["side"] == "tablet":
        _make_tablet_tables()
    else:
        _make_server_tables()
        _make_read_tables()


def _make_common_tables() -> None:
    op.create_table(
        "about",
        sa.Column("store_id", sa.String(100), primary_key=True, nullable=False),
        sa.Column("store_kind", sa.String(10), nullable=False),
        sa.Column("epoch", sa.String(100), nullable=False),
        sa.Column("created_at", sa.String(40), nullable=False),
        sa.Column("program", sa.Text(), nullable=False),
    )
    op.create_table(
        "entry",
        sa.Column("digest", sa.String(64), primary_key=True, nullable=False),
        sa.Column("entry_id", sa.String(100), nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("subject_type", sa.String(100), nullable=False),
        sa.Column("subject_id", sa.String(100), nullable=False),
        sa.Column("kind", sa.String(100), nullable=False),
        sa.Column("tablet", sa.String(100), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("clock", sa.String(17), nullable=False),
        sa.Column("server_sequence", sa.BigInteger(), nullable=True),
        sa.Column("received_at", sa.String(40), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
    )
    op.create_index("entry_chain", "entry", ["clinic", "tablet", "number"])
    op.create_index("entry_clock", "entry", ["clock"])
    op.create_index("entry_sequence", "entry", ["clinic", "server_sequence"])
    op.create_index("entry_subject", "entry", ["clinic", "subject_type", "subject_id"])
    op.create_table(
        "signature",
        sa.Column("digest", sa.String(64), primary_key=True, nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("signs", sa.String(64), nullable=False),
        sa.Column("signer_type", sa.String(100), nullable=False),
        sa.Column("signer", sa.String(100), nullable=False),
        sa.Column("server_sequence", sa.BigInteger(), nullable=True),
        sa.Column("received_at", sa.String(40), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
    )
    op.create_index("signature_sequence", "signature", ["clinic", "server_sequence"])
    op.create_index("signature_signs", "signature", ["signs"])
    op.create_table(
        "sync_state",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("epoch", sa.String(100), nullable=False),
        sa.Column("pulled_to", sa.BigInteger(), nullable=False),
        sa.Column("acknowledged_number", sa.BigInteger(), nullable=False),
        sa.Column("last_contact_at", sa.String(40), nullable=True),
        sa.Column("sealed", sa.LargeBinary(), nullable=True),
    )


def _make_tablet_tables() -> None:
    op.create_table(
        "device",
        sa.Column("tablet", sa.String(100), primary_key=True, nullable=False),
        sa.Column("sealed_signing_key", sa.LargeBinary(), nullable=False),
        sa.Column("made_at", sa.String(40), nullable=False),
    )
    op.create_table(
        "draft",
        sa.Column("place", sa.String(300), primary_key=True, nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("changed_at", sa.String(40), nullable=False),
    )
    op.create_table(
        "key_slot",
        sa.Column("staff_id", sa.String(100), primary_key=True, nullable=False),
        sa.Column("salt", sa.LargeBinary(), nullable=False),
        sa.Column("stretch", sa.Text(), nullable=False),
        sa.Column("wrapped_data_key", sa.LargeBinary(), nullable=False),
        sa.Column("wrapped_signing_key", sa.LargeBinary(), nullable=False),
        sa.Column("wrong_tries", sa.Integer(), nullable=False),
    )


def _make_server_tables() -> None:
    op.create_table(
        "account",
        sa.Column("login", sa.String(100), primary_key=True, nullable=False),
        sa.Column("staff_id", sa.String(100), nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("roles", sa.Text(), nullable=False),
        sa.Column("password_record", sa.Text(), nullable=False),
        sa.Column("wrapped_signing_key", sa.LargeBinary(), nullable=True),
        sa.Column("wrong_tries", sa.Integer(), nullable=False),
        sa.Column("locked", sa.Boolean(), nullable=False),
    )
    op.create_table(
        "audit",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer, "sqlite"), primary_key=True, autoincrement=True, nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("who", sa.String(100), nullable=False),
        sa.Column("what", sa.String(100), nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("outcome", sa.String(100), nullable=False),
        sa.Column("from_where", sa.Text(), nullable=False),
    )
    op.create_index("audit_clinic", "audit", ["clinic", "id"])
    op.create_table(
        "clinic_sequence",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("last", sa.BigInteger(), nullable=False),
    )
    op.create_table(
        "enrolment_code",
        sa.Column("code_hash", sa.String(64), primary_key=True, nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("tablet_name", sa.Text(), nullable=False),
        sa.Column("made_at", sa.String(40), nullable=False),
        sa.Column("used_at", sa.String(40), nullable=True),
    )
    op.create_table(
        "tablet_access",
        sa.Column("token_hash", sa.String(64), primary_key=True, nullable=False),
        sa.Column("tablet", sa.String(100), nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("revoked_at", sa.String(40), nullable=True),
    )
    op.create_index("tablet_access_tablet", "tablet_access", ["tablet"])
    op.create_table(
        "verdict",
        sa.Column("fitting", sa.String(100), primary_key=True, nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("person", sa.String(100), nullable=False),
        sa.Column("state", sa.String(100), nullable=False),
        sa.Column("review", sa.String(100), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.Column("fingerprint", sa.String(64), nullable=False),
    )
    op.create_index("verdict_clinic", "verdict", ["clinic", "state", "review"])
    op.create_table(
        "web_session",
        sa.Column("token_hash", sa.String(64), primary_key=True, nullable=False),
        sa.Column("login", sa.String(100), sa.ForeignKey("account.login"), nullable=False),
        sa.Column("csrf", sa.Text(), nullable=False),
        sa.Column("created_at", sa.String(40), nullable=False),
        sa.Column("last_seen_ms", sa.BigInteger(), nullable=False),
        sa.Column("ended_at", sa.String(40), nullable=True),
    )
    op.create_index("web_session_login", "web_session", ["login"])


def _make_read_tables() -> None:
    op.create_table(
        "read_component",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("fitting", sa.String(100), primary_key=True, nullable=False),
        sa.Column("place", sa.String(100), primary_key=True, nullable=False),
        sa.Column("digest", sa.String(64), primary_key=True, nullable=False),
        sa.Column("person", sa.String(100), nullable=False),
        sa.Column("sheet", sa.Text(), nullable=True),
        sa.Column("sheet_version", sa.Text(), nullable=True),
        sa.Column("serial", sa.Text(), nullable=True),
        sa.Column("lot", sa.Text(), nullable=True),
        sa.Column("happened_at", sa.String(40), nullable=False),
    )
    op.create_index("read_component_lot", "read_component", ["clinic", "lot"])
    op.create_index("read_component_serial", "read_component", ["clinic", "serial"])
    op.create_index("read_component_sheet", "read_component", ["clinic", "sheet"])
    op.create_table(
        "read_fitting",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("fitting", sa.String(100), primary_key=True, nullable=False),
        sa.Column("person", sa.String(100), nullable=False),
        sa.Column("side", sa.Text(), nullable=True),
        sa.Column("edition", sa.String(100), nullable=False),
        sa.Column("prosthetist", sa.Text(), nullable=True),
        sa.Column("technician", sa.Text(), nullable=True),
        sa.Column("started_at", sa.String(40), nullable=False),
        sa.Column("last_entry_at", sa.String(40), nullable=False),
        sa.Column("review_due_on", sa.Text(), nullable=True),
        sa.Column("entries", sa.Integer(), nullable=False),
    )
    op.create_index("read_fitting_person", "read_fitting", ["clinic", "person"])
    op.create_table(
        "read_person",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("person", sa.String(100), primary_key=True, nullable=False),
        sa.Column("name", sa.Text(), nullable=True),
        sa.Column("born_on", sa.Text(), nullable=True),
        sa.Column("identifier", sa.Text(), nullable=True),
        sa.Column("side", sa.Text(), nullable=True),
        sa.Column("level", sa.Text(), nullable=True),
        sa.Column("functional_level", sa.Text(), nullable=True),
        sa.Column("body_mass_kg", sa.Text(), nullable=True),
        sa.Column("carried_load_kg", sa.Text(), nullable=True),
    )
    op.create_index("read_person_identifier", "read_person", ["clinic", "identifier"])
    op.create_table(
        "read_setting",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("fitting", sa.String(100), primary_key=True, nullable=False),
        sa.Column("adjuster", sa.String(100), primary_key=True, nullable=False),
        sa.Column("digest", sa.String(64), primary_key=True, nullable=False),
        sa.Column("position", sa.Text(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=True),
        sa.Column("happened_at", sa.String(40), nullable=False),
        sa.Column("recorded_by", sa.String(100), nullable=False),
    )
    op.create_table(
        "read_torque",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("fitting", sa.String(100), primary_key=True, nullable=False),
        sa.Column("screw", sa.String(100), primary_key=True, nullable=False),
        sa.Column("stage", sa.String(100), primary_key=True, nullable=False),
        sa.Column("digest", sa.String(64), primary_key=True, nullable=False),
        sa.Column("figure_nm", sa.Text(), nullable=True),
        sa.Column("reading_nm", sa.Text(), nullable=True),
        sa.Column("wrench", sa.Text(), nullable=True),
        sa.Column("calibrated_on", sa.Text(), nullable=True),
        sa.Column("locking", sa.Text(), nullable=True),
        sa.Column("happened_at", sa.String(40), nullable=False),
        sa.Column("recorded_by", sa.String(100), nullable=False),
    )
