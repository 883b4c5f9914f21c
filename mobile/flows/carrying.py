"""Where a stick may be, and carrying to and from it in a worker."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Iterable

from shared_models.exchange.carried import ENDING
from mobile.flows.photos import Work
from mobile.keeping.session import Session
from mobile.keeping.stick import take_back, write_out
from shared_models.language import spoken

#: Where desktops and Android put what is plugged in; each folder below is one.
_PLUGGED_IN = ("/run/media/*/*", "/media/*/*", "/media/*", "/storage/????-????")


def places(own: Path, plugged_in: Iterable[str] = _PLUGGED_IN) -> list[tuple[str, Path]]:
    """Return the folders that can be written to, with what each is called: sticks first.

    ``own`` is the tablet's folder for what is copied over a cable; made when it is chosen.
    """
    found: dict[Path, str] = {}
    for pattern in plugged_in:
        for path in sorted(Path("/").glob(pattern.lstrip("/"))):
            if path.is_dir() and os.access(path, os.W_OK) and not any(path in p.parents for p in found):
                found[path] = spoken("Stick {name}", name=path.name)
    return [*((words, path) for path, words in found.items()), (spoken("This tablet's folder"), own)]


def lying_there(folder: Path) -> int:
    """Return how many carried files lie in a folder."""
    try:
        return sum(path.suffix == ENDING for path in folder.iterdir())
    except OSError:
        return 0


def begin_writing(session: Session, folder: Path, own: Path) -> Work:
    """Begin to write what is unsent; the work's result says what lies there."""
    if folder == own:
        own.mkdir(parents=True, exist_ok=True)
    return Work(lambda work: write_out(session, folder, work.say), spoken("Writing the record"))


def begin_taking_back(session: Session, folder: Path) -> Work:
    """Begin to take receipts; the work's result says what the server has."""
    return Work(lambda work: take_back(session, folder), spoken("Reading the receipt"))
