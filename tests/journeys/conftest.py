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
        [sys.executable, "-m", "sync_server.main", "--store", str(store), "--enrol-code"],
        cwd=ROOT, capture_output=True, text=True, timeout=60, check=True,
    )
    return told.stdout.rpartition(": ")[2].strip()


@pytest.fixture(scope="session")
def pins() -> dict[str, str]:
    """The public PINs of the invented staff."""
    return {p["id"]: p["pin"] for p in demo_people()["staff"]}


@pytest.fixture
def window():
    """The tablet's window without a display, empty before and after."""
    if "kivy" not in sys.modules:
        from mobile.device import kivy_settings

        kivy_settings.apply(_KIVY_HOME.name, console_log=False)
    from mobile.device import headless_window

    window = headless_window.install(1280, 800)
    window.create_window()
    from kivy.base import EventLoop

    if EventLoop.status != "started":
        EventLoop.start()
    window.set_size(1280, 800)
    yield window
    for child in window.children[:]:
        window.remove_widget(child)
    from kivy.uix.behaviors import FocusBehavior

    for widget in list(FocusBehavior._keyboards.values()):
        if widget is not None:
            widget.focus = False


@pytest.fixture
def finger(window):
    """A finger on that window."""
    from mobile.device.finger import Finger

    return Finger(window)


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
