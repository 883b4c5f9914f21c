"""Whose keys an enrolment code stands behind; what is held back; a forgotten PIN.

Revision: 0005
"""

import sqlalchemy as sa
from alembic import context, op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of the side."""
    if context.config.attributes["side"] == "tablet":
        _tablet()
    else:
        _server()


def _tablet() -> None:
    op.create_table(
        "recovery_slot",
        sa.Column("name", sa.String(100), primary_key=True, nullable=False),
        sa.Column("sort", sa.String(100), nullable=False),
        sa.Column("staff_id", sa.String(100), nullable=False),
        sa.Column("salt", sa.LargeBinary(), nullable=False),
        sa.Column("stretch", sa.Text(), nullable=False),
        sa.Column("wrapped_data_key", sa.LargeBinary(), nullable=False),
        sa.Column("wrong_tries", sa.Integer(), nullable=False),
        sa.Column("address", sa.Text(), nullable=True),
        sa.Column("made_at", sa.String(40), nullable=False),
    )


def _server() -> None:
    op.add_column("enrolment_code", sa.Column("people", sa.Text(), nullable=True))
    op.create_table(
        "held",
        sa.Column("digest", sa.String(64), primary_key=True, nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("sort", sa.String(100), nullable=False),
        sa.Column("about", sa.String(100), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("who", sa.String(100), nullable=False),
        sa.Column("brought_by", sa.String(100), nullable=False),
        sa.Column("held_at", sa.String(40), nullable=False),
        sa.Column("decided_at", sa.String(40), nullable=True),
        sa.Column("decided_by", sa.Text(), nullable=True),
        sa.Column("decision", sa.Text(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("content", sa.LargeBinary(), nullable=False),
    )
    op.create_index("held_about", "held", ["clinic", "about", "number"])
    op.create_table(
        "recovery_share",
        sa.Column("tablet", sa.String(100), primary_key=True, nullable=False),
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("share", sa.Text(), nullable=False),
        sa.Column("kept_at", sa.String(40), nullable=False),
    )
    op.create_table(
        "pin_reset",
        sa.Column("code_hash", sa.String(64), primary_key=True, nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("tablet", sa.String(100), nullable=False),
        sa.Column("staff_id", sa.String(100), nullable=False),
        sa.Column("made_at", sa.String(40), nullable=False),
        sa.Column("used_at", sa.String(40), nullable=True),
    )
