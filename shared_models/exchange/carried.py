"""Files of a stick or a folder: written whole, listed in the order in which they are taken.

And the receipt that comes back: where the server stands, which photos it has
whole, and what it said of each file.
"""

from __future__ import annotations

import errno
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Mapping, Sequence

from shared_models.entries.canonical import NotStrictJson, canonical_bytes, strict_json
from shared_models.exchange.answers import Standing, decode_standing, encode_standing
from shared_models.exchange.packing import FORMAT, BatchRefusal
from shared_models.exchange.sealed_file import ENTRIES, LARGEST_FILE, PHOTO, SORTS, SealedRefusal, header_of
from shared_models.quantities.refusals import Refusal

ENDING = ".sealed"
_UNFINISHED = ".unfinished"


class StickRefusal(Refusal):
    """A stick or folder can't be used: ``stick_not_there``, ``stick_full``, ``stick_not_written``."""


@dataclass(frozen=True)
class Told:
    """What a server said of one file: ``code`` "" where it was taken, also once more."""

    file: str
    code: str = ""
    sentence: str = ""


@dataclass(frozen=True)
class CarriedReceipt:
    """What comes back: the server's standing, the photos it has whole, and each file's outcome."""

    standing: Standing
    whole: tuple[str, ...]
    told: tuple[Told, ...]


def encode_receipt(receipt: CarriedReceipt) -> bytes:
    """Return the content of a receipt's file."""
    return canonical_bytes({
        "format": FORMAT, "standing": strict_json(encode_standing(receipt.standing)),
        "whole": list(receipt.whole),
        "files": [{"file": t.file, "code": t.code, "sentence": t.sentence} for t in receipt.told],
    })


def decode_receipt(content: bytes) -> CarriedReceipt:
    """Read a receipt; refused ``sealed_damaged``."""
    try:
        value = strict_json(content)
        standing = decode_standing(canonical_bytes(value["standing"]))
        whole = tuple(str(name) for name in value["whole"])
        told = tuple(Told(str(t["file"]), str(t["code"]), str(t["sentence"])) for t in value["files"])
    except (NotStrictJson, BatchRefusal, KeyError, TypeError) as error:
        raise SealedRefusal("sealed_damaged") from error
    return CarriedReceipt(standing, whole, told)


def write_file(folder: Path, name: str, data: bytes) -> Path:
    """Write a file whole or not at all, durable on the stick when this returns."""
    target, unfinished = folder / (name + ENDING), folder / (name + _UNFINISHED)
    try:
        if not folder.is_dir():
            raise StickRefusal("stick_not_there", folder=str(folder))
        with open(unfinished, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(unfinished, target)
        _sync(folder)
    except OSError as error:
        unfinished.unlink(missing_ok=True)
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise StickRefusal("stick_full", folder=str(folder)) from error
        raise StickRefusal("stick_not_written", folder=str(folder)) from error
    return target


def files_in(folder: Path) -> tuple[list[tuple[Path, bytes, Mapping[str, Any]]], list[tuple[Path, SealedRefusal]]]:
    """Return a folder's sealed files, entries first, and those whose header can't be read.

    Photos come behind the entries that name them, each sender's in their order.
    """
    good, bad = [], []
    try:
        if not folder.is_dir():
            raise StickRefusal("stick_not_there", folder=str(folder))
        paths: Sequence[Path] = sorted(p for p in folder.iterdir() if p.suffix == ENDING and p.is_file())
    except OSError as error:
        raise StickRefusal("stick_not_there", folder=str(folder)) from error
    for path in paths:
        try:
            data = _read(path)
            good.append((path, data, header_of(data)))
        except SealedRefusal as refusal:
            bad.append((path, refusal))
    rank = {ENTRIES: 0, PHOTO: 1}
    good.sort(key=lambda f: (rank.get(f[2]["sort"], len(SORTS)), f[2]["from"], f[2]["order"], f[0].name))
    return good, bad


def _read(path: Path) -> bytes:
    try:
        with open(path, "rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise SealedRefusal("sealed_damaged") from error
    if len(data) > LARGEST_FILE:
        raise SealedRefusal("sealed_too_large", most=LARGEST_FILE // 1_000_000)
    return data


def _sync(folder: Path) -> None:
    """Some sticks know no such thing for a folder; the file itself is on them already."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)
