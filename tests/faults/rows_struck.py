"""F5, F6, F8 and F9: a tablet and a server hit at each write and each sync."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import Callable, Iterable

from shared_models.exchange import batch as batches
from shared_models.exchange.chains import verify_chain
from shared_models.quantities.refusals import Refusal
from mobile.keeping.session import Session
from tests.faults.invariants import sound_file
from tests.faults.schedules import Ground, Tally
from tests.faults.struck import (
    FULL, KILL, NO_SYNC, Say, Struck, beside, can_strike, stop_here, strike,
)
from tests.faults.wire import ADDRESS, Asked, ask
from tests.faults.world import CLINIC, FITTING, STAFF, SimServer, opened

PHOTO = bytes(range(256)) * 2500  # three pieces of an attachment
DRAFT = f"fitting/{FITTING.id}/setting/swing_flexion"
_MOST = 400


def _record(session: Session, say: Say) -> None:
    _save(session, say, "setting", {"function": "swing_flexion", "position": "4", "reason": "trial"})


def _save(session: Session, say: Say, kind: str, body: dict, **more: object) -> None:
    say("saved " + session.save(kind, FITTING, body, **more).digest)  # type: ignore[arg-type]


def _correct(session: Session, say: Say) -> None:
    wrong = session.fitting(FITTING.id).head("body")
    say("saved " + session.correct(wrong, {**wrong.body, "body_mass_kg": "81"}, "mistyped").digest)


def _sign(session: Session, say: Say) -> None:
    _save(session, say, "sign_off", {"technician": STAFF, "way": "witnessed"})


def _typed_then_saved(session: Session, say: Say) -> None:
    session.entries.keep_draft(DRAFT, {"position": "6"})
    say("draft")
    body = {"function": "swing_flexion", "position": "6", "reason": "trial"}
    _save(session, say, "setting", body, draft=DRAFT)


def _photo(session: Session, say: Say) -> None:
    digest = session.entries.keep_attachment(PHOTO)
    _save(session, say, "photo", {
        "photo": "photo-1", "shows": "other", "sha256": digest, "media_type": "image/jpeg",
        "size_kb": str(len(PHOTO) // 1000), "width_px": "800", "height_px": "600",
    })


def _twice_and_withdrawn(session: Session, say: Say) -> None:
    _record(session, say)
    head = session.fitting(FITTING.id).head("setting/swing_flexion")
    say("saved " + session.withdraw(head, "wrong_person").digest)


ACTIONS: dict[str, Callable[[Session, Say], None]] = {
    "a valve is recorded": _record, "a body mass is corrected": _correct,
    "a fitting is signed off": _sign, "a draft is typed and saved": _typed_then_saved,
    "a photo is kept and named": _photo, "a valve is recorded and withdrawn": _twice_and_withdrawn,
}


def _tablet_child(folder: Path, action: str, again: bool) -> Callable[[Say], None]:
    def child(say: Say) -> None:
        tablet, session = opened(folder)
        before = session.entries.count()
        stop_here()
        try:
            ACTIONS[action](session, say)
            say("done")
        except Refusal as refusal:
            say(f"refused {refusal.code}")
            if session.entries.count() < before:
                say("fault what was there can't be read")
        if again:
            stop_here()
            ACTIONS[action](session, lambda line: say("again-" + line))
        tablet.close()
    return child


def _must_hold(folder: Path, struck: Struck, where: str, tally: Tally) -> None:
    """What was told is there; the rest whole or not at all; the file is sound."""
    tally.broken += [f"{where}: {line}" for line in struck.said if line.startswith("fault")]
    tablet, session = opened(folder)
    try:
        told = struck.digests() + struck.digests("again-saved")
        for digest in told:
            entry = session.entries.by_digest(digest)
            if entry is None:
                tally.lost += 1
                tally.broken.append(f"{where}: I1: told saved, and gone")
            elif entry.kind == "sign_off" and not session.entries.signatures(signs=[digest]):
                tally.broken.append(f"{where}: I4: a sign-off without its signature")
            elif entry.kind == "photo" and session.entries.attachment(str(entry.body["sha256"])) != PHOTO:
                tally.broken.append(f"{where}: I7: a photo's bytes are gone")
        for entry in session.entries.entries(CLINIC, FITTING):
            if entry.kind == "sign_off" and not session.entries.signatures(signs=[entry.digest]):
                tally.broken.append(f"{where}: I4: half a sign-off, without its signature")
        if "draft" in struck.said and not told and session.draft(DRAFT) != {"position": "6"}:
            if session.fitting(FITTING.id).head("setting/swing_flexion") is None:
                tally.broken.append(f"{where}: a draft is gone")
        bad = verify_chain(session.entries.chain_rows(CLINIC, session.tablet))
        wrong = sound_file(tablet.path) or (bad.code if bad else "")
        if wrong:
            tally.broken.append(f"{where}: I6: {wrong}")
    finally:
        tablet.close()


def _each(
    ground: Ground, tally: Tally, injected: str, again: bool, until: float, step: int = 1,
    actions: Iterable[str] = tuple(ACTIONS),
) -> None:
    """Hit each call of each action, until the action goes through unhit."""
    template = ground.fresh()
    for action in actions:
        for number in range(1, _MOST, step):
            if time.monotonic() > until:
                tally.notes["not reached in time"] += 1
                break
            folder = beside(template / "a", "struck")
            struck = strike(
                _tablet_child(folder, action, again), injected.format(n=number), 2 if again else 1
            )
            if not struck.killed and not any(s.startswith("refused") for s in struck.said):
                _must_hold(folder, struck, f"{action}, unhit", tally)
                break  # there is no call of that number any more
            tally.runs += 1
            tally.faults += 1
            _must_hold(folder, struck, f"{action}, call {number} ({injected[:24]})", tally)
    shutil.rmtree(template, ignore_errors=True)


def killed_tablet(
    ground: Ground, tally: Tally, until: float, step: int = 1,
    actions: Iterable[str] = tuple(ACTIONS),
) -> None:
    """F5: the tablet is killed at each write of six actions."""
    _each(ground, tally, KILL, False, until, step, actions)


def full_disk(ground: Ground, tally: Tally, until: float, step: int = 1) -> None:
    """F8: the disk is full from each write on, of a tablet and of a server; then there is space again."""
    _each(ground, tally, FULL, True, until, step)
    _each_of_server(ground, tally, FULL, until, step)


def failed_sync(ground: Ground, tally: Tally, until: float, step: int = 1) -> None:
    """F9: each sync to the disk fails once, of a tablet and of a server; nothing is called saved by it."""
    _each(ground, tally, NO_SYNC, True, until, step)
    _each_of_server(ground, tally, NO_SYNC, until, step)


# the server ------------------------------------------------------------------------

def hundred(folder: Path) -> Asked:
    """Record a hundred entries on a tablet; return the push that would send them."""
    tablet, session = opened(folder)
    first = session.author.end.number + 1
    with tablet.store.together():
        for number in range(100):
            session.save("setting", FITTING, {
                "function": "swing_flexion", "position": str(number % 9 + 1), "reason": "trial",
            })
    entries = session.entries.chain(CLINIC, session.tablet, first)
    batch = batches.batch_of(CLINIC, entries, [session.sign_head(entries[-1])])
    token = session.entries.sync_state(CLINIC).access["token"]
    tablet.close()
    return Asked("POST", f"{ADDRESS}/exchange/{CLINIC}/entries", {
        "Authorization": f"Bearer {token}", "Content-Type": "application/json",
        "Content-Encoding": "gzip",
    }, batches.encode(batch))


def _server_child(folder: Path, push: Asked, again: bool = False) -> Callable[[Say], None]:
    def child(say: Say) -> None:
        server = SimServer(folder)
        stop_here()
        answer = ask(server.app, push)
        say(f"answered {answer.status_code}")
        say(f"stored {entries_in(server.path)}")
        say("done")
        if again:
            stop_here()
            say(f"again {ask(server.app, push).status_code}")
        server.close()
    return child


def entries_in(path: Path) -> int:
    """Count entries and that none stands twice."""
    with closing(sqlite3.connect(path)) as raw:
        count, ids = raw.execute("SELECT count(*), count(DISTINCT entry_id) FROM entry").fetchone()
    return count if count == ids else -1


def killed_server(ground: Ground, tally: Tally, until: float, step: int = 1) -> None:
    """F6: the server is killed at each write of a push of a hundred entries."""
    template = ground.fresh()
    push = hundred(template / "a")
    before = entries_in(template / "server" / "server.sqlite")
    for number in range(1, 2 * _MOST, step):
        if time.monotonic() > until:
            tally.notes["not reached in time"] += 1
            break
        folder = beside(template / "server", "struck-server")
        struck = strike(_server_child(folder, push), KILL.format(n=number))
        if struck.whole:
            break
        tally.runs += 1
        tally.faults += 1
        _server_must_hold(folder, struck, push, before, f"write {number}", tally)
    shutil.rmtree(template, ignore_errors=True)


def _each_of_server(ground: Ground, tally: Tally, injected: str, until: float, step: int) -> None:
    """Hit each call of a push of a hundred entries; then the disk is well, and it is sent again."""
    template = ground.fresh()
    push = hundred(template / "a")
    before = entries_in(template / "server" / "server.sqlite")
    for number in range(1, 2 * _MOST, step):
        if time.monotonic() > until:
            tally.notes["not reached in time"] += 1
            break
        folder = beside(template / "server", "struck-server")
        struck = strike(_server_child(folder, push, True), injected.format(n=number), 2)
        if "answered 200" in struck.said:
            _server_must_hold(folder, struck, push, before, f"server, call {number}, unhit", tally)
            if number == 1:
                tally.broken.append("server: no call of a push could be hit, or the first is of no matter")
            break
        tally.runs += 1
        tally.faults += 1
        where = f"server, call {number} ({injected[:24]})"
        tally.broken += [f"{where}: {line}" for line in struck.said if line.startswith("fault")]
        if "answered 503" not in struck.said or f"stored {before}" not in struck.said:
            tally.broken.append(f"{where}: I6: {struck.said}")
        if "again 200" not in struck.said:
            tally.broken.append(f"{where}: the push is not taken once the disk is well: {struck.said}")
        _server_must_hold(folder, struck, push, before, where, tally)
    shutil.rmtree(template, ignore_errors=True)


def _server_must_hold(
    folder: Path, struck: Struck, push: Asked, before: int, where: str, tally: Tally,
) -> None:
    server = SimServer(folder)
    try:
        stored = entries_in(server.path) - before
        if stored not in (0, 100):
            tally.broken.append(f"{where}: I1: {stored} of 100 entries stored")
        if "answered 200" in struck.said and stored != 100:
            tally.lost += 100 - stored
            tally.broken.append(f"{where}: I1: acknowledged and gone")
        tally.notes["in doubt, settled by the retry"] += stored == 100 and not struck.said
        if ask(server.app, push).status_code != 200:
            tally.broken.append(f"{where}: the retry was refused")
        after = entries_in(server.path) - before
        if after != 100:
            tally.doubled += max(0, after - 100)
            tally.broken.append(f"{where}: I2: {after} entries after the retry")
        wrong = sound_file(server.path)
        if wrong:
            tally.broken.append(f"{where}: I6: {wrong}")
    finally:
        server.close()


def why_not() -> str:
    """Return why nothing can be struck here, "" where it can."""
    return can_strike()


def digest_of(data: bytes) -> str:
    """Return the SHA-256 of bytes, hex."""
    return hashlib.sha256(data).hexdigest()
