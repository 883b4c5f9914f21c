"""One measurement of the tablet in a process of its own; see bench_tablet.py."""

from __future__ import annotations

import json
import os
import resource
import sqlite3
import sys
import tempfile
import threading
import time
from contextlib import closing
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

SAVES = 24


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


def prepare(folder: Path) -> None:
    """Bring a kept store up to this program's schema, once."""
    from mobile.keeping.tablet import Tablet

    Tablet(folder).close()
    say(prepared=True)


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
    said_at: list[float] = []
    app = StancebookApp(tablet, on_saved=lambda _entry: said_at.append(time.perf_counter()))
    window.add_widget(app.build())
    app.on_start()
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
    finger.wait_for(lambda: app.stage.session and type(app.stage.page).__name__ != "LockPage", most_s=120)
    if type(app.stage.page).__name__ != "HomePage":
        app.stage.go_home()
    finger.pump(3)
    say(
        open_store_s=opened - begun, pin_to_list_s=time.perf_counter() - pressed,
        fittings=len(app.stage.page.summaries), memory_list_mib=memory_mib(),
    )
    begun = time.thread_time()
    app.quiet.settle()  # as it does once nobody has touched the screen for two seconds
    say(settle_ms=1000 * (time.thread_time() - begun))
    finger.wait_for(lambda: not app.stage.session.summaries_waiting(), most_s=60)
    finger.pump(3)
    _scroll(app)
    _search(app)
    _open(app, finger)
    _save(app, finger, said_at, folder)
    app.on_stop()
    tablet.close()


class Frames:
    """Times of frames: by the clock, and what the screen's own thread worked in them."""

    def __init__(self) -> None:
        self.clock: list[float] = []
        self.own: list[float] = []

    def one(self, act=None) -> None:
        """Let one frame pass, begun by ``act`` as by a touch."""
        from kivy.base import EventLoop

        begun, worked = time.perf_counter(), time.thread_time()
        if act is not None:
            act()
        EventLoop.idle()
        self.clock.append(time.perf_counter() - begun)
        self.own.append(time.thread_time() - worked)

    def said(self) -> dict[str, float]:
        return {
            "median_own_ms": 1000 * median(self.own), "worst_own_ms": 1000 * max(self.own),
            "worst_ms": 1000 * max(self.clock), "count": len(self.own),
        }


def _scroll(app) -> None:
    """Fling through the whole list and back, a screen at a time, then line by line."""
    listed, frames = app.stage.page.list, Frames()
    for step in [*range(100, -1, -1), *range(0, 101)]:
        frames.one(lambda: setattr(listed, "scroll_y", step / 100))
    for step in range(200):
        frames.one(lambda: setattr(listed, "scroll_y", 1 - step * 8 / max(len(listed.data) * 84, 1000)))
    say(scroll=frames.said())


def _search(app) -> None:
    page, frames = app.stage.page, Frames()

    def typed(text: str) -> None:
        page.search.text = text
        page.show_lines()

    for text in ("e", "ex", "exa", "exam", "examp", "example-00", "example-001", "example-0019", "juniper 0019", ""):
        frames.one(lambda: typed(text))
        frames.one()
    say(search=frames.said())


def _open(app, finger) -> None:
    """Open the fittings on top of the list one after the other, as a press on their line does."""
    stage, every, first, whole, quiet, very_first = app.stage, Frames(), [], [], [], 0.0
    chosen = [summary.fitting for summary in stage.page.summaries[:13]]
    for fitting in chosen:
        stage.go_home()
        finger.settle()
        searched = time.thread_time()
        app.quiet.search()  # as it does after two seconds without a touch: whoever opens a page looks at it
        quiet.append(time.thread_time() - searched)
        frames = Frames()
        begun = time.perf_counter()
        stage._note_touch()  # a press: no quiet moment begins while the page comes
        frames.one(lambda: stage.open_fitting(fitting))
        while frames.own[-1] > 0.004 or len(frames.own) < 6:
            frames.one()
        if not very_first:
            very_first = max(frames.own)
            continue
        whole.append(time.perf_counter() - begun)
        first.append(frames.own[0])
        every.own += frames.own
        every.clock += frames.clock
    say(
        open=every.said(), open_first_frame_ms=1000 * median(first), open_whole_ms=1000 * median(whole),
        open_very_first_ms=1000 * very_first, quiet_search_ms=1000 * median(quiet),
    )


def _save(app, finger, said_at, folder) -> None:
    """Press 'Save' on a filled form; a bare commit after each, by turns."""
    from mobile.rehearsal.hands import Hands

    stage, entries = app.stage, app.stage.session.entries
    stage.go_fitting(stage.page.fitting, "person", "")
    durable_at: list[tuple[float, float]] = []
    append = entries.append

    def appended(*args, **more) -> None:
        append(*args, **more)
        durable_at.append((time.perf_counter(), time.thread_time()))

    entries.append = appended
    hands, saves, own, said, bare = Hands(finger), [], [], [], []
    with closing(_bare_store(folder)) as connection:
        for number in range(SAVES):
            stage.page.go("person")
            stage.page.open("body")
            finger.settle()
            if finger.is_there("anew"):
                finger.tap("anew")
            hands.fill({"body_mass_kg": f"{60 + number}", "carried_load_kg": "6"})
            button = finger.find("save")
            said_at.clear()
            durable_at.clear()
            begun, worked = time.perf_counter(), time.thread_time()
            button.dispatch("on_release")
            assert said_at and durable_at, "not saved"
            saves.append(durable_at[0][0] - begun)
            own.append(durable_at[0][1] - worked)
            said.append(said_at[0] - begun)
            begun = time.perf_counter()
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("INSERT INTO t (content) VALUES (?)", (b"x" * 1500,))
            connection.execute("COMMIT")
            bare.append(time.perf_counter() - begun)
            finger.pump(1)
    say(
        save=_of(saves), save_own_ms=1000 * median(own), said_saved=_of(said), bare_commit=_of(bare),
        save_ratio=median(saves) / median(bare), memory_end_mib=memory_mib(),
    )


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


def end_with(parent: int) -> None:
    """End when whoever began this process is gone, however it went."""
    while os.getppid() == parent:
        time.sleep(0.5)
    os._exit(1)


if __name__ == "__main__":
    threading.Thread(target=end_with, args=(os.getppid(),), daemon=True).start()
    mode, *rest = sys.argv[1:]
    {"bare": lambda: bare_start(float(rest[0])),
     "app": lambda: app_start(float(rest[0]), Path(rest[1])),
     "prepare": lambda: prepare(Path(rest[0])),
     "work": lambda: at_work(Path(rest[0]))}[mode]()
