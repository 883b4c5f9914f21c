"""Check a whole store offline: digests, chains, signatures, keys, attachments, the file itself.

With ``--rescue-to`` it gets out of a tablet's damaged file what can still be read.

Exit codes: 0 sound, 1 refused (with a sentence), 2 wrong arguments, 3 something is wrong.
"""

from __future__ import annotations

import argparse
import getpass
import hashlib
import os
import sys
from pathlib import Path
from typing import Sequence

from shared_models.checks.attached import named_bytes
from shared_models.exchange.answers import decode_standing
from shared_models.exports.archive_reading import open_archive
from shared_models.ledger.engine import Store
from shared_models.ledger.held_attachments import all_held
from shared_models.ledger.key_slots import KeySlots
from shared_models.ledger.raw_rows import (
    drafts_that_dont_open,
    file_troubles,
    last_numbers,
    looked_at,
    raw_entries,
    raw_signatures,
)
from shared_models.ledger.rescuing import rescue
from shared_models.ledger.sealing import Codec, Plain
from shared_models.ledger.store import EntryStore
from shared_models.quantities.refusals import Refusal
from shared_models.verifying.archive import look_over_archive
from shared_models.verifying.store import Finding, Looked, look_over
from shared_models.wording.server_sentences import server_sentence
from shared_models.wording.verifying import finding_sentence, rescued_sentences

_SOUND, _REFUSED, _WRONG = 0, 1, 3
_MOST_SHOWN = 20


def main(argv: Sequence[str] | None = None) -> int:
    """Run ``stancebook verify`` with these arguments; return the exit code."""
    told = _parser().parse_args(argv)
    try:
        if told.rescue_to:
            return _rescue(told)
        if "://" not in told.path and _is_archive(Path(told.path)):
            with open_archive(Path(told.path)) as archive:
                return _say(look_over_archive(archive))
        with looked_at(told.path) as store:
            codec = _codec(store, told)
            looked = verify(store, codec, _heads(told.heads), _folder(told))
    except Refusal as refusal:
        print(server_sentence(refusal), file=sys.stderr)
        return _REFUSED
    return _say(looked)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="stancebook verify",
        description="Check a whole store offline and name the first entry that is wrong. Works on a copy, or on one moment of a server's database; the store is not changed.",
    )
    parser.add_argument("path", help="the file of a tablet's or a server's store, a clinic's archive, "
                                     "or postgresql://user@host/name")
    parser.add_argument("--staff", help="a tablet's store: whose PIN opens it")
    parser.add_argument("--pin-file", help="file that holds the PIN (asked for otherwise)")
    parser.add_argument("--heads", metavar="FILE",
                        help="a server's standing as JSON: finds a tail that was cut off whole")
    parser.add_argument("--attachments", metavar="FOLDER",
                        help="a server's store: where its photos lie (beside a file by default)")
    parser.add_argument("--rescue-to", metavar="FILE",
                        help="a tablet's damaged store: write what can still be read into a fresh file")
    parser.add_argument("--set-aside", metavar="FILE",
                        help="with --rescue-to: where to write, not sealed, what can't be sent "
                             "any more, to be recorded again by hand")
    return parser


def _is_archive(path: Path) -> bool:
    """Tell by the first bytes whether it is a zip; a store's file begins otherwise."""
    try:
        with path.open("rb") as file:
            return file.read(4) == b"PK\x03\x04"
    except OSError:
        return False


def _rescue(told: argparse.Namespace) -> int:
    for file in filter(None, (told.rescue_to, told.set_aside)):
        if Path(file).exists():
            raise Refusal("rescue_over_a_file", file=Path(file).name)
        if not Path(file).absolute().parent.is_dir():
            raise Refusal("store_folder_missing", folder=str(Path(file).parent))
    found = rescue(Path(told.path), Path(told.rescue_to), lambda store: _codec(store, told))
    for line in rescued_sentences(told.rescue_to, found, _MOST_SHOWN):
        print(line)
    if not found.aside:
        return _SOUND
    if told.set_aside:
        aside = os.open(told.set_aside, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with open(aside, "wb") as file:
            file.writelines(entry.plaintext() + b"\n" for entry in found.aside)
    return _WRONG


def verify(
    store: Store, codec: Codec, heads: dict[tuple[str, str], tuple[int, str]], folder: Path | None
) -> Looked:
    """Check an open store; what is wrong with the file and attachments comes after the entries."""
    entries = raw_entries(store, codec)
    looked = look_over(
        entries, raw_signatures(store, codec), last_numbers(store), heads, store.side == "server"
    )
    more = [Finding("file_damaged", what=said) for said in file_troubles(store)[:_MOST_SHOWN]]
    if store.side == "tablet":
        more += [Finding("draft_damaged", what=place) for place in drafts_that_dont_open(store, codec)]
        more += _tablet_attachments(EntryStore(store, codec))
    elif folder is not None and folder.is_dir():
        more += _server_attachments(store, folder)
    return Looked(**{**looked.__dict__, "findings": (*looked.findings, *more)})


def _tablet_attachments(entries: EntryStore) -> list[Finding]:
    found = []
    for digest in entries.attachments():
        try:
            entries.attachment(digest)
        except Refusal:
            found.append(Finding("attachment_damaged", digest=digest))
    here, own = set(entries.attachments()), entries.device_name()
    try:
        named = [d for e in entries.entries() if e.tablet == own for d in named_bytes(e)]
    except Refusal:
        return found  # a damaged entry is named already
    return found + [Finding("attachment_lacking", digest=d) for d in named if d not in here]


def _server_attachments(store: Store, folder: Path) -> list[Finding]:
    """Every whole file is named by the hash of its bytes, and what the store says is whole is there."""
    found, there = [], set()
    for path in sorted(folder.rglob("*")):
        name = path.name
        if path.is_file() and len(name) == 64 and set(name) <= set("0123456789abcdef"):
            there.add(name)
            with path.open("rb") as file:
                if hashlib.file_digest(file, "sha256").hexdigest() != name:
                    found.append(Finding("attachment_damaged", digest=name))
    with store.reading() as connection:
        said = all_held(connection)
    return found + [Finding("attachment_lacking", clinic, digest=name) for clinic, name in said if name not in there]


def _codec(store: Store, told: argparse.Namespace) -> Codec:
    if store.side == "server":
        return Plain()
    slots = KeySlots(store)
    people = slots.people()
    staff = told.staff or (people[0] if len(people) == 1 else "")
    if staff not in people:
        raise Refusal("verify_needs_staff", known=", ".join(people))
    if told.pin_file:
        pin = Path(told.pin_file).read_text("utf-8").strip()
    elif sys.stdin.isatty():
        pin = getpass.getpass(f"PIN of {staff} (not shown): ")
    else:
        pin = sys.stdin.readline().strip()
    return slots.unlock(staff, pin).codec


def _heads(file: str | None) -> dict[tuple[str, str], tuple[int, str]]:
    if not file:
        return {}
    standing = decode_standing(Path(file).read_bytes())
    return {(standing.clinic, tablet): end for tablet, end in standing.chains.items()}


def _folder(told: argparse.Namespace) -> Path | None:
    if told.attachments:
        return Path(told.attachments)
    beside = Path(f"{told.path}.attachments")
    return beside if beside.is_dir() else None


def _say(looked: Looked) -> int:
    print(f"Looked at {looked.entries} entries in {looked.chains} chains and {looked.signatures} signatures.")
    if looked.unvouched:
        print(f"{looked.unvouched} keys wait for somebody to vouch; what they signed does not count.")
    if looked.copied:
        print(f"Copied, with both branches kept: {', '.join(looked.copied)}.")
    if looked.unsigned:
        print(f"{looked.unsigned} entries lead up to no signed end yet: not sent.")
    if not looked.findings:
        print("Everything fits.")
        return _SOUND
    print(f"NOT sound: {len(looked.findings)} found. The first:")
    for finding in looked.findings[:_MOST_SHOWN]:
        print("  " + finding_sentence(finding))
    return _WRONG


if __name__ == "__main__":
    os.umask(0o077)
    sys.exit(main())
