"""What holds for all tests."""

from __future__ import annotations

from hypothesis import settings

# How long an example takes says something of the machine, nothing of a fitting.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
