"""Make the stores of the newest schema that later programs must still open.

Run once for each released schema, from the project's folder, and commit what
it makes; never make an old one again::

    python -m tests.shared_models.ledger.released.make_released
"""

from __future__ import annotations

import gzip
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.schema import KNOWN_REVISIONS
from shared_models.ledger.store import EntryStore
from tests.shared_models.making import (
    CHEAP,
    Chain,
    opened,
    server_store,
    tablet_store,
)

HERE = Path(__file__).parent
PIN = "481502"
#: Bytes of two pieces; kept in stores of schema 0002 and later.
PHOTO = bytes(range(256)) * 1100


def fill(store: EntryStore) -> None:
    """Add a chain of forty entries, signed, and what else the side keeps."""
    chain = Chain(f"released-{store.side}")
    chain.add_staff_key()
    chain.grown(39)
    store.add_all(chain.entries, [chain.head(), chain.signed_off(chain.entries[7])])
    if store.side == "tablet":
        store.keep_draft("fitting/fitting-1/note", {"text": "half a word"})
        store.keep_device("released-tablet", chain.key)
        store.keep_attachment(PHOTO)
        KeySlots(opened(store), CHEAP).begin("staff-1", PIN)


def main() -> None:
    """Write one packed store for each side."""
    newest = KNOWN_REVISIONS[-1]
    with tempfile.TemporaryDirectory() as folder:
        for make in (tablet_store, server_store):
            store = make(Path(folder))
            fill(store)
            path = opened(store).path
            assert path is not None
            opened(store).close()
            with closing(sqlite3.connect(path)) as connection:
                connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            target = HERE / f"{newest}-{store.side}.sqlite.gz"
            target.write_bytes(gzip.compress(path.read_bytes(), mtime=0))


if __name__ == "__main__":
    main()
