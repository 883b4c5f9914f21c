"""What passes over the wire where nothing is new: counted between a real tablet and a real server."""

from __future__ import annotations

import pytest

from tests.journeys import bad_links
from tests.journeys.at_work import joined, send_by, sync


@pytest.fixture
def session(tmp_path, server, new_code):
    tablet, session = joined(tmp_path / "tablet", server.address, new_code(), "tablet-of-few-bytes")
    yield session
    tablet.close()


def test_a_sync_with_nothing_new_passes_less_than_a_kilobyte_both_ways_together(session, server):
    sync(session), sync(session)
    proxy = bad_links.CuttingProxy(server.address)
    try:
        send_by(session, proxy.address)
        sync(session)
    finally:
        proxy.close()
    assert 0 < proxy.bytes_up and 0 < proxy.bytes_down
    assert proxy.bytes_up + proxy.bytes_down < 1000
