"""The steady clock under everything a wall clock may do."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from argentry.keeping.clock import seconds_passed, span_words, steady_clock

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


class Walls:
    """A wall clock and a stopwatch that a test sets apart from one another."""

    def __init__(self, wall=NOON, passed=500.0):
        self.wall, self.passed = wall, passed

    def clock(self, last=None):
        return steady_clock(last, wall=lambda: self.wall, passed=lambda: self.passed)


def test_setting_the_wall_clock_moves_nothing():
    walls = Walls()
    clock = walls.clock()
    first = clock.now()
    for jump in (timedelta(hours=5), timedelta(days=-400), timedelta(hours=1)):
        walls.wall += jump
        walls.passed += 10.0
    assert first == NOON
    assert clock.now() == NOON + timedelta(seconds=30)


def test_daylight_saving_is_no_hour():
    change = datetime(2026, 10, 25, 2, 30, tzinfo=ZoneInfo("Europe/Madrid"))  # the first 02:30
    walls = Walls(wall=change)
    clock = walls.clock()
    first = clock.now()
    walls.passed += 3600.0
    assert first.tzinfo is UTC
    assert clock.now() - first == timedelta(hours=1)
    assert clock.now().astimezone(change.tzinfo).hour == 2  # the second 02:30


def test_the_same_time_is_never_said_twice():
    clock = Walls().clock()
    said = [clock.now() for _ in range(5)]
    assert said == sorted(set(said))


def test_a_start_after_the_wall_was_set_back_goes_on_after_the_last_event():
    last = NOON + timedelta(hours=3)
    walls = Walls()
    clock = walls.clock(last)
    assert clock.now() > last
    walls.passed += 60.0
    assert clock.now() == last + timedelta(seconds=60, microseconds=1)


def test_a_start_with_the_wall_ahead_counts_the_time_the_house_was_shut():
    last = NOON - timedelta(minutes=7)
    assert Walls().clock(last).now() == NOON


def test_threads_never_share_a_moment():
    clock = Walls().clock()
    said = []

    def ask():
        said.extend(clock.now() for _ in range(200))

    threads = [threading.Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(said)) == 800


def test_the_machine_has_a_clock_nobody_sets():
    assert seconds_passed() <= seconds_passed()


def test_a_span_is_told_in_the_largest_unit_that_fits():
    """Two of a unit at least, but one minute: whole numbers, so that none is told far too short."""
    told = {
        0: "0 s", 59: "59 s", 60: "1 min", 119: "2 min", 7199: "120 min", 7200: "2 h",
        172_799: "48 h", 172_800: "2 d", 864_000: "10 d",
    }  # fmt: skip
    assert {seconds: span_words(seconds) for seconds in told} == told
