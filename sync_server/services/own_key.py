"""The server's own signing key: whether it is this store's, and renewing it."""

from __future__ import annotations

import os
from pathlib import Path

from shared_models.entries.envelope import Subject
from shared_models.entries.signatures import public_text
from shared_models.quantities.moments import now_here
from shared_models.quantities.refusals import Refusal
from sync_server.services.station import Station, chain_name, signing_key_in


class KeyRefusal(Refusal):
    """The key file and the store do not belong together: ``key_of_other_server``."""


def refuse_foreign_key(station: Station) -> None:
    """Refuse a key that no entry of the store knows, in a store that is in use."""
    clinics = station.clinics()
    if clinics and not any(_knows(station, clinic, station.chain) for clinic in clinics):
        raise KeyRefusal("key_of_other_server")


def introduce(station: Station) -> int:
    """Record this server's key on its own chain where it is not known; return in how many clinics."""
    new = [clinic for clinic in station.clinics() if not _knows(station, clinic, station.chain)]
    for clinic in new:
        _record(station, clinic, station.chain, station.public_key)
    return len(new)


def renew(station: Station, path: Path) -> Path:
    """Have the old key's chain name the new one, then put the new key in its place.

    Cut off in between it can be done again; it goes on with the same new key.
    Returns where the old key was set aside.
    """
    coming = path.with_name(f"{path.name}.next")
    key = signing_key_in(coming)
    for clinic in station.clinics():
        if not _knows(station, clinic, chain_name(key)):
            _record(station, clinic, chain_name(key), public_text(key))
    aside = path.with_name(f"{path.name}.set-aside-{now_here():%Y%m%d-%H%M%S}")
    os.link(path, aside)
    station.above.seal_by(key)
    os.replace(coming, path)
    return aside


def _knows(station: Station, clinic: str, chain: str) -> bool:
    with station.reading(clinic) as reading:
        return any(e.kind == "tablet" for e in reading.of_subject("tablet", chain))


def _record(station: Station, clinic: str, chain: str, public_key: str) -> None:
    body = {"name": "Stancebook server", "public_key": public_key}
    with station.writing(clinic) as reading:
        station.record_facts(reading, [("tablet", Subject("tablet", chain), body)])
