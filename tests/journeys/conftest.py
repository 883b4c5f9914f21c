"""Real parts for whole journeys: server processes, stores in files, and the real screens.

Nothing here imports Kivy while tests are collected, so that whoever makes the
window first, here or beside, makes it once.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from shared_models.catalogue.sheets import demo_people
from mobile.rehearsal.server_process import ServerProcess
from tests.journeys.ways import PLAIN, Way, way_of
from tests.tidy_window import tidied

ROOT = Path(__file__).resolve().parents[2]
_KIVY_HOME = tempfile.TemporaryDirectory(prefix="stancebook-kivy-")


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    """A server of the demo clinic: another process, on loopback; one for all journeys."""
    process = ServerProcess(tmp_path_factory.mktemp("server"))
    yield process
    process.close()


@pytest.fixture(scope="session")
def new_code(server):
    """Ask the server's own command for a further one-time code, as its operator does."""
    return lambda: enrolment_code(server.store)


def enrolment_code(store: Path) -> str:
    """Return a fresh one-time code of the only clinic in a server's store."""
    told = subprocess.run(
        [sys.executable, "-m", "sync_server.main", "--store", str(store), "--enrol-code",
         "--for", "demo-prosthetist,demo-technician,demo-lead"],
        cwd=ROOT, capture_output=True, text=True, timeout=60, check=True,
    )
    return told.stdout.rpartition(": ")[2].strip()


@pytest.fixture(scope="session")
def pins() -> dict[str, str]:
    """The public PINs of the invented staff."""
    return {p["id"]: p["pin"] for p in demo_people()["staff"]}


@pytest.fixture
def in_a_way(request) -> Way:
    """How this journey is walked; a journey that turns the tablet itself asks for the plain way."""
    chosen = PLAIN if request.node.get_closest_marker("plain_way") else way_of(request.node.name)
    request.node.add_report_section("setup", "way", str(chosen))
    return chosen


@pytest.fixture
def window(in_a_way):
    """The tablet's window without a display, empty before and after, in this journey's way."""
    if "kivy" not in sys.modules:
        from mobile.device import kivy_settings

        kivy_settings.apply(_KIVY_HOME.name, console_log=False)
    from mobile.device import headless_window

    window = headless_window.install(1280, 800)
    window.create_window()
    from kivy.base import EventLoop

    if EventLoop.status != "started":
        EventLoop.start()
    from mobile.widgets.theme import theme

    with tidied(window):
        window.set_size(*in_a_way.size)
        theme.name, theme.font_scale = in_a_way.theme, in_a_way.type_scale
        theme.left_handed = theme.pounds_first = False
        yield window


@pytest.fixture(scope="module", autouse=True)
def plain_again():
    """Leave the theme as it was found, once for a file: every page that is left follows it."""
    yield
    if "mobile.widgets.theme" in sys.modules:
        from mobile.widgets.theme import theme

        theme.name, theme.font_scale, theme.left_handed = "sun", 1.0, False
        theme.pounds_first = False


@pytest.fixture
def finger(window, in_a_way):
    """A finger on that window, gloved or bare."""
    from mobile.device.finger import Finger
    from mobile.device.glove import Glove

    return Glove(window) if in_a_way.gloved else Finger(window)


@pytest.fixture
def on_screen(window, finger):
    """Show the app of a tablet, with a session at work in it; gives its stage."""
    from mobile.keeping.courier import Courier
    from mobile.screens.stage import Stage

    stages = []

    def showing(tablet, session=None, courier=None):
        for child in window.children[:]:
            window.remove_widget(child)
        stage = Stage(tablet, courier or Courier())
        stages.append(stage)
        window.add_widget(stage)
        if session is None:
            stage.begin()
        else:
            stage.unlocked(session)
        finger.settle()
        return stage

    yield showing
    for stage in stages:
        stage.close()
