"""Finding people by part: the device identifier, and parts that were built in before.

Revision: 0007
"""

import json

import sqlalchemy as sa
from alembic import context, op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

_CORRECTIONS = ("mistyped", "measured_again", "wrong_person", "other")
_LONGEST = 300


def upgrade() -> None:
    """Add the columns of a server, and fill them from the entries; a tablet has no such table."""
    if context.config.attributes["side"] == "tablet":
        return
    op.add_column("read_component", sa.Column("device_identifier", sa.Text(), nullable=True))
    op.add_column("read_component", sa.Column("built_in", sa.Boolean(), nullable=False, server_default=sa.true()))
    op.create_index("read_component_device_identifier", "read_component", ["clinic", "device_identifier"])
    _fill()


def _fill() -> None:
    connection = op.get_bind()
    there = {(r.clinic, r.digest): r for r in connection.execute(sa.text(
        "SELECT clinic, fitting, digest, person FROM read_component"
    ))}
    people = {(r.clinic, r.fitting): r.person for r in there.values()}
    entries = [(r, json.loads(bytes(r.content))) for r in connection.execute(sa.text(
        "SELECT digest, clinic, subject_id, kind, content FROM entry"
        " WHERE subject_type = 'fitting' AND kind IN ('component', 'withdrawn')"
    ))]
    # What a correction or a withdrawal took back was never built in.
    wrong = {
        digest for row, envelope in entries for digest in envelope.get("replaces", ())
        if row.kind == "withdrawn" or envelope.get("because", {}).get("code") in _CORRECTIONS
    }
    for row, envelope in entries:
        body = envelope.get("body", {})
        if row.kind != "component":
            continue
        if (row.clinic, row.digest) in there:
            connection.execute(
                sa.text("UPDATE read_component SET device_identifier = :d WHERE clinic = :c AND digest = :g"),
                {"d": _text(body, "device_identifier"), "c": row.clinic, "g": row.digest},
            )
        elif row.digest not in wrong and (row.clinic, row.subject_id) in people:
            connection.execute(sa.text(
                "INSERT INTO read_component (clinic, fitting, place, digest, person, sheet, serial, lot,"
                " device_identifier, built_in, happened_at)"
                " VALUES (:c, :f, :p, :g, :w, :s, :n, :l, :d, :b, :h)"
            ), {
                "c": row.clinic, "f": row.subject_id, "p": (_text(body, "place") or "")[:100], "g": row.digest,
                "w": people[row.clinic, row.subject_id], "s": _text(body, "sheet"), "n": _text(body, "serial"),
                "l": _text(body, "lot"), "d": _text(body, "device_identifier"), "b": False, "h": str(envelope.get("happened_at", ""))[:40],
            })


def _text(body: dict, field: str) -> str | None:
    value = body.get(field)
    return value[:_LONGEST] if isinstance(value, str) else None
