"""The page on which a PIN is typed stands before anything is read that only a record needs."""

import subprocess
import sys

FIRST_PAGE = """
import sys, tempfile
from mobile.device import headless_window, kivy_settings
kivy_settings.apply(tempfile.mkdtemp(), console_log=False)
headless_window.install(1280, 800)
import mobile.app, mobile.screens.lock
print("read:", *sorted(set(sys.modules) & {heavy}))
import mobile.keeping.tablet
print("then:", *sorted(set(sys.modules) & {heavy}))
"""
HEAVY = {"sqlalchemy", "alembic", "httpx", "biip", "fpdf", "shared_models.checks.verdict"}


def test_the_locked_page_stands_without_what_only_an_open_record_needs():
    done = subprocess.run(
        [sys.executable, "-c", FIRST_PAGE.format(heavy=HEAVY)], capture_output=True, text=True, check=True, timeout=120,
    )
    said = dict(line.split(":", 1) for line in done.stdout.splitlines() if ":" in line)
    assert said["read"].split() == []
    assert "sqlalchemy" in said["then"].split(), "the list above can tell"
