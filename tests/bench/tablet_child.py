"""One measurement of the tablet in a process of its own; see bench_tablet.py."""

from __future__ import annotations

import json
import resource
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

SAVES = 40


def memory_mib() -> float:
    """Return what this process holds in memory now, in MiB."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def say(**figures) -> None:
    print(json.dumps(figures), flush=True)


def bare_start(begun: float) -> None:
    """A window with one label: what any program made with Kivy takes."""
    from mobile.device import kivy_settings

    kivy_settings.apply(tempfile.mkdtemp(), console_log=False)
    from kivy.app import App
    from kivy.clock import Clock
    from kivy.uix.label import Label

    class Bare(App):
        def build(self):
            # Twice, so that a frame has been drawn in between.
            Clock.schedule_once(lambda _dt: Clock.schedule_once(self.drawn, 0), 0)
            return Label(text="bare")

        def drawn(self, _dt):
            say(start_s=time.time() - begun)
            Clock.schedule_once(lambda _dt: (say(memory_mib=memory_mib()), self.stop()), 1.5)

    Bare().run()


def app_start(begun: float, folder: Path) -> None:
    """The tablet app with its locked page drawn and ready to be pressed."""
    from mobile import main as starting

    def end(app) -> None:
        from kivy.clock import Clock

        def drawn(_dt) -> None:
            assert type(app.stage.page).__name__ == "LockPage"
            say(start_s=time.time() - begun)
            Clock.schedule_once(lambda _dt: (say(memory_mib=memory_mib()), app.stop()), 1.5)

        Clock.schedule_once(lambda _dt: Clock.schedule_once(drawn, 0), 0)

    starting._end_when_drawn = end
    starting.main(["--folder", str(folder), "--check"])


def at_work(folder: Path) -> None:
    """From the PIN to the list, scrolling, searching, opening, saving: without drawing by OpenGL."""
    from mobile.device import headless_window, kivy_settings

    kivy_settings.apply(tempfile.mkdtemp(), console_log=False)
    window = headless_window.install(1280, 800)
    window.create_window()
    from kivy.base import EventLoop

    from mobile.app import StancebookApp
    from mobile.device.finger import Finger
    from mobile.main import _tablet
    from tests.bench.big_clinic import PIN
    from tests.fitting_desk import PROSTHETIST

    EventLoop.start()
    tablet = _tablet(folder, None, False)
    saved_at: list[float] = []
    app = StancebookApp(tablet, on_saved=lambda _entry: saved_at.append(time.perf_counter()))
    window.add_widget(app.build())
    finger = Finger(window)
    finger.settle()
    begun = time.perf_counter()
    tablet.open()
    opened = time.perf_counter()
    app.stage.page.choose(PROSTHETIST)
    for digit in PIN:
        finger.tap(f"pin:{digit}")
    pressed = time.perf_counter()
    finger.tap("pin:enter")
    finger.wait_for(lambda: app.stage.session and type(app.stage.page).__name__ == "HomePage", most_s=120)
    finger.pump(3)
    say(open_store_s=opened - begun, pin_to_list_s=time.perf_counter() - pressed, fittings=len(app.stage.page.summaries), memory_list_mib=memory_mib())
    _scroll(app, finger)
    _search(app, finger)
    _open_and_save(app, finger, saved_at, folder)
    tablet.close()


def frame(frames: list[float]) -> None:
    from kivy.base import EventLoop

    begun = time.perf_counter()
    EventLoop.idle()
    frames.append(time.perf_counter() - begun)


def _scroll(app, finger) -> None:
    """Fling through the whole list and back, a screen at a time, then line by line."""
    listed, frames = app.stage.page.list, []
    for step in [*range(100, -1, -1), *range(0, 101)]:
        listed.scroll_y = step / 100
        frame(frames)
    for step in range(200):
        listed.scroll_y = 1 - step * 8 / max(len(listed.data) * 84, 1000)
        frame(frames)
    say(scroll_frames=_of(frames))


def _search(app, finger) -> None:
    page, keys, frames = app.stage.page, [], []
    for text in ("e", "ex", "exa", "exam", "examp", "example-00", "example-001", "example-0019", "juniper 0019", ""):
        begun = time.perf_counter()
        page.search.text = text
        page.show_lines()
        keys.append(time.perf_counter() - begun)
        for _ in range(2):
            frame(frames)
    say(search_key=_of(keys), search_frames=_of(frames))


def _open_and_save(app, finger, saved_at, folder) -> None:
    from kivy.clock import Clock
    from mobile.rehearsal.hands import Hands

    stage, openings = app.stage, []
    for summary in stage.page.summaries[:12]:
        begun = time.perf_counter()
        stage.go_fitting(summary.fitting, "person", "")
        openings.append(time.perf_counter() - begun)
        finger.pump(2)
    fitting = stage.page.fitting
    hands, saves, bare = Hands(finger), [], []
    with closing(_bare_store(folder)) as connection:
        for number in range(SAVES):
            stage.page.go("person")
            stage.page.open("body")
            finger.settle()
            if finger.is_there("anew"):
                finger.tap("anew")
            hands.fill({"body_mass_kg": f"{60 + number}", "carried_load_kg": "6"})
            button = finger.find("save")
            saved_at.clear()
            begun = time.perf_counter()
            button.dispatch("on_release")
            assert saved_at, "not saved"
            saves.append(saved_at[0] - begun)
            begun = time.perf_counter()
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("INSERT INTO t (content) VALUES (?)", (b"x" * 1500,))
            connection.execute("COMMIT")
            bare.append(time.perf_counter() - begun)
            finger.pump(1)
    say(open_fitting=_of(openings), save=_of(saves), bare_commit=_of(bare), save_ratio=median(saves) / median(bare), memory_end_mib=memory_mib(), kept=fitting)


def _bare_store(folder: Path):
    """A store of its own beside the tablet's, on the same disk, with the same durability."""
    connection = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("CREATE TABLE IF NOT EXISTS t (id INTEGER PRIMARY KEY, content BLOB)")
    return connection


def _of(seconds: list[float]) -> dict[str, float]:
    ordered = sorted(seconds)
    return {
        "median_ms": 1000 * median(ordered), "p99_ms": 1000 * ordered[int(len(ordered) * 0.99) - 1],
        "worst_ms": 1000 * ordered[-1], "count": len(ordered),
    }


if __name__ == "__main__":
    mode, *rest = sys.argv[1:]
    {"bare": lambda: bare_start(float(rest[0])),
     "app": lambda: app_start(float(rest[0]), Path(rest[1])),
     "work": lambda: at_work(Path(rest[0]))}[mode]()
