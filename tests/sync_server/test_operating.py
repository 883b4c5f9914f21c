"""What the operator sees and sets: logs, counts, health, proxies, TLS, a graceful end."""

from __future__ import annotations

import json
import logging
import re
import socket
import ssl
import threading
from datetime import datetime, timedelta, timezone
from pathlib import Path

import httpx
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from fastapi.testclient import TestClient

from shared_models.quantities.refusals import Refusal
from sync_server.app import create_app
from sync_server.main import main
from sync_server.routes import requests as reading_requests
from sync_server.settings import SettingRefusal, Settings, settings_from
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import CHEAP
from tests.sync_server.server_process import ServerProcess

TOKEN = "a token of the operator"
NUMBER = "01632 960123"


@pytest.fixture
def pushed(house, tablet):
    assert tablet.push().status_code == 200
    return tablet


def lines_of(caplog) -> list[dict]:
    return [json.loads(r.getMessage()) for r in caplog.records if r.name == "stancebook.server"]


# Logs and counts ------------------------------------------------------------------------

def test_each_request_is_a_line_of_json_that_names_nobody(house, tablet, caplog):
    pushed = tablet
    pushed.desk.correct(pushed.desk.head("identity"), telephone=NUMBER)
    with caplog.at_level(logging.INFO, logger="stancebook.server"):
        assert pushed.push().status_code == 200
        lead = house.lead()
        assert NUMBER in lead.open().text
        assert NUMBER in lead.client.get("/parts?search=none+marked").text
        assert NUMBER in lead.client.get("/parts.csv?search=none+marked").text
        lead.client.get("/fittings?search=Ash+Example")
        pushed.pull()
        lead.client.get("/fittings/no-such-fitting")
    lines = lines_of(caplog)
    assert {(line["route"], line["status"]) for line in lines} >= {
        ("/fittings/{fitting}", 200), ("/fittings", 200), ("/exchange/{clinic}/entries", 200),
        ("/fittings/{fitting}", 404), ("/log-in", 303)}
    # The client of this test writes its own requests beside ours.
    said = "\n".join(r.getMessage() for r in caplog.records if r.name.startswith("stancebook"))
    assert said
    counts = TestClient(house.app, base_url="http://127.0.0.1", client=("127.0.0.1", 5)).get("/metrics")
    assert counts.status_code == 200 and "960123" not in counts.text
    assert not any("960123" in str(row) for row in house.audit()), "nor does the audit log hold it"
    for private in ("Ash", "Example", "960123", "fitting-1", "D-2041", CLINIC, pushed.name, pushed.token, "lior", "testclient"):
        assert private not in said
    assert all(line["ms"] >= 0 and line["bytes_out"] >= 0 and line["at"] for line in lines)


def test_a_fault_of_ours_is_said_without_what_was_typed(house, pushed, caplog, monkeypatch):
    def broken(*_args, **_more):
        raise RuntimeError("Ash Example, born 1988-04-02")

    monkeypatch.setattr("sync_server.routes.exchange.standing_for", broken)
    with caplog.at_level(logging.INFO):
        answer = pushed.client.get(f"/exchange/{CLINIC}/standing", headers=pushed.headers)
    assert answer.status_code == 500 and answer.json()["code"] == "fault"
    assert answer.headers["x-content-type-options"] == "nosniff"
    fault = next(line for line in lines_of(caplog) if line["event"] == "fault")
    assert fault["error"] == "builtins.RuntimeError" and any("broken" in frame for frame in fault["where"])
    assert "Ash" not in caplog.text and "Ash" not in answer.text


def test_counts_are_for_the_operator(house, pushed):
    client = house.client()
    assert client.get("/metrics").status_code == 404
    app = create_app(Settings(store=house.settings.store, metrics_token=TOKEN, stretch=CHEAP), house.server)
    client = TestClient(app, base_url="http://127.0.0.1")
    assert client.get("/metrics").status_code == 404
    assert client.get("/metrics", headers={"Authorization": "Bearer wrong"}).status_code == 404
    client.get(f"/exchange/{CLINIC}/standing", headers=pushed.headers)
    text = client.get("/metrics", headers={"Authorization": f"Bearer {TOKEN}"}).text
    asked = 'stancebook_requests_total{route="/exchange/{clinic}/standing",method="GET",status="200"} 1'
    assert asked in text and "stancebook_store_up 1" in text
    assert f"stancebook_entries {house.station.entries.count()}" in text
    for line in text.splitlines():
        assert line.startswith("# TYPE ") or re.fullmatch(r'[a-z_]+({[a-z]+="[^"]*"(,[a-z]+="[^"]*")*})? [0-9.e+-]+', line), line
    assert CLINIC not in text and pushed.name not in text


def test_the_counts_of_this_machine_are_not_given_through_a_proxy_of_it(house):
    client = TestClient(house.app, base_url="http://127.0.0.1", client=("127.0.0.1", 5))
    assert client.get("/metrics").status_code == 200
    assert client.get("/metrics", headers={"X-Forwarded-For": "203.0.113.9"}).status_code == 404


def test_health_says_when_the_store_cannot_be_read(house, monkeypatch):
    assert house.client().get("/health").json()["status"] == "ok"

    def gone(*_args, **_more):
        raise Refusal("database_not_reached")

    monkeypatch.setattr(house.station.entries, "newest_clock", gone)
    answer = house.client().get("/health")
    assert answer.status_code == 503 and answer.json()["status"] == "database_not_reached"


# Proxies --------------------------------------------------------------------------------

def proxied(house, peer: str) -> TestClient:
    settings = Settings(store=house.settings.store, tls_in_front=True, proxies=("10.0.0.5",), stretch=CHEAP)
    return TestClient(create_app(settings, house.server), base_url="http://127.0.0.1", client=(peer, 9))


def test_behind_a_proxy_only_the_named_one_is_let_through(house):
    assert proxied(house, "10.0.0.6").get("/log-in").status_code == 403
    assert proxied(house, "127.0.0.1").get("/log-in").status_code == 403
    assert proxied(house, "10.0.0.5").get("/log-in").status_code == 200
    answer = proxied(house, "10.0.0.6").get(f"/exchange/{CLINIC}/standing")
    assert answer.json()["code"] == "not_through_proxy" and answer.headers["x-frame-options"] == "DENY"


def test_what_came_to_the_proxy_in_plain_is_refused(house):
    answer = proxied(house, "10.0.0.5").get("/log-in", headers={"X-Forwarded-Proto": "http"})
    assert answer.status_code == 403 and "https only" in answer.text


@pytest.mark.parametrize("told, noted", [
    ("203.0.113.9", "203.0.113.9"), ("198.51.100.1, 203.0.113.9", "203.0.113.9"),
    ("203.0.113.9, 10.0.0.5", "203.0.113.9"), ("made up", "10.0.0.5"), ("", "10.0.0.5"),
])
def test_the_audit_log_names_the_client_and_not_what_a_client_makes_up(house, told, noted):
    proxied(house, "10.0.0.5").get(f"/exchange/{CLINIC}/standing", headers={"X-Forwarded-For": told} if told else {})
    assert house.audit()[-1].from_where == noted


@pytest.mark.parametrize("settings, code", [
    (Settings(host="0.0.0.0"), "needs_tls"), (Settings(host="192.0.2.1"), "needs_tls"),
    (Settings(host="0.0.0.0", tls_in_front=True), "proxy_not_named"),
    (Settings(tls_certificate="a.pem"), "tls_half_set"),
    (Settings(tls_certificate="a.pem", tls_key="k.pem", tls_in_front=True), "tls_twice"),
])
def test_plain_http_reaches_this_machine_or_a_named_proxy_only(settings, code):
    with pytest.raises(SettingRefusal) as refused:
        settings.refuse_open_network()
    assert refused.value.code == code


def test_the_environment_names_proxies_by_address():
    assert settings_from({"STANCEBOOK_PROXIES": "10.0.0.5, 2001:db8::1"}).proxies == ("10.0.0.5", "2001:db8::1")
    with pytest.raises(SettingRefusal):
        settings_from({"STANCEBOOK_PROXIES": "proxy.example"})


# Limits ---------------------------------------------------------------------------------

def test_a_sender_that_falls_silent_is_let_go(house, pushed, monkeypatch):
    monkeypatch.setattr(reading_requests, "LONGEST_SILENCE_S", 0.05)
    address, stop = served(house.app)
    try:
        with socket.create_connection(address, timeout=10) as line:
            line.sendall((f"POST /exchange/{CLINIC}/entries HTTP/1.1\r\nHost: 127.0.0.1\r\n"
                          f"Authorization: Bearer {pushed.token}\r\nContent-Length: 1000\r\n\r\nonly this").encode())
            answer = line.recv(4000)
        assert b" 408 " in answer.split(b"\r\n")[0]
    finally:
        stop()


def test_what_is_told_to_be_huge_is_refused_before_it_is_read(house, pushed):
    answer = pushed.client.post(f"/exchange/{CLINIC}/entries", headers={**pushed.headers, "Content-Length": str(10**12)}, content=b"x")
    assert answer.status_code == 413


def served(app):
    """A real uvicorn in this process; return its address and what stops it."""
    import uvicorn

    listener = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()

    def stop() -> None:
        server.should_exit = True
        thread.join(timeout=15)
        listener.close()

    return listener.getsockname(), stop


# TLS and the end ------------------------------------------------------------------------

def certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate for localhost that signs itself."""
    key = ec.generate_private_key(ec.SECP256R1())
    name, now = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")]), datetime.now(timezone.utc)
    made = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name).public_key(key.public_key())
        .serial_number(7).not_valid_before(now - timedelta(days=1)).not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    paths = folder / "certificate.pem", folder / "key.pem"
    paths[0].write_bytes(made.public_bytes(serialization.Encoding.PEM))
    paths[1].write_bytes(key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()))
    return paths


def test_the_server_speaks_tls_by_itself_ends_well_and_logs_no_path(tmp_path):
    chain, key = certificate(tmp_path)
    process = ServerProcess(str(tmp_path / "s"), tmp_path / "k", "--tls-certificate", str(chain), "--tls-key", str(key))
    try:
        assert process.address.startswith("https://")
        trusted = ssl.create_default_context(cafile=str(chain))
        address = process.address.replace("127.0.0.1", "localhost")
        answer = httpx.get(address + "/log-in", verify=trusted)
        assert answer.status_code == 200
        assert answer.headers["strict-transport-security"].startswith("max-age=")
        assert "Secure" in answer.headers["set-cookie"] and "__Host-" in answer.headers["set-cookie"]
        with pytest.raises(httpx.ConnectError):
            httpx.get(address + "/log-in")  # nobody vouches for this certificate
        old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        old.check_hostname, old.verify_mode = False, ssl.CERT_NONE
        old.minimum_version, old.maximum_version = ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1
        with pytest.raises((ssl.SSLError, OSError)):
            with socket.create_connection(("127.0.0.1", int(address.rpartition(":")[2])), timeout=5) as line:
                old.wrap_socket(line)
    finally:
        assert process.stop() == 0
    lines = [json.loads(line) for line in process.said if line.startswith("{")]
    assert {"/log-in"} == {line["route"] for line in lines} and "Traceback" not in "".join(process.said)


@pytest.mark.parametrize("spoil", ["missing", "not PEM", "other key"])
def test_tls_files_that_do_not_serve_are_refused_in_words(tmp_path, capsys, spoil):
    chain, key = certificate(tmp_path)
    if spoil == "missing":
        chain.unlink()
    elif spoil == "not PEM":
        chain.write_text("no certificate")
    else:
        (tmp_path / "other").mkdir()
        key = certificate(tmp_path / "other")[1]
    code = main(["--store", str(tmp_path / "s"), "--port", "0", "--tls-certificate", str(chain), "--tls-key", str(key)])
    said = capsys.readouterr().err
    assert code == 1 and "Certificate and key" in said and "Traceback" not in said


def test_what_is_under_way_when_the_server_is_told_to_end_is_finished(house, pushed, monkeypatch):
    """The answer of a push that was being taken comes, and what it acknowledges is there."""
    from sync_server.routes import exchange

    began, take = threading.Event(), exchange.take_batch
    go_on = threading.Event()

    def slowly(*args):
        began.set()
        go_on.wait(timeout=20)
        return take(*args)

    monkeypatch.setattr(exchange, "take_batch", slowly)
    pushed.desk.turn("swing_flexion", "9")
    address, stop = served(house.app)
    answers = []
    client = httpx.Client(base_url=f"http://127.0.0.1:{address[1]}", timeout=30)
    pusher = threading.Thread(target=lambda: answers.append(client.post(
        f"/exchange/{CLINIC}/entries", headers=pushed.headers, content=pushed.packed())))
    pusher.start()
    assert began.wait(timeout=10)
    stopper = threading.Thread(target=stop)
    stopper.start()
    go_on.set()
    pusher.join(timeout=30)
    stopper.join(timeout=30)
    assert [a.status_code for a in answers] == [200]
    assert house.station.entries.has(pushed.own()[-1].digest)
