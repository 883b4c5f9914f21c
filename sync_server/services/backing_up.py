"""Copying a server's store while it runs, and putting such a copy back.

A backup is a folder: the store (a consistent copy by SQLite's own backup), the
signing key, the photos' bytes, and a list of what there is with its SHA-256.
It appears under its name only when it is complete, checked and on the disk.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import sqlite3
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import Any

from sqlalchemy import delete, update

from shared_models.ledger.columns import SERVER
from shared_models.ledger.engine import Store
from shared_models.ledger.opening import open_store, program_version
from shared_models.ledger.faults_of_storage import StoreRefusal
from shared_models.ledger.schema import KNOWN_REVISIONS
from shared_models.ledger.store_file import examine
from shared_models.ledger.tables import web_session, wrong_try
from shared_models.quantities.moments import moment_text, now_here
from shared_models.quantities.refusals import Refusal
from sync_server.services.soundness import ClinicCount, check
from sync_server.settings import Settings

FORMAT = 1
STORE, KEY, PHOTOS, LIST = "store.sqlite", "signing-key", "attachments", "backup.json"
_PIECE = 1 << 20


class BackupRefusal(Refusal):
    """A backup can't be made, or is not put back; nothing was changed."""


def back_up(settings: Settings, folder: Path) -> dict[str, ClinicCount]:
    """Make a backup in ``folder``; return what it holds by clinic.

    Refused: ``store_of_older_form``, ``backup_of_database_server``, ``backup_folder_there``,
    ``store_missing``, ``backup_not_written``, and what ``check`` finds.
    """
    source = _file_of(settings, "backup_of_database_server")
    if not source.exists():
        raise BackupRefusal("store_missing", file=str(source))
    if folder.exists():
        raise BackupRefusal("backup_folder_there", folder=str(folder))
    examine(source)
    unfinished = folder.with_name(f"{folder.name}.unfinished")
    try:
        shutil.rmtree(unfinished, ignore_errors=True)
        unfinished.mkdir(parents=True, mode=0o700)
        _copy_store(source, unfinished / STORE)
        # After the store: whatever it names was there before.  Bytes never change.
        _copy_rest(settings, unfinished)
        counts = _checked(unfinished / STORE)
        _write_list(unfinished, counts)
        _to_disk(unfinished)
        os.replace(unfinished, folder)
    except (OSError, sqlite3.Error) as error:
        shutil.rmtree(unfinished, ignore_errors=True)
        raise BackupRefusal("backup_not_written", folder=str(folder)) from error
    except Refusal:
        shutil.rmtree(unfinished, ignore_errors=True)
        raise
    return counts


def restore(settings: Settings, folder: Path, replace: bool) -> tuple[dict[str, ClinicCount], list[Path]]:
    """Put a backup back as the store; return what it holds, and what was set aside.

    The backup is checked first; the store gets a new epoch, so that tablets
    offer again what it lacks, and all sessions end.  A store that is there is
    set aside under another name, and only when ``replace`` is told.  Refused:
    ``backup_damaged`` (figure ``finding``), ``backup_of_newer_form``,
    ``restore_over_store``, ``store_in_use``, ``restore_into_database_server``.
    """
    target = _file_of(settings, "restore_into_database_server")
    _check_list(folder)
    there = [p for p in _places(settings, target) if p.exists()]
    if there and not replace:
        raise BackupRefusal("restore_over_store", file=str(target))
    if target.exists():
        _refuse_in_use(target)
    fresh = target.with_name(f"{target.name}.restoring")
    for leftover in _with_logs(fresh):
        leftover.unlink(missing_ok=True)
    try:
        shutil.copyfile(folder / STORE, fresh)
        counts = _renewed(fresh)
    except OSError as error:
        raise BackupRefusal("backup_not_written", folder=str(target.parent)) from error
    except StoreRefusal as refusal:
        raise BackupRefusal("backup_damaged", finding=refusal.code) from refusal
    aside = [_set_aside(path, stays=path == target) for path in there if path.exists()]
    _put_rest_back(settings, folder)
    os.replace(fresh, target)
    _to_disk(target.parent)
    return counts, aside


def open_existing(settings: Settings) -> Store:
    """Open a store that is there, never a new one; refused ``store_missing``."""
    if "://" not in settings.store and not Path(settings.store).exists():
        raise BackupRefusal("store_missing", file=settings.store)
    return open_store(settings.store, SERVER)


def begin_again(store: Store) -> dict[str, ClinicCount]:
    """Check a store that came from a backup; give it a new epoch and end all sessions."""
    counts = check(store)
    with store.writing() as connection:
        connection.execute(update(web_session).where(web_session.c.ended_at.is_(None)).values(
            ended_at=moment_text(now_here())
        ))
        connection.execute(delete(wrong_try))
    store.begin_new_epoch()
    return counts


def _renewed(path: Path) -> dict[str, ClinicCount]:
    store = open_store(path, SERVER)
    try:
        return begin_again(store)
    finally:
        store.close()


def _file_of(settings: Settings, code: str) -> Path:
    if "://" in settings.store or settings.store == ":memory:":
        raise BackupRefusal(code)
    return Path(settings.store)


def _places(settings: Settings, target: Path) -> list[Path]:
    """What makes up a store: its file and logs, its key, its photos."""
    found = _with_logs(target)
    if settings.signing_key_file is not None:
        found.append(settings.signing_key_file)
    return [*found, _photos(settings)]


def _with_logs(path: Path) -> list[Path]:
    return [path, Path(f"{path}-wal"), Path(f"{path}-shm")]


def _photos(settings: Settings) -> Path:
    return Path(getattr(settings, "attachments_folder", settings.store + ".attachments"))


def _copy_store(source: Path, target: Path) -> None:
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)
        new.execute("PRAGMA journal_mode = DELETE")
        revision = new.execute("SELECT version_num FROM alembic_version").fetchone()
    if revision != (KNOWN_REVISIONS[-1],):
        raise BackupRefusal("store_of_older_form")


def _copy_rest(settings: Settings, folder: Path) -> None:
    key = settings.signing_key_file
    if key is not None and key.exists():
        shutil.copyfile(key, folder / KEY)
        (folder / KEY).chmod(0o600)
    if _photos(settings).is_dir():
        shutil.copytree(_photos(settings), folder / PHOTOS, ignore=shutil.ignore_patterns("*.part", "*.unfinished"))


def _put_rest_back(settings: Settings, folder: Path) -> None:
    key = settings.signing_key_file
    if key is not None and (folder / KEY).exists():
        shutil.copyfile(folder / KEY, key)
        key.chmod(0o600)
    if (folder / PHOTOS).is_dir():
        shutil.copytree(folder / PHOTOS, _photos(settings))


def _checked(path: Path) -> dict[str, ClinicCount]:
    store = open_store(path, SERVER)
    try:
        return check(store)
    finally:
        store.close()


def _write_list(folder: Path, counts: dict[str, ClinicCount]) -> None:
    files = {
        str(path.relative_to(folder)): _sha256(path)
        for path in sorted(folder.rglob("*")) if path.is_file()
    }
    said = {
        "format": FORMAT, "program": program_version(), "made_at": moment_text(now_here()),
        "files": files, "clinics": {clinic: asdict(count) for clinic, count in counts.items()},
    }
    (folder / LIST).write_text(json.dumps(said, indent=1, sort_keys=True), encoding="utf-8")


def _check_list(folder: Path) -> None:
    try:
        said: Any = json.loads((folder / LIST).read_text(encoding="utf-8"))
        files = dict(said["files"])
        if said["format"] != FORMAT:
            raise BackupRefusal("backup_of_newer_form")
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise BackupRefusal("backup_damaged", finding=f"{LIST} is missing or can't be read") from error
    if STORE not in files:
        raise BackupRefusal("backup_damaged", finding=f"{STORE} is not in its list")
    there = {str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file()} - {LIST}
    for name in sorted(there ^ set(files)):
        raise BackupRefusal("backup_damaged", finding=f"{name} is missing or was added")
    for name, digest in sorted(files.items()):
        if _sha256(folder / name) != digest:
            raise BackupRefusal("backup_damaged", finding=f"{name} was changed")


def _refuse_in_use(path: Path) -> None:
    """SQLite gives up its log only when nobody else has the file open."""
    try:
        with closing(sqlite3.connect(path, timeout=0.5, isolation_level=None)) as connection:
            if connection.execute("PRAGMA journal_mode = DELETE").fetchone()[0] == "delete":
                return
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF not in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            return  # damaged, and about to be set aside
    raise BackupRefusal("store_in_use", file=str(path))


def _set_aside(path: Path, stays: bool) -> Path:
    """Give a file its other name; the store itself stays until its successor is there."""
    moment = f"{now_here():%Y%m%d-%H%M%S}"
    aside, number = path.with_name(f"{path.name}.set-aside-{moment}"), 1
    while aside.exists():
        number += 1
        aside = path.with_name(f"{path.name}.set-aside-{moment}-{number}")
    if stays:
        os.link(path, aside)
    else:
        os.replace(path, aside)
    return aside


def _sha256(path: Path) -> str:
    found = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            found.update(piece)
    return found.hexdigest()


def _to_disk(folder: Path) -> None:
    for path in [folder, *folder.rglob("*")]:
        if path.is_dir() and os.name == "nt":
            continue
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
