"""The hybrid clock never runs backwards, whatever the wall clock does."""

from hypothesis import given
from hypothesis import strategies as st

from shared_models.entries.clock import HybridClock, is_clock_reading
from shared_models.exchange.clocks import FURTHEST_AHEAD_MS, see_bounded

DAYS_400_MS = 400 * 86_400_000
NOW = 1_790_000_000_000
jumps = st.lists(st.integers(NOW - DAYS_400_MS, NOW + DAYS_400_MS), min_size=1)
readings = st.tuples(
    st.integers(0, 2**48 - 1), st.integers(0, 2**16 - 1)
).map(lambda parts: f"{parts[0]:012x}-{parts[1]:04x}")


@given(jumps)
def test_each_reading_is_larger_than_the_one_before_whatever_the_wall_clock_does(walls):
    waiting = iter(walls)
    clock = HybridClock(lambda: next(waiting))
    given_ = [clock.tick() for _ in walls]
    assert given_ == sorted(set(given_))
    assert all(is_clock_reading(reading) for reading in given_)


@given(st.lists(st.tuples(st.integers(NOW, NOW + 1000), readings), min_size=1))
def test_what_is_made_after_seeing_another_entry_stands_after_it(steps):
    wall = [NOW]
    clock = HybridClock(lambda: wall[0])
    for now, seen in steps:
        wall[0] = now
        before = clock.last
        believed = see_bounded(clock, seen)
        made = clock.tick()
        assert made > before
        if believed:
            assert made > seen
        assert int(made[:12], 16) <= NOW + 1000 + FURTHEST_AHEAD_MS + 1
        assert is_clock_reading(made)


@given(st.integers(0, 2000))
def test_a_wall_clock_that_stands_still_counts_up(ticks):
    clock = HybridClock(lambda: NOW, last=f"{NOW:012x}-fffe")
    given_ = [clock.tick() for _ in range(ticks)]
    assert given_ == sorted(set(given_))
