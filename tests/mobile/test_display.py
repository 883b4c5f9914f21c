"""Nobody waits before a window that opened where it can't be seen."""

import os
import subprocess
import sys

import pytest

from mobile.device import display


def test_a_display_is_there_only_where_something_names_one():
    assert not display.is_there({}, "linux")
    assert display.is_there({"DISPLAY": ":0"}, "linux")
    assert display.is_there({"WAYLAND_DISPLAY": "wayland-0"}, "linux")
    assert display.is_there({}, "win32") and display.is_there({}, "darwin")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="elsewhere a window is always seen")
def test_the_tablet_app_says_that_it_needs_a_display(tmp_path):
    bare = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")}
    told = subprocess.run(
        [sys.executable, "-c", "import sys; from mobile.main import main; sys.exit(main(sys.argv[1:]))", "--folder", str(tmp_path / "t")],
        env=bare, capture_output=True, text=True, timeout=60,
    )
    assert told.returncode == 3
    assert "needs a display" in told.stdout
