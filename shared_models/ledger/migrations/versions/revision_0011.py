"""The telephone of a person, so that the call list of a field safety notice has it.

A person of whom a tablet with a newer program already sent one is marked to be
read anew, which the server does while it serves.

Revision: 0011
"""

import sqlalchemy as sa
from alembic import context, op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

_NAMED = b'"telephone":'


def upgrade() -> None:
    """Add the column of a server; a tablet has no such table."""
    if context.config.attributes["side"] == "tablet":
        return
    op.add_column("read_person", sa.Column("telephone", sa.Text(), nullable=True))
    connection = op.get_bind()
    find = "position(:named IN content)" if connection.dialect.name == "postgresql" else "instr(content, :named)"
    connection.execute(sa.text(
        "INSERT INTO judge_anew (clinic, sort, subject)"
        " SELECT DISTINCT clinic, subject_type, subject_id FROM entry"
        f" WHERE subject_type = 'person' AND kind = 'identity' AND {find} > 0 AND NOT EXISTS (SELECT 1 FROM judge_anew"
        " WHERE judge_anew.clinic = entry.clinic AND judge_anew.sort = 'person' AND judge_anew.subject = entry.subject_id)"
    ), {"named": _NAMED})
