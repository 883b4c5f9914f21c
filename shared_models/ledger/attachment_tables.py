"""A server's tables of attachments: which entries name which bytes, and which bytes are whole.

The bytes themselves are plain files beside the store, see
``sync_server/services/attachment_files.py``.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, Boolean, Column, Index, Table

from shared_models.ledger.columns import ON_SERVER, count, digest, identifier, key, metadata, moment

#: One row for each entry that names bytes; made anew with the other read tables.
#: ``wanted``: the entry holds its place, so the fitting waits for them.
read_attachment = Table(
    "read_attachment", metadata,
    key("clinic"),
    key("fitting"),
    digest("digest", primary_key=True),
    digest("sha256"),
    Column("wanted", Boolean, nullable=False),
    Index("read_attachment_sha256", "clinic", "sha256"),
    info=ON_SERVER,
)

#: Bytes that are here whole, looked at and named by their hash, once for each
#: clinic.  ``whole_above``: the epoch of the server above that has them whole, too.
attachment_held = Table(
    "attachment_held", metadata,
    key("clinic"),
    digest("sha256", primary_key=True),
    Column("bytes", BigInteger, nullable=False),
    identifier("media_type"),
    count("width"),
    count("height"),
    moment("held_at"),
    identifier("whole_above"),
    info=ON_SERVER,
)
