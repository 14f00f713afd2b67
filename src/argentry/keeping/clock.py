"""The steady clock of the house: wall clock at its start, then only the seconds that pass.

Setting the wall clock, or daylight-saving time, does not move it. A new start never begins before
the last event of the book, so a run's times never go backwards. Where that, or a wall clock that
was put right meanwhile, leaves the two clocks minutes apart, it is said until somebody decides
(`argentry.keeping.house_clock`).
"""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

TICK = timedelta(microseconds=1)
# Events are stamped and added one at a time: what fits is judged by what is stored.
adding = threading.Lock()
FAR = timedelta(minutes=2)  # a machine that keeps its clock by the network is never so far off


def seconds_passed() -> float:
    """Return seconds of a clock that nobody sets and that goes on while the machine sleeps."""
    if hasattr(time, "CLOCK_BOOTTIME"):  # Linux: its monotonic clock stands still in sleep
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":  # there CLOCK_MONOTONIC counts sleep, time.monotonic does not
        return time.clock_gettime(time.CLOCK_MONOTONIC)
    return time.monotonic()


def _wall() -> datetime:
    return datetime.now(UTC)


@dataclass
class SteadyClock:
    """A clock that never jumps and never says the same time twice.

    Attributes
    ----------
    start : datetime
        Its time when it was made, UTC.
    passed : callable
        Seconds of a clock that nobody sets.
    origin : float
        What `passed` said when it was made. [s]
    wall : callable
        The wall clock that it is compared with.
    since : int
        Place in the log of the last event before it was made.
    """

    start: datetime
    passed: Callable[[], float] = seconds_passed
    origin: float = field(default_factory=seconds_passed)
    wall: Callable[[], datetime] = _wall
    since: int = 0
    _last: datetime | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def now(self) -> datetime:
        """Return the time, UTC, at least a microsecond after the answer before."""
        with self._lock:
            moment = self.start + timedelta(seconds=self.passed() - self.origin)
            if self._last is not None and moment <= self._last:
                moment = self._last + TICK
            self._last = moment
            return moment

    def ahead(self) -> timedelta:
        """Return how far it is ahead of the wall clock; negative when it is behind."""
        return self.start + timedelta(seconds=self.passed() - self.origin) - self.wall()

    def move(self, by: timedelta) -> None:
        """Set it, after the book holds an event that says so.

        What it wrote since it was made stays its own: set again, all of that moves again, so that
        no step that goes on meanwhile is cut in two.
        """
        with self._lock:
            self.start, self._last = self.start + by, None


def steady_clock(
    last: datetime | None = None,
    since: int = 0,
    *,
    wall: Callable[[], datetime] = _wall,
    passed: Callable[[], float] = seconds_passed,
) -> SteadyClock:
    """Return a clock that starts at the wall clock's time, but after `last`.

    Parameters
    ----------
    last : datetime or None
        Time of the last event of the book, UTC. When the wall clock was set back behind it, the
        clock goes on from there: order is kept, the time in between cannot be known.
    since : int
        Place in the log of the last event.
    wall, passed : callable
        The clocks read; tests give their own.
    """
    start = wall().astimezone(UTC)
    if last is not None and start <= last:
        start = last.astimezone(UTC) + TICK
    return SteadyClock(start, passed, passed(), wall, since)


def span_words(seconds: float) -> str:
    """Return a span in the largest whole unit that fits: ``"3 h"``."""
    for size, unit in ((86400.0, "d"), (3600.0, "h"), (60.0, "min")):
        if seconds >= 2 * size or (unit == "min" and seconds >= size):
            return f"{seconds / size:.0f} {unit}"
    return f"{seconds:.0f} s"
