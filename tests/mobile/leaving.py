"""Shows one page of the gallery, leaves it, and exits with 0 once it is let go.

A process of its own: what other tests left behind in Kivy can't hold the page.
"""

import gc
import sys
import tempfile
import time
import weakref

from mobile.device import headless_window, kivy_settings


def main(name: str) -> int:
    """Return 0 when the page is let go within the time that its timers take."""
    with tempfile.TemporaryDirectory() as home:
        kivy_settings.apply(home, console_log=False)
        window = headless_window.install(1280, 800)
        from kivy.base import EventLoop

        from mobile.device.finger import Finger
        from mobile.widgets.gallery import PAGES

        window.create_window()
        EventLoop.start()
        finger, page = Finger(window), PAGES[name]()
        window.add_widget(page)
        finger.pump(6)
        window.remove_widget(page)
        finger.type("1")
        left = weakref.ref(page)
        del page
        end = time.monotonic() + 20
        while left() is not None and time.monotonic() < end:
            finger.pump(3)
            gc.collect()
        if left() is not None:
            print("held by", [type(r).__name__ for r in gc.get_referrers(left())])
        return int(left() is not None)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
