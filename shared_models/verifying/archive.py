"""What is wrong in a clinic's archive beyond its own checks: keys, heads, who may sign what."""

from __future__ import annotations

from shared_models.entries.canonical import canonical_bytes
from shared_models.exports.archive_reading import Archive
from shared_models.ledger.raw_rows import RawRow
from shared_models.verifying.store import Looked, columns_of, look_over


def look_over_archive(archive: Archive) -> Looked:
    """Check an archive's record as a server's store is checked; its numbers of a sequence are its own."""
    entries = (
        RawRow(e.digest, columns_of(e), number, e.plaintext()) for number, e in enumerate(archive.entries(), 1)
    )
    signatures = (
        RawRow(
            s.digest, {"clinic": s.clinic, "signs": s.signs, "signer_type": s.signer_type, "signer": s.signer},
            number, canonical_bytes(s.as_record()),
        )
        for number, s in enumerate(archive.signatures(), archive.entry_count + 1)
    )
    last = {archive.clinic: archive.entry_count + archive.signature_count}
    return look_over(entries, signatures, last, is_server=True)
