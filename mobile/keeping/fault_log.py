"""A local log of our own faults: where in the program, never what about whom."""

from __future__ import annotations

import traceback
from pathlib import Path

from shared_models.quantities.moments import now_here

LOG_NAME = "faults.log"
#: A log longer than this is begun anew, so that a fault at every frame can't fill the tablet.
MOST_BYTES = 200_000


def where(fault: BaseException) -> str:
    """Return where a fault arose: its type and the frames, innermost last.

    The fault's own sentence and all values are left out: both may hold a name or a figure of a person.
    """
    frames = traceback.extract_tb(fault.__traceback__)
    lines = [f"  {Path(frame.filename).name}:{frame.lineno} in {frame.name}" for frame in frames]
    chain = fault.__cause__ or fault.__context__
    before = [f"after a {type(chain).__name__}"] if chain is not None else []
    return "\n".join([type(fault).__name__, *before, *lines])


def write_fault(folder: Path, fault: BaseException) -> Path | None:
    """Add a fault to the log of a folder; returns the file, None where nothing can be written."""
    file = folder / LOG_NAME
    try:
        mode = "w" if file.is_file() and file.stat().st_size > MOST_BYTES else "a"
        with file.open(mode, encoding="utf-8") as log:
            log.write(f"{now_here().isoformat(timespec='seconds')} {where(fault)}\n\n")
    except OSError:
        return None
    return file
