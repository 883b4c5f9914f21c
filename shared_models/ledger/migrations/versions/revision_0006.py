"""Photos on their way: what a server holds whole, and what a tablet knows of it.

Revision: 0006
"""

import json

import sqlalchemy as sa
from alembic import context, op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the columns of a tablet, the tables of a server."""
    if context.config.attributes["side"] == "tablet":
        op.add_column("attachment", sa.Column("whole_at", sa.String(100), nullable=True))
        op.add_column("attachment", sa.Column("refused", sa.Text(), nullable=True))
        return
    named = op.create_table(
        "read_attachment",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("fitting", sa.String(100), primary_key=True, nullable=False),
        sa.Column("digest", sa.String(64), primary_key=True, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("wanted", sa.Boolean(), nullable=False),
    )
    op.create_index("read_attachment_sha256", "read_attachment", ["clinic", "sha256"])
    op.create_table(
        "attachment_held",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("sha256", sa.String(64), primary_key=True, nullable=False),
        sa.Column("bytes", sa.BigInteger(), nullable=False),
        sa.Column("media_type", sa.String(100), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("held_at", sa.String(40), nullable=False),
        sa.Column("whole_above", sa.String(100), nullable=False),
    )
    _name_what_is_there(named)


def _name_what_is_there(named: sa.Table) -> None:
    """Photos that older entries name can be sent at once; the next fold makes the rows anew."""
    connection = op.get_bind()
    rows = connection.execute(sa.text(
        "SELECT digest, clinic, subject_id, content FROM entry"
        " WHERE kind = 'photo' AND subject_type = 'fitting'"
    )).all()
    for row in rows:
        sha256 = json.loads(bytes(row.content)).get("body", {}).get("sha256")
        if isinstance(sha256, str) and len(sha256) == 64:
            connection.execute(sa.insert(named).values(
                clinic=row.clinic, fitting=row.subject_id, digest=row.digest,
                sha256=sha256, wanted=True,
            ))
