"""Starting and setting up the server from the command line."""

from __future__ import annotations

import io
import re
import socket
import subprocess
import sys
import time

import httpx
import pytest

from shared_models.ledger.opening import open_store
from sync_server.main import main
from tests.fitting_desk import CLINIC, LEAD, TECHNICIAN
from tests.sync_server.conftest import make_house
from tests.sync_server.test_changing_roles import change

PASSWORD = "four unrelated words here"


def run(monkeypatch, capsys, *argv: str, typed: str = "") -> tuple[int, str, str]:
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    code = main(list(argv))
    out = capsys.readouterr()
    return code, out.out, out.err


def test_http_beyond_this_machine_is_refused(monkeypatch, capsys, tmp_path):
    code, _, said = run(monkeypatch, capsys, "--host", "0.0.0.0", "--store", str(tmp_path / "s"))
    assert code == 1 and "TLS" in said and not (tmp_path / "s").exists()


@pytest.mark.parametrize("make, says", [
    (lambda p: p.write_text("no database"), "no Stancebook store"),
    (lambda p: open_store(p, "tablet").close(), "store of a tablet"),
])
def test_a_file_that_is_no_servers_store_is_refused_with_a_sentence(monkeypatch, capsys, tmp_path, make, says):
    path = tmp_path / "s"
    make(path)
    before = path.read_bytes()
    code, _, said = run(monkeypatch, capsys, "--store", str(path), "--port", "0")
    assert code == 1 and says in said and "Traceback" not in said
    assert path.read_bytes() == before


def test_a_taken_port_is_refused_with_a_sentence(monkeypatch, capsys, tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        code, _, said = run(monkeypatch, capsys, "--store", str(tmp_path / "s"), "--port", port)
    assert code == 1 and port in said


def test_a_setting_of_the_environment_is_checked(monkeypatch, capsys, tmp_path):
    monkeypatch.setenv("STANCEBOOK_PORT", "many")
    code, _, said = run(monkeypatch, capsys, "--store", str(tmp_path / "s"))
    assert code == 1 and "STANCEBOOK_PORT" in said and "whole number" in said


def test_without_the_demo_there_is_no_account(monkeypatch, capsys, tmp_path):
    store = str(tmp_path / "s")
    code, out, said = run(monkeypatch, capsys, "--store", store, "--enrol-code")
    assert code == 1 and "--clinic-name" in said and out == ""


def test_a_lead_clinician_is_added_by_hand_and_gives_out_codes(monkeypatch, capsys, tmp_path):
    store = str(tmp_path / "s")
    code, out, _ = run(monkeypatch, capsys, "--store", store, "--add-lead", "ada.inv",
                       "--clinic-name", "North", typed=f"Ada Invented\n{PASSWORD}\n")
    assert code == 0 and PASSWORD not in out
    code, out, _ = run(monkeypatch, capsys, "--store", store, "--enrol-code")
    assert code == 0 and re.search(r"([A-Z2-9]{4}-){3}[A-Z2-9]{4}", out)
    again = run(monkeypatch, capsys, "--store", store, "--add-lead", "ada.inv", typed=f"Ada\n{PASSWORD}\n")
    assert again[0] == 1 and "taken" in again[2]
    weak = run(monkeypatch, capsys, "--store", store, "--add-lead", "bo.inv", typed="Bo\nshort\n")
    assert weak[0] == 1 and "at least 15" in weak[2]
    renewed = run(monkeypatch, capsys, "--store", store, "--new-password", "ada.inv", typed=f"{PASSWORD} too\n")
    assert renewed[0] == 0
    unknown = run(monkeypatch, capsys, "--store", store, "--new-password", "zoe", typed=f"{PASSWORD}\n")
    assert unknown[0] == 1 and "no login zoe" in unknown[2]


def test_a_colleague_made_lead_on_the_page_gets_a_log_in_of_their_own(monkeypatch, capsys, tmp_path):
    house = make_house(tmp_path)
    asked = ("--store", house.settings.store, "--add-lead", "tam.inv", "--for")

    def told(staff: str, password: str = PASSWORD):
        return run(monkeypatch, capsys, *asked, staff, typed=f"{password}\n")

    code, _, said = told(TECHNICIAN)
    assert code == 1 and "is no lead clinician" in said
    assert change(house.lead(), TECHNICIAN, "technician", "lead_clinician").status_code == 303
    code, _, said = told("nobody-1")
    assert code == 1 and TECHNICIAN in said, "it says who there is"
    assert told(TECHNICIAN, "short")[0] == 1
    assert told(TECHNICIAN)[0] == 0
    code, _, said = told(TECHNICIAN)
    assert code == 1 and "can log in already, as tam.inv" in said
    lead = house.lead(logged_in=False)
    assert lead.log_in("tam.inv", PASSWORD).status_code == 303
    with house.station.reading(CLINIC) as reading:
        assert not reading.staff_record().vouched.without, "their key counts"
    assert change(lead, LEAD, "prosthetist", password=PASSWORD).status_code == 303
    house.station.store.close()


def test_store_and_key_are_readable_by_their_owner_only(monkeypatch, capsys, tmp_path):
    run(monkeypatch, capsys, "--store", str(tmp_path / "s"), "--rebuild")
    modes = {p.name: p.stat().st_mode & 0o077 for p in tmp_path.iterdir()}
    assert "s.signing-key" in modes and set(modes.values()) == {0}


def test_the_demo_of_a_real_process_can_be_reached_and_ends_when_told(tmp_path):
    code = tmp_path / "code"
    process = subprocess.Popen(
        [sys.executable, "-m", "sync_server.main", "--demo", "--port", "0",
         "--store", str(tmp_path / "s"), "--print-code", str(code)],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )
    try:
        lines = iter(process.stdout.readline, "")
        address = next(line for line in lines if "listening on" in line).split()[-1]
        assert code.read_text().count("-") == 3
        assert _answer(address + "/health") == 200 and _answer(address + "/log-in") == 200
    finally:
        process.terminate()
        process.wait(timeout=20)
    assert "Traceback" not in process.stdout.read()


def _answer(url: str) -> int:
    for _ in range(100):
        try:
            return httpx.get(url).status_code
        except httpx.TransportError:
            time.sleep(0.1)
    raise AssertionError(f"{url} can't be reached")
