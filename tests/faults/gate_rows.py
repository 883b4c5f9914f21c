"""What the gate plays, and the lines of its table."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Callable

from tests.faults import rows_elsewhere, rows_link, rows_power, rows_stores, rows_struck, rows_wire

FAILED = Path(__file__).with_name("seeds_that_failed.txt")


@dataclass(frozen=True)
class Row:
    """A row that is played whole by ``run``, or worlds of it until there are ``target`` schedules."""

    key: str
    target: int = 0
    run: Callable[..., None] | None = None


#: The longest ones first among those that are played whole: they can't be parted.
ROWS = (
    Row("weak_link", run=rows_link.weak_link),
    Row("full_disk", run=rows_struck.full_disk),
    Row("damaged_pages", run=rows_stores.damaged_pages),
    Row("photos_cut", run=rows_elsewhere.tests_beside("photos_cut")),
    Row("fuzzed", run=rows_elsewhere.tests_beside("fuzzed")),
    Row("who_may", run=rows_elsewhere.tests_beside("who_may")),
    Row("killed_tablet", run=rows_struck.killed_tablet),
    Row("killed_server", run=rows_struck.killed_server),
    Row("failed_sync", run=rows_struck.failed_sync),
    Row("tampered", run=rows_stores.tampered),
    Row("power_lost", run=rows_power.power_lost),
    Row("old_schemas", run=rows_stores.old_schemas),
    Row("damaged", run=rows_wire.damaged),
    Row("by_stick", run=rows_elsewhere.tests_beside("by_stick")),
    Row("repeated", run=rows_wire.repeated),
    Row("revoked", 480), Row("clocks", 2000), Row("restored", 1000), Row("cloned", 1000),
    Row("carried", 1000),
    Row("mixed", 10_000),
)

#: Rows that can't be played where nothing can take hold of a process.
STRIKING = (
    rows_struck.killed_tablet, rows_struck.killed_server, rows_struck.full_disk,
    rows_struck.failed_sync, rows_power.power_lost,
)


@dataclass(frozen=True)
class Line:
    """A line of the table: a row of the matrix, and what counts for it."""

    name: str
    what: str
    row: str
    faults: tuple[str, ...] = ()
    target: int = 0
    wanted: str = ""
    #: Whether the target is of faults of these sorts, not of schedules.
    of_faults: bool = False

    @property
    def target_text(self) -> str:
        """The target as the table prints it."""
        if self.wanted:
            return self.wanted
        return f"{self.target}{' faults' if self.of_faults else ''}" if self.target else "-"


LINES = (
    Line("F1", "requests and answers lost", "mixed", ("drop_request", "drop_response"), 10_000),
    Line("F2", "doubled and replayed", "mixed", ("duplicate", "replay"), 10_000),
    Line("F2", "one push again, over HTTP", "repeated", (), 200),
    Line("F3", "late and out of order", "mixed", ("late", "old_page"), 10_000),
    Line("F4", "cut and flipped, in schedules", "mixed",
         ("cut_request", "flip_request", "cut_response", "flip_response", "broken_off")),
    Line("F4", "each 64th byte of a batch of 100", "damaged", wanted="whole"),
    Line("F5", "tablet killed at each write", "killed_tablet", wanted="whole"),
    Line("F6", "server killed at each write", "killed_server", wanted="whole"),
    Line("F7", "power lost, states of the disk", "power_lost", (), 10_000),
    Line("F8", "disk full from each write on", "full_disk", wanted="whole"),
    Line("F9", "each sync to the disk fails", "failed_sync", wanted="whole"),
    Line("F10", "clocks wrong, jumping", "clocks", ("clock_jump",), 2000),
    Line("F11", "old schemas, killed migration", "old_schemas", wanted="whole"),
    Line("F12", "server restored from older copy", "restored", ("restore",), 1000),
    Line("F13", "cloned tablet", "cloned", ("clones that both went on",), 1000),
    Line("F14", "two change and sign the same", "mixed", (), 10_000),
    Line("F15", "every route by everybody who may not", "who_may", wanted="whole"),
    Line("F15", "access taken away in schedules", "revoked", ("revoke",), 100,
         of_faults=True),
    Line("F16", "photos, the line cut at random", "photos_cut", (), 500),
    Line("F17", "fuzzed batches", "fuzzed", (), 1000),
    Line("F18", "each page of a tablet's file", "damaged_pages", wanted="whole"),
    Line("F19", "carried by stick", "by_stick", wanted="whole"),
    Line("F19", "sticks in schedules, with F1 to F3", "carried", (
        "stick_lost", "stick_replayed", "stick_late", "stick_flipped", "stick_cut", "stick_for_another",
        "receipt_flipped", "drop_request", "drop_response", "duplicate", "late", "old_page",
    ), 1000),
    Line("F20", "tampered histories of 1000 rows", "tampered", (), 1000),
    Line("F21", "weeks offline, weak link", "weak_link", wanted="whole"),
)
