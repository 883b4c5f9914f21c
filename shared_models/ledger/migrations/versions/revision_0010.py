"""The lead clinician's list: falls, pain and faults that nobody has closed.

A fitting that has any is marked to be judged anew, which the server does while it serves.

Revision: 0010
"""

import sqlalchemy as sa
from alembic import context, op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns of a server; a tablet has no such table."""
    if context.config.attributes["side"] == "tablet":
        return
    for name in ("open_events", "serious_events"):
        op.add_column("read_standing", sa.Column(name, sa.Integer(), nullable=False, server_default="0"))
    op.add_column("read_standing", sa.Column("event_open_since", sa.String(10), nullable=True))
    op.create_index("read_standing_events", "read_standing", ["clinic", "event_open_since", "fitting"])
    op.get_bind().execute(sa.text(
        "INSERT INTO judge_anew (clinic, sort, subject)"
        " SELECT DISTINCT clinic, subject_type, subject_id FROM entry"
        " WHERE subject_type = 'fitting' AND kind = 'adverse_event' AND NOT EXISTS (SELECT 1 FROM judge_anew"
        " WHERE judge_anew.clinic = entry.clinic AND judge_anew.sort = 'fitting' AND judge_anew.subject = entry.subject_id)"
    ))
