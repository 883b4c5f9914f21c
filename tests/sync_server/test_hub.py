"""A laptop in the field takes tablets in, and later brings everything to the server above it."""

from __future__ import annotations

import random
from urllib.parse import urlsplit

import pytest
from sqlalchemy import select

from shared_models.entries.signatures import new_key, public_text
from shared_models.exchange import lane
from shared_models.exchange.chains import verify_chain
from shared_models.ledger.sealing import SealingRefusal
from shared_models.ledger.tables import sync_state, verdict
from shared_models.ledger.tablet_access import HUB
from sync_server.app import create_app, open_server
from shared_models.wording.server_sentences import server_sentence
from sync_server.services import own_key, staffing
from sync_server.services.above import AboveRefusal, join_above, send_up
from sync_server.services.above_states import AboveStates
from sync_server.settings import Settings
from tests.fitting_desk import CLINIC
from tests.sync_server.conftest import CHEAP, House, JoinedDesk
from tests.sync_server.cut_lines import listening
from tests.sync_server.photos import photo_of, png, sha256
from tests.shared_models.making import rows_of

PICTURE = png(700_000, seed=9)

pytestmark = pytest.mark.both_stores


def server_in(folder, store: str = "") -> House:
    """A server in the field: over a file, or over a database with its key in the folder."""
    settings = Settings(store=store or str(folder / "hub.sqlite"), key_file=str(folder / "hub.key"), stretch=CHEAP)
    folder.mkdir(exist_ok=True)
    server = open_server(settings)
    return House(server, create_app(settings, server), settings)


@pytest.fixture
def hub(tmp_path, store_kind, request):
    """A server in the field, on the same kind of store as the one above it."""
    database = store = ""
    if store_kind == "postgresql":
        postgres = request.getfixturevalue("postgres")
        database = postgres.database()
        store = postgres.url(database)
    found = server_in(tmp_path / "field", store)
    yield found
    found.station.store.close()
    if database:
        postgres.drop(database)


def again_of(hub) -> House:
    """The same server in the field, opened once more."""
    return server_in(hub.settings.signing_key_file.parent, hub.settings.store)


def line_to(house, cut: random.Random | None = None):
    """The hub's way to the server above; with ``cut`` every third request or answer is lost."""
    client = house.client()

    def web(method, url, headers, body):
        if cut and cut.random() < 0.2:
            raise AboveRefusal("above_not_reached")
        parts = urlsplit(url)
        answer = client.request(method, f"{parts.path}?{parts.query}", headers=headers, content=body)
        if cut and cut.random() < 0.15:
            raise AboveRefusal("above_not_reached")
        return lane.Answer(answer.status_code, dict(answer.headers), answer.content)

    return web


def joined(hub, house, clinic: str = CLINIC) -> None:
    assert join_above(hub.station, "http://127.0.0.1", house.server.gate.new_code(clinic, HUB), web=line_to(house)) == clinic


def up(hub, house, web=None):
    return send_up(hub.station, hub.server.lane, CLINIC, web or line_to(house))


def everything(house) -> tuple[set[str], set[str]]:
    entries = house.station.entries.entries(CLINIC)
    return {e.digest for e in entries}, {s.digest for s in house.station.entries.signatures(CLINIC)}


def a_whole_fitting(hub):
    """A tablet of the hub sends a whole signed fitting with a photo."""
    tablet = hub.tablet(JoinedDesk("field-tablet"))
    tablet.take_all()
    tablet.desk.staff().before_the_bench().on_the_bench().tune().close().hand_over()
    tablet.desk.note("photo", photo_of(sha256(PICTURE)))
    tablet.desk.request_review()
    assert tablet.push().status_code == 200, tablet.push().text

    def ask(method, name, headers, content):
        answer = tablet.client.request(
            method, f"/exchange/{CLINIC}/attachments/{name}", headers={**tablet.headers, **headers}, content=content)
        return lane.Answer(answer.status_code, dict(answer.headers), answer.content)

    lane.send(ask, sha256(PICTURE), len(PICTURE), lambda at, most: PICTURE[at:at + most])
    return tablet


def test_what_tablets_brought_to_the_hub_arrives_above_unharmed_with_every_signature(hub, house):
    joined(hub, house)
    assert up(hub, house).fetched > 0, "clinic, staff and sheets came down"
    tablet = a_whole_fitting(hub)
    done = up(hub, house)
    assert done.refused == [] and done.photos_up == 1
    assert everything(hub) == everything(house)
    assert house.server.lane.files.path(CLINIC, sha256(PICTURE)).read_bytes() == PICTURE
    for server in (hub, house):
        chain = server.station.entries.chain(CLINIC, tablet.name)
        assert verify_chain(rows_of(chain)) is None and len(chain) == tablet.desk.author.end.number
    assert _verdict(hub) == _verdict(house) and _verdict(house)[0] == "complete"
    again = up(hub, house)
    assert (again.sent, again.fetched, again.photos_up) == (0, 0, 0), "nothing new: nothing travels"


def _verdict(house) -> tuple[str, str, str]:


    with house.station.store.reading() as connection:
        row = connection.execute(select(verdict)).one()
    return row.state, row.review, row.fingerprint


def test_a_review_above_comes_down_to_the_hub_and_from_there_to_the_tablet(hub, house):
    joined(hub, house)
    up(hub, house)
    tablet = a_whole_fitting(hub)
    up(hub, house)
    lead = house.lead()
    assert lead.decide(lead.open(), "accepted").status_code == 303
    assert up(hub, house).fetched == 1
    assert _verdict(hub)[1] == "accepted"
    tablet.take_all()
    assert tablet.desk.verdict().review == "accepted"


def test_a_line_that_is_cut_again_and_again_loses_and_doubles_nothing(hub, house):
    joined(hub, house)
    up(hub, house)
    a_whole_fitting(hub)
    chance = random.Random(5)
    lost = 0
    for _ in range(200):
        try:
            up(hub, house, line_to(house, chance))
            break
        except AboveRefusal:
            lost += 1
    assert lost > 2
    up(hub, house)
    assert everything(hub) == everything(house)
    assert house.server.lane.files.path(CLINIC, sha256(PICTURE)).read_bytes() == PICTURE


def test_a_server_above_that_was_restored_is_offered_everything_again(hub, house):
    joined(hub, house)
    up(hub, house)
    a_whole_fitting(hub)
    house.station.store.begin_new_epoch()
    done = up(hub, house)
    assert done.sent > 0 and done.photos_up == 1 and everything(hub) == everything(house)


def test_a_clinic_founded_in_the_field_comes_to_a_server_that_never_heard_of_it(hub, house, tmp_path):
    clinic = staffing.found_clinic(hub.station, "Field clinic")
    lead = staffing.NewLead("field-lead", "Ines Ortega", "several unrelated words here")
    staffing.add_lead(hub.station, hub.server.door.accounts, clinic, lead)
    code = house.server.gate.new_code("", HUB)
    assert join_above(hub.station, "http://127.0.0.1", code, clinic, web=line_to(house)) == clinic
    done = send_up(hub.station, hub.server.lane, clinic, line_to(house))
    assert done.refused == []
    assert house.station.clinics()[clinic] == "Field clinic"
    above = {e.digest for e in house.station.entries.entries(clinic)}
    assert above == {e.digest for e in hub.station.entries.entries(clinic)}
    second = server_in(tmp_path / "second")
    with pytest.raises(AboveRefusal) as refused:
        join_above(second.station, "http://127.0.0.1", house.server.gate.new_code("", HUB), clinic, web=line_to(house))
    assert "is known here already" in refused.value.figures["sentence"]


def test_a_tablets_code_never_lets_a_server_in_and_a_servers_name_fits_its_key_alone(hub, house):
    with pytest.raises(AboveRefusal) as refused:
        join_above(hub.station, "http://127.0.0.1", house.code(), web=line_to(house))
    assert "a code of its own" in refused.value.figures["sentence"]
    stranger = house.tablet(JoinedDesk("server-0123456789abcdef0123"), enrolled=False)
    answer = stranger.enrol(house.server.gate.new_code(CLINIC, HUB))
    assert (answer.status_code, answer.json()["code"]) == (400, "enrolment_wrong_form")


def test_nobody_is_told_a_token_over_an_open_line(hub):
    with pytest.raises(AboveRefusal) as refused:
        join_above(hub.station, "http://clinic.example", "CODE")
    assert refused.value.code == "needs_tls_address"
    assert public_text(new_key()) != hub.station.public_key


def test_it_goes_by_a_real_line_too_and_a_dead_one_is_said_in_words(hub, house):
    code = house.server.gate.new_code(CLINIC, HUB)
    with listening(house.app) as port:
        join_above(hub.station, f"http://127.0.0.1:{port}", code)
        send_up(hub.station, hub.server.lane, CLINIC)
        a_whole_fitting(hub)
        assert send_up(hub.station, hub.server.lane, CLINIC).photos_up == 1
        assert everything(hub) == everything(house)
    with pytest.raises(AboveRefusal) as refused:
        send_up(hub.station, hub.server.lane, CLINIC)
    assert refused.value.code == "above_not_reached"


def _lying_token(hub) -> str:
    """The token for the server above, opened, after a look that it lies nowhere as it is."""
    token = str(hub.station.above.sync_state(CLINIC).access["token"])
    with hub.station.store.reading() as connection:
        rows = [part for row in connection.execute(select(sync_state)) for part in row]
    assert not any(token.encode() in (part if isinstance(part, bytes) else str(part).encode()) for part in rows)
    return token


def test_who_has_a_copy_of_the_field_servers_store_alone_has_no_token_for_the_server_above(hub, house):
    joined(hub, house)
    up(hub, house)
    token = _lying_token(hub)
    assert token.encode() not in hub.kept_bytes()
    assert AboveStates(hub.station.store, hub.station._key).sync_state(CLINIC).access["token"] == token
    with pytest.raises(SealingRefusal):
        AboveStates(hub.station.store, new_key()).sync_state(CLINIC)


def test_a_token_that_an_earlier_version_kept_in_plain_is_sealed_at_the_next_start(hub, house):
    joined(hub, house)
    state = hub.station.above.sync_state(CLINIC)
    hub.station.entries.keep_sync_state(state)  # as it was kept before
    assert b'"token"' in hub.kept_bytes()
    again = again_of(hub)
    assert _lying_token(again) == state.access["token"]
    assert again.station.above.sync_state(CLINIC) == state
    assert up(again, house).refused == []
    again.station.store.close()


def test_with_a_renewed_key_the_field_server_goes_on_and_a_renewal_cut_off_is_done_again(hub, house, monkeypatch):
    joined(hub, house)
    path, token = hub.settings.signing_key_file, _lying_token(hub)
    with monkeypatch.context() as cut, pytest.raises(OSError):
        def struck(*_arguments):
            raise OSError("the power went")
        cut.setattr(own_key.os, "replace", struck)
        own_key.renew(hub.station, path)
    with pytest.raises(AboveRefusal, match="above_token_of_other_key"):
        up(hub, house)
    path.with_name(next(p.name for p in path.parent.glob("*set-aside*"))).unlink()
    own_key.renew(hub.station, path)
    again = again_of(hub)
    assert _lying_token(again) == token
    assert up(again, house).refused == []
    again.station.store.close()


def test_after_a_lost_key_the_field_server_says_so_and_joins_again(hub, house):
    joined(hub, house)
    up(hub, house)
    hub.settings.signing_key_file.unlink()
    opened = open_server(hub.settings, own_key_known=False)
    own_key.introduce(opened.station)
    again = House(opened, create_app(hub.settings, opened), hub.settings)
    with pytest.raises(AboveRefusal, match="above_token_of_other_key") as refused:
        up(again, house)
    assert "--join-above" in server_sentence(refused.value)
    joined(again, house)
    assert up(again, house).refused == []
    again.station.store.close()
