"""Attachments: a photo's bytes, sealed in pieces beside the entries of a tablet.

Revision: 0002
"""

import sqlalchemy as sa
from alembic import context, op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of attachments on a tablet; a server keeps none yet."""
    if context.config.attributes["side"] != "tablet":
        return
    op.create_table(
        "attachment",
        sa.Column("digest", sa.String(64), primary_key=True, nullable=False),
        sa.Column("bytes", sa.BigInteger(), nullable=False),
        sa.Column("pieces", sa.Integer(), nullable=False),
        sa.Column("kept_at", sa.String(40), nullable=False),
        sa.Column("named", sa.Boolean(), nullable=False),
    )
    op.create_table(
        "attachment_piece",
        sa.Column("digest", sa.String(64), primary_key=True, nullable=False),
        sa.Column("number", sa.Integer(), primary_key=True, nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
    )
