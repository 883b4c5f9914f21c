"""Wrong tries in the database, so that every process of a server counts the same ones.

On a PostgreSQL ``schema.upgrade`` brings the text columns of older revisions
along as well.  Revision: 0004
"""

import sqlalchemy as sa
from alembic import context, op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table on a server; a tablet counts in its key slots."""
    if context.config.attributes["side"] != "server":
        return
    op.create_table(
        "wrong_try",
        sa.Column("source", sa.String(64), primary_key=True, nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("until_ms", sa.BigInteger(), nullable=False),
    )
