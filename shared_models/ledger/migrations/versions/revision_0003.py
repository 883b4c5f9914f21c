"""Summaries of fittings, for a tablet's list; worked out from the entries again.

Revision: 0003
"""

import sqlalchemy as sa
from alembic import context, op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table on a tablet, with a row to be worked out for each fitting."""
    if context.config.attributes["side"] != "tablet":
        return
    op.create_table(
        "fitting_summary",
        sa.Column("fitting", sa.String(100), primary_key=True, nullable=False),
        sa.Column("clinic", sa.String(100), nullable=False),
        sa.Column("person", sa.String(100), nullable=False),
        sa.Column("touched", sa.String(17), nullable=False),
        sa.Column("marks", sa.Integer(), nullable=False),
        sa.Column("stale", sa.Boolean(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=True),
    )
    op.create_index("fitting_summary_person", "fitting_summary", ["person"])
    op.execute(
        "INSERT INTO fitting_summary (fitting, clinic, person, touched, marks, stale)"
        " SELECT subject_id, min(clinic), '', max(clock), 1, 1 FROM entry"
        " WHERE subject_type = 'fitting' GROUP BY subject_id"
    )
