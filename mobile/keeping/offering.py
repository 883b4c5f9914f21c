"""Offering a restored server what it lost: entries and signatures that are here and not there.

A server that came back from an older copy names another epoch.  Everything that
it still has is fetched from it once more; what is here beside that, of this
tablet's own and of what it pulled from others, goes up, cut at signed heads.
"""

from __future__ import annotations

from typing import Collection, Iterator

from shared_models.exchange import batch as batches
from mobile.keeping.session import Session

_SIGNATURES_A_BATCH = 1000


def what_is_missing(session: Session, there: Collection[str]) -> Iterator[batches.Batch]:
    """Give batches of what the server lacks; ``there`` are the digests that it has.

    What is covered by no signed head stays here: no receiver could take it.
    """
    clinic, entries = session.clinic, session.entries
    missing = [
        entry for tablet in sorted(entries.chain_tablets(clinic), key=_servers_first)
        for entry in entries.chain(clinic, tablet) if entry.digest not in there
    ]
    lacking = {entry.digest for entry in missing}
    signatures = entries.signatures(clinic)
    yield from batches.cut(clinic, missing, [s for s in signatures if s.signs in lacking])
    alone = [s for s in signatures if s.signs not in lacking and s.digest not in there]
    for start in range(0, len(alone), _SIGNATURES_A_BATCH):
        yield batches.batch_of(clinic, (), alone[start:start + _SIGNATURES_A_BATCH])


def _servers_first(tablet: str) -> tuple[bool, str]:
    """A server's chain records which tablets are enrolled; without it theirs are refused."""
    return not tablet.startswith("server-"), tablet
