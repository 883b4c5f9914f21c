"""A newcomer practises a whole fitting at the screen, knowing only what it shows."""

from __future__ import annotations

import pytest

from tests.journeys.at_work import alone
from tests.journeys.ways import LANDSCAPE, PORTRAIT, Way


@pytest.fixture(params=[PORTRAIT, LANDSCAPE], ids=["upright", "lying"])
def in_a_way(request):
    """The two ways that leave the least room; a whole fitting takes too long to be walked in more."""
    return Way(request.param, gloved=True, theme="dim", type_scale=1.5)


def test_every_step_to_the_last_page_is_led_through_by_what_the_screen_says(tmp_path, on_screen, finger, monkeypatch):
    from tests.journeys.newcomer import practising

    tablet, _ = alone(tmp_path / "tablet")
    stage = on_screen(tablet)
    newcomer = practising(stage, finger, monkeypatch)
    newcomer.run_until(newcomer.finished)
    fitting, = stage.session.fittings()
    assert stage.session.verdict(fitting).is_complete
    stage.practising.close()
    tablet.close()
