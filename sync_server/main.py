"""Run the server and its review page, or set it up.

Exit codes: 0 done, 1 refused (with a sentence), 2 wrong arguments, 130 broken off.
"""

from __future__ import annotations

import argparse
import gc
import getpass
import ipaddress
import json
import os
import signal
import socket
import ssl
import sys
from pathlib import Path
from typing import Sequence

import uvicorn

from shared_models.catalogue.sheets import demo_people
from shared_models.exports.archive_reading import open_archive
from shared_models.ledger.tablet_access import FOUNDER, HUB
from shared_models.quantities.refusals import Refusal
from shared_models.wording.server_sentences import server_sentence
from sync_server.app import create_app, open_server
from sync_server.routes.described import describe
from sync_server.routes.requests import Server
from sync_server.routes.watching import log_to_stderr
from sync_server.services import archiving, backing_up, own_key, staffing
from sync_server.services.soundness import check
from sync_server.services import above
from sync_server.services.carried_in import take_in_folder
from sync_server.services.judging import JudgingAnew
from sync_server.settings import SettingRefusal, Settings, settings_from

_DONE, _REFUSED, _BROKEN_OFF = 0, 1, 130
_BACKLOG = 128
#: Requests at once; more are answered 503 at once, and tablets try later.
_MOST_AT_ONCE = 100
#: On stopping, what is under way has so long to end.
_GRACE_S = 10
_OWNER_ONLY = 0o077


def main(argv: Sequence[str] | None = None) -> int:
    """Run ``stancebook server`` with these arguments; return the exit code."""
    told = _parser().parse_args(argv)
    os.umask(_OWNER_ONLY)  # store, key and backups are the operator's alone
    try:
        settings = settings_from(
            os.environ, host=told.host, port=told.port, store=told.store,
            tls_in_front=True if told.tls_in_front else None,
            proxies=tuple(told.proxy) if told.proxy else None,
            tls_certificate=told.tls_certificate, tls_key=told.tls_key,
        )
        return _run(told, settings)
    except Refusal as refusal:
        print(server_sentence(refusal), file=sys.stderr)
        return _REFUSED
    except KeyboardInterrupt:
        return _BROKEN_OFF


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="stancebook server",
        description="Run the server and its review page, or set it up.",
    )
    parser.add_argument("--host", help="address to listen on (127.0.0.1)")
    parser.add_argument("--port", type=_port, help="port to listen on (8765); 0 picks a free one")
    parser.add_argument("--store", help="file of the store, or URL of a database server")
    parser.add_argument("--tls-in-front", action="store_true",
                        help="a proxy ends TLS in front of this server")
    parser.add_argument("--proxy", metavar="ADDRESS", action="append", type=_ip,
                        help="with --tls-in-front: where that proxy comes from; may be said again")
    parser.add_argument("--tls-certificate", metavar="FILE", help="speak TLS with this certificate chain (PEM)")
    parser.add_argument("--tls-key", metavar="FILE", help="the key of that certificate (PEM)")
    parser.add_argument("--demo", action="store_true",
                        help="fill a fresh store with an invented clinic, staff and sheets")
    parser.add_argument("--print-code", metavar="FILE",
                        help="also write the one-time code of --demo into FILE")
    act = parser.add_mutually_exclusive_group()
    act.add_argument("--add-lead", metavar="LOGIN",
                     help="add a lead clinician (asks for name and password) and end")
    act.add_argument("--new-password", metavar="LOGIN",
                     help="give a lead clinician a new password and end")
    act.add_argument("--enrol-code", metavar="CLINIC", nargs="?", const="",
                     help="print a one-time code for a tablet of that clinic and end")
    act.add_argument("--revoke", metavar="TABLET", help="take a tablet's access away and end")
    act.add_argument("--rebuild", action="store_true",
                     help="make verdicts and read tables anew from the entries and end")
    act.add_argument("--backup", metavar="FOLDER",
                     help="copy store, key and photos into a new folder, also while the server runs, and end")
    act.add_argument("--restore", metavar="FOLDER",
                     help="check a backup, put it back as the store with a new epoch, and end")
    act.add_argument("--archive", metavar="FILE",
                     help="write the whole record of a clinic into one zip that can be read without this program, and end")
    act.add_argument("--take-archive", metavar="FILE",
                     help="check such an archive, take it into a store that holds no clinic, and end")
    act.add_argument("--check", action="store_true",
                     help="check pages, digests, chains, signatures and sequence of the store and end")
    act.add_argument("--mend-photos", action="store_true",
                     help="look at every photo's bytes, let tablets send again what is damaged or gone, and end; no process may run")
    act.add_argument("--begin-epoch", action="store_true",
                     help="after a database was restored: check it, begin a new epoch, end all sessions, and end")
    act.add_argument("--renew-key", action="store_true",
                     help="give the server a new signing key that the old one names, and end; no process may run")
    act.add_argument("--accept-new-key", action="store_true",
                     help="after the signing key was lost: go on with the key in the key file, and end")
    act.add_argument("--openapi", action="store_true",
                     help="print the OpenAPI document of this server and end")
    act.add_argument("--take-in", metavar="FOLDER",
                     help="take in what tablets carried on a stick, write their receipts beside it, and end")
    act.add_argument("--hub-code", metavar="CLINIC", nargs="?", const="",
                     help="print a one-time code for a server in the field (without CLINIC: it brings a clinic of its own) and end")
    act.add_argument("--founder-code", action="store_true",
                     help="print a one-time code for a tablet that founded its clinic without a server and end")
    act.add_argument("--join-above", metavar="ADDRESS", nargs=2,
                     help="with the address of the server above and its code: become its client, and end")
    act.add_argument("--send-up", action="store_true",
                     help="send to the server above what it lacks, fetch what it has, and end")
    parser.add_argument("--replace", action="store_true",
                        help="with --restore: set a store that is there aside under another name")
    parser.add_argument("--for", dest="code_for", metavar="STAFF[,STAFF]",
                        help="with --enrol-code: whose first keys on that tablet count at once; "
                             "with --add-lead: the one on the staff list who gets the log-in")
    parser.add_argument("--clinic", metavar="ID", help="the clinic, where there are several")
    parser.add_argument("--clinic-name", metavar="NAME",
                        help="with --add-lead: found a new clinic of this name")
    return parser


def _ip(text: str) -> str:
    try:
        return str(ipaddress.ip_address(text))
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"'{text}' must be an IP address") from error


def _port(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or int(text) > 65535:
        raise argparse.ArgumentTypeError(f"'{text}' must be a whole number from 0 to 65535")
    return int(text)


def _run(told: argparse.Namespace, settings: Settings) -> int:
    if told.openapi:
        in_memory = Settings(store=":memory:")
        print(json.dumps(describe(create_app(in_memory, open_server(in_memory))), indent=1, sort_keys=True))
        return _DONE
    if told.archive or told.take_archive:
        return _archive(told, settings)
    if any((told.backup, told.restore, told.check, told.begin_epoch, told.renew_key, told.accept_new_key)):
        return _look_after(told, settings)
    serving = not (told.add_lead or told.new_password or told.revoke or told.rebuild
                   or told.take_in or told.mend_photos or told.join_above or told.send_up
                   or told.founder_code or told.hub_code is not None or told.enrol_code is not None)
    if serving:
        settings.refuse_open_network()
    server = open_server(settings)
    try:
        if not serving:
            return _set_up(told, server)
        if told.demo:
            _demo(told, server)
        _serve(settings, server)
    finally:
        server.station.store.close()
    return _DONE


def _look_after(told: argparse.Namespace, settings: Settings) -> int:
    """Back up, restore or check; say what the store holds then."""
    aside: list[Path] = []
    if told.renew_key or told.accept_new_key:
        return _change_key(told, settings)
    if told.backup:
        counts = backing_up.back_up(settings, Path(told.backup))
    elif told.restore:
        counts, aside = backing_up.restore(settings, Path(told.restore), told.replace)
    else:
        store = backing_up.open_existing(settings)
        try:
            counts = backing_up.begin_again(store) if told.begin_epoch else check(store)
        finally:
            store.close()
    for clinic, held in counts.items():
        print(f"{clinic}: {held.entries} entries, {held.signatures} signatures, numbered to {held.last}: sound")
    for path in aside:
        print(f"set aside: {path}")
    if told.backup:
        print(f"backup: {told.backup}; it holds the server's signing key and names in plain, keep it locked away")
    if told.restore or told.begin_epoch:
        print("a new epoch has begun: tablets offer again what this store lacks")
    return _DONE


def _archive(told: argparse.Namespace, settings: Settings) -> int:
    """Write a clinic's archive, or take one, and say what is in it and what it leaves out."""
    if told.archive:
        backing_up.open_existing(settings).close()
        server = open_server(settings)
        try:
            clinic = staffing.chosen_clinic(server.station, told.clinic)
            done = archiving.write(server.station, server.lane.files, clinic, Path(told.archive))
        finally:
            server.station.store.close()
    else:
        with open_archive(Path(told.take_archive)) as archive:
            server = open_server(settings)
            try:
                done = archiving.take(server.station, server.lane.files, archive)
            finally:
                server.station.store.close()
    print(f"{done.clinic}: {done.entries} entries, {done.signatures} signatures, {done.photos} photos: sound")
    print(f"manifest SHA-256: {done.manifest_sha256}")
    if done.lacking:
        print(f"{done.lacking} photos that the record names are not in it: they were not on the server")
    if done.held:
        print(f"{done.held} items held back and not yet decided upon are not in it")
    if told.archive:
        print("it names people in plain, keep it locked away; the line above proves later that it is whole, keep it elsewhere")
    else:
        print("a new epoch has begun; add a lead clinician (--add-lead) and enrol the tablets again")
    return _DONE


def _change_key(told: argparse.Namespace, settings: Settings) -> int:
    backing_up.open_existing(settings).close()
    server = open_server(settings, own_key_known=told.renew_key)
    try:
        if told.renew_key:
            print(f"the old key is set aside: {own_key.renew(server.station, settings.signing_key_file)}")
        else:
            print(f"the new key is recorded in {own_key.introduce(server.station)} clinics")
    finally:
        server.station.store.close()
    return _DONE


def _set_up(told: argparse.Namespace, server: Server) -> int:
    station = server.station
    if told.add_lead:
        print(f"{told.add_lead} can log in now, for clinic {_add_lead(told, server)}.")
    elif told.new_password:
        staffing.give_new_password(
            station, server.door.accounts, told.new_password, _asked_password()
        )
        print(f"{told.new_password} has a new password.")
    elif told.revoke:
        taken = server.gate.revoke(told.revoke)
        print(f"Access taken away: {taken}." if taken else f"{told.revoke} had no access.")
    elif told.join_above or told.send_up:
        return _above(told, server)
    elif told.founder_code:
        print(f"one-time code for a founding tablet: {server.gate.new_code('', FOUNDER)}")
    elif told.hub_code is not None:
        clinic = staffing.chosen_clinic(station, told.hub_code) if told.hub_code else ""
        print(f"one-time code for a server in the field: {server.gate.new_code(clinic, HUB)}")
    elif told.mend_photos:
        return _mend_photos(server)
    elif told.take_in:
        return _take_in(server, Path(told.take_in))
    elif told.rebuild:
        for clinic in station.clinics():
            print(f"{clinic}: {station.rebuild(clinic)} fittings made anew from entries.")
    else:
        clinic = staffing.chosen_clinic(station, told.enrol_code or told.clinic)
        people = staffing.known_people(station, clinic, told.code_for or "")
        print(f"one-time enrolment code: {server.gate.new_code(clinic, people=people)}")
    return _DONE


def _add_lead(told: argparse.Namespace, server: Server) -> str:
    """Give a new lead clinician, or one who is on the staff list already, a log-in; return their clinic."""
    station, accounts = server.station, server.door.accounts
    if told.code_for:
        clinic = staffing.chosen_clinic(station, told.clinic)
        staff = staffing.known_lead(station, accounts, clinic, told.code_for)
        staffing.open_log_in(station, accounts, clinic, staff, told.add_lead, _asked_password())
        return clinic
    name, password = _asked("Name, as it is printed beside decisions: "), _asked_password()
    lead = staffing.NewLead(told.add_lead, name, password)
    staffing.refuse_new_lead(accounts, lead)
    clinic = (staffing.found_clinic(station, told.clinic_name) if told.clinic_name
              else staffing.chosen_clinic(station, told.clinic))
    staffing.add_lead(station, accounts, clinic, lead)
    return clinic


def _above(told: argparse.Namespace, server: Server) -> int:
    station = server.station
    if told.join_above:
        address, code = told.join_above
        known = station.clinics()
        clinic = staffing.chosen_clinic(station, told.clinic) if known else ""
        joined = above.join_above(station, address, code, clinic)
        print(f"Joined for clinic {joined}. Run --send-up to send and fetch.")
        return _DONE
    refused = 0
    for clinic in station.above.sync_clinics():
        done = above.send_up(station, server.lane, clinic)
        print(f"{clinic}: {done.sent} entries sent, {done.fetched} fetched, "
              f"{done.photos_up} photos sent, {done.photos_down} fetched.")
        for line in [*dict.fromkeys(server_sentence(r) for r in done.refused), *done.left]:
            print(f"  not taken: {line}")
            refused += 1
    return _REFUSED if refused else _DONE


def _mend_photos(server: Server) -> int:
    """Say which photos' bytes were not what they should be; refused where there were any."""
    wrong = server.lane.mend()
    for clinic, sha256, _code in wrong:
        print(f"{clinic}: the bytes of photo {sha256} are gone or not what they were")
    if not wrong:
        print("Every photo is what its name says.")
        return _DONE
    print(f"Photos asked for again: {len(wrong)}. A new epoch has begun: tablets send what they have.")
    return _REFUSED


def _take_in(server: Server, folder: Path) -> int:
    """Say of each file what became of it; refused where one was not taken."""
    lines = take_in_folder(server.station, server.lane, folder)
    for line in lines:
        print(f"{line.file}: {line.sentence or 'taken.'}")
    refused = sum(bool(line.code) for line in lines)
    print(f"{len(lines) - refused} of {len(lines)} files taken. The receipts lie beside them.")
    return _REFUSED if refused else _DONE


def _asked(question: str) -> str:
    print(question, end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().rstrip("\n")


def _asked_password() -> str:
    if sys.stdin.isatty():
        return getpass.getpass("Password (15 characters or more, not shown): ")
    return _asked("Password (15 characters or more): ")


def _demo(told: argparse.Namespace, server: Server) -> None:
    clinic = staffing.set_up_demo(server.station, server.door.accounts)
    people = [person["id"] for person in demo_people()["staff"]]
    code = server.gate.new_code(clinic, "demo tablet", people)
    lead = staffing.demo_lead()
    print("Demo with invented people; its passwords are public. Never use it for care.")
    print(f"review page: login {lead['login']}, password {lead['password']}")
    print(f"one-time enrolment code: {code}", flush=True)
    if told.print_code:
        path = Path(told.print_code)
        path.touch(mode=0o600)
        path.write_text(code + "\n")


def _serve(settings: Settings, server: Server) -> None:
    listener = _listener(settings.host, settings.port)
    port = listener.getsockname()[1]
    log_to_stderr()
    config = uvicorn.Config(
        create_app(settings, server), workers=1, log_level="warning", access_log=False,
        server_header=False, proxy_headers=False, limit_concurrency=_MOST_AT_ONCE,
        timeout_graceful_shutdown=_GRACE_S, ssl_certfile=settings.tls_certificate or None,
        ssl_keyfile=settings.tls_key or None,
    )
    try:
        config.load()
    except OSError as error:  # ssl.SSLError is one: unreadable, not PEM, not a pair
        listener.close()
        raise SettingRefusal("tls_file_unusable", file=settings.tls_certificate) from error
    if config.ssl is not None:
        config.ssl.minimum_version = ssl.TLSVersion.TLSv1_2
    shown = f"[{settings.host}]" if ":" in settings.host else settings.host
    scheme = "https" if config.ssl is not None else "http"
    print(f"listening on {scheme}://{shown}:{port}", flush=True)
    signal.signal(signal.SIGTERM, _end)
    gc.collect()
    gc.freeze()  # what is loaded stays, so the collector need not walk through it after each batch
    with JudgingAnew(server.station):
        uvicorn.Server(config).run(sockets=[listener])


def _end(*_signal: object) -> None:
    """uvicorn raises the signal again once what was under way has ended: that is no failure."""
    raise SystemExit(_DONE)


def _listener(host: str, port: int) -> socket.socket:
    """Return a listening socket; raises SettingRefusal ``address_in_use``."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # By the protocol's number asyncio knows that it is TCP, and sends each part of an answer at
    # once; otherwise the second part waits for the first to be acknowledged, some 40 ms.
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen(_BACKLOG)
    except OSError as error:
        listener.close()
        raise SettingRefusal("address_in_use", host=host, port=port) from error
    return listener


if __name__ == "__main__":
    sys.exit(main())
