"""Which fittings rest on whom of the staff, and which are still to be judged anew.

Every fitting of a server is marked: who it rests on is known once it was judged.
The server does that in pieces while it serves.

Revision: 0009
"""

import sqlalchemy as sa
from alembic import context, op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of a server, and mark its fittings; a tablet has neither."""
    if context.config.attributes["side"] == "tablet":
        return
    op.create_table(
        "read_staff",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("staff", sa.String(100), primary_key=True, nullable=False),
        sa.Column("fitting", sa.String(100), primary_key=True, nullable=False),
    )
    op.create_index("read_staff_fitting", "read_staff", ["clinic", "fitting"])
    op.create_table(
        "judge_anew",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("sort", sa.String(100), primary_key=True, nullable=False),
        sa.Column("subject", sa.String(100), primary_key=True, nullable=False),
    )
    op.get_bind().execute(sa.text(
        "INSERT INTO judge_anew (clinic, sort, subject)"
        " SELECT DISTINCT clinic, subject_type, subject_id FROM entry WHERE subject_type = 'fitting'"
    ))
