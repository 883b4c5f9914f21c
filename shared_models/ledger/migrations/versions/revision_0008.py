"""The lead clinician's list: where each fitting stands, words to find people by, when a tablet was last here.

The server fills the two tables from the entries when it opens the store.

Revision: 0008
"""

import sqlalchemy as sa
from alembic import context, op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables and the column of a server; a tablet has neither."""
    if context.config.attributes["side"] == "tablet":
        return
    op.create_table(
        "read_standing",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("fitting", sa.String(100), primary_key=True, nullable=False),
        sa.Column("person", sa.String(100), nullable=False),
        sa.Column("standing", sa.String(100), nullable=False),
        sa.Column("since", sa.String(40), nullable=False),
        sa.Column("disputed", sa.Integer(), nullable=False),
        sa.Column("disputed_since", sa.String(40), nullable=True),
        sa.Column("review_awaited_on", sa.String(10), nullable=True),
        sa.Column("prosthetist", sa.Text(), nullable=True),
        sa.Column("state", sa.String(100), nullable=False),
        sa.Column("review", sa.String(100), nullable=False),
        sa.Column("changed", sa.Boolean(), nullable=False),
        sa.Column("missing", sa.Integer(), nullable=False),
    )
    op.create_index("read_standing_since", "read_standing", ["clinic", "standing", "since", "fitting"])
    op.create_index("read_standing_disputed", "read_standing", ["clinic", "disputed_since", "fitting"])
    op.create_index("read_standing_awaited", "read_standing", ["clinic", "review_awaited_on", "fitting"])
    op.create_index("read_standing_prosthetist", "read_standing", ["clinic", "prosthetist"])
    op.create_index("read_standing_person", "read_standing", ["clinic", "person"])
    op.create_table(
        "read_person_word",
        sa.Column("clinic", sa.String(100), primary_key=True, nullable=False),
        sa.Column("word", sa.String(100), primary_key=True, nullable=False),
        sa.Column("person", sa.String(100), primary_key=True, nullable=False),
    )
    op.create_index("read_person_word_person", "read_person_word", ["clinic", "person"])
    op.add_column("tablet_access", sa.Column("last_here_at", sa.String(40), nullable=True))
    op.get_bind().execute(sa.text(
        "UPDATE tablet_access SET last_here_at = (SELECT max(at) FROM audit WHERE audit.who = tablet_access.tablet"
        " AND audit.clinic = tablet_access.clinic AND audit.what IN ('enrol', 'push', 'pull', 'verdict'))"
    ))
