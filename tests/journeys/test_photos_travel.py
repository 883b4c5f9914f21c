"""Photos travel behind the records: from the tablet that took one to the server, and to another tablet."""

from __future__ import annotations

import httpx
import pytest
from PIL import Image

from shared_models.entries.envelope import Subject
from shared_models.exchange.lane import PIECE
from mobile.flows.photos import PhotoForm, Work, take_in
from mobile.keeping.courier import Courier, SyncRefusal
from tests.journeys.at_work import correct, joined, open_fitting, record, sync
from tests.mobile.making_photos import jpeg, other, scene

pytestmark = pytest.mark.plain_way
_NUMBERS = iter(range(1, 100))


@pytest.fixture(scope="module")
def two_tablets(server, new_code, tmp_path_factory):
    """Two tablets of one clinic; making them takes long, so all tests here share them."""
    folder = tmp_path_factory.mktemp("lane")
    made = [joined(folder / name, server.address, new_code(), f"lane-{name}") for name in "ab"]
    yield made
    for tablet, _ in made:
        tablet.close()


@pytest.fixture
def pair(two_tablets):
    """The two tablets; the first has opened a fitting, and both know it."""
    (one, a), (two, b) = two_tablets
    fitting = open_fitting(a, f"L-{next(_NUMBERS)}")
    record(a, fitting, "body")
    sync(a), sync(b)
    return one, a, two, b, fitting


def take(tablet, session, fitting: str, data: bytes, name: str = "shoe.jpg") -> str:
    """Take a photo in and save what it shows; return its SHA-256."""
    tablet.photos_folder.mkdir(exist_ok=True)
    (tablet.photos_folder / name).write_bytes(data)
    work: Work = take_in(session, tablet.photos_folder / name)
    work._worker.join()
    work.drain()
    assert work.refusal is None, work.refusal
    return str(PhotoForm.begin(session, fitting, "components", work.result).save().body["sha256"])


def lacking(session, fitting: str) -> list[str]:
    access = session.entries.sync_state(session.clinic).access
    url = f"{access['address']}/exchange/{session.clinic}/verdicts/{fitting}"
    told = httpx.get(url, headers={"Authorization": f"Bearer {access['token']}"}, trust_env=False).json()
    return told["attachments_lacking"]


def noise(wide: int, high: int) -> bytes:
    return other("PNG", Image.effect_noise((wide, high), 90))


def run(session, client_of=None, progress=lambda *_: None):
    return Courier(client_of).sync(session, progress, session.absorb, lambda: False)


def test_a_photo_goes_up_behind_its_record_and_comes_down_where_it_is_wanted(pair, on_screen, finger):
    one, a, two, b, fitting = pair
    name = take(one, a, fitting, jpeg(scene(1200, 900)))
    assert a.unsent()[0] == 2, "the record and the photo itself"
    home = on_screen(one, a)
    home.go_home()
    assert home.page.header.unsent == "2 not yet sent, 1 photo among it"
    assert run(a).photos.sent == 1 and a.unsent() == (0, "")
    assert lacking(a, fitting) == []
    assert a.entries.has_attachment(name), "the tablet keeps its own copy"
    sync(b)
    stage = on_screen(two, b)
    stage.go_fitting(fitting, "components", next(iter(b.fitting(fitting).filled("photo/*"))))
    finger.settle()
    assert finger.sees("not on this tablet")
    finger.tap("fetch_photo")
    finger.wait_for(lambda: b.entries.has_attachment(name), what="the picture")
    finger.wait_for(lambda: finger.is_there("photo:pad"), what="the picture on the page")
    assert b.entries.attachment(name) == a.entries.attachment(name)
    assert b.unsent() == (0, ""), "what was fetched is not sent back"


def test_the_sending_page_says_what_photos_still_wait(pair, on_screen, finger):
    one, a, *_, fitting = pair
    take(one, a, fitting, jpeg(scene(1210, 900)))
    stage = on_screen(one, a)
    stage.go_sync()
    finger.settle()
    assert finger.sees("1 photo not sent yet")
    finger.tap("main")
    finger.wait_for(lambda: stage.sync_run.done and finger.sees("1 photo sent"), what="the sync")
    assert not finger.sees("not sent yet")


class Breaking(httpx.BaseTransport):
    """Lets so many pieces of photos through, then nothing more."""

    def __init__(self, pieces: int) -> None:
        self._real, self.left, self.asked = httpx.HTTPTransport(), pieces, []

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        if request.method == "PATCH":
            if not self.left:
                raise httpx.ConnectError("cut")
            self.left -= 1
        self.asked.append((request.method, request.url.path.split("/")[3], len(request.read())))
        return self._real.handle_request(request)


def test_records_made_while_a_large_photo_travels_do_not_wait_for_it(pair):
    one, a, *_, fitting = pair
    take(one, a, fitting, noise(1510, 1200))
    line = Breaking(10**6)
    noted = []

    def meanwhile(words, _share):
        if words.startswith("Photo") and not noted:
            noted.append(record(a, fitting, "activity"))

    result = run(a, lambda: httpx.Client(transport=line), meanwhile)
    kinds = [(method, what) for method, what, _ in line.asked if method in ("PATCH", "POST")]
    assert kinds[1:4] == [("PATCH", "attachments"), ("POST", "entries"), ("PATCH", "attachments")]
    assert result.photos.sent == 1 and a.unsent() == (0, "")


def test_a_cut_line_goes_on_where_it_stopped_and_the_photo_stays_till_the_server_has_it(pair):
    one, a, *_, fitting = pair
    name = take(one, a, fitting, noise(1500, 1200))
    size = a.entries.attachments()[name]
    sent = 0
    for _ in range(-(-size // (2 * PIECE)) - 1):
        line = Breaking(2)
        with pytest.raises(SyncRefusal):
            run(a, lambda line=line: httpx.Client(transport=line))
        sent += sum(size for method, _, size in line.asked if method == "PATCH")
        assert a.unsent()[0] == 1 and lacking(a, fitting) == [name] and a.entries.has_attachment(name)
    line = Breaking(10)
    assert run(a, lambda: httpx.Client(transport=line)).photos.sent == 1
    sent += sum(size for method, _, size in line.asked if method == "PATCH")
    assert sent == size and lacking(a, fitting) == []


def test_the_newest_signed_fittings_photos_go_first(pair):
    one, a, *_, fitting = pair
    later = open_fitting(a, "L-later")
    old = [take(one, a, fitting, jpeg(scene(400 + n, 300)), f"{n}.jpg") for n in range(2)]
    new = take(one, a, later, jpeg(scene(500, 300)), "new.jpg")

    def order() -> list[str]:
        return a.entries.photos_in_order(a.clinic, a.tablet, [*old, new])

    assert order() == [new, *old]
    a.save("sign_off", Subject("fitting", fitting), {"screws": "all"})
    assert order() == [*old, new]


def test_a_correction_of_what_a_photo_shows_sends_no_picture_again(pair):
    one, a, *_, fitting = pair
    take(one, a, fitting, jpeg(scene(1220, 900)))
    sync(a)
    slot = next(iter(a.fitting(fitting).filled("photo/*")))
    correct(a, fitting, slot, note="the heel is worn")
    line = Breaking(0)
    assert run(a, lambda: httpx.Client(transport=line)).sent == 1
    assert not any(what == "attachments" for _, what, _ in line.asked)
