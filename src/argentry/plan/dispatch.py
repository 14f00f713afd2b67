"""One day as it may run: pairs of hands that decide again at every event what to do next.

SimPy carries the clock. Nothing here follows a frozen plan: whenever a step ends, a plate is ripe,
a break is over or the light has changed, the free hands choose again by rule. The same simulation
with median durations and the middle light gives the first plan; hundreds of days with drawn
durations and drawn weather give the ranges and the odds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from argentry.plan.shop import DayRun, Rule, Shop
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, WAIT, frame_span, rooms

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

POKE_MINUTES = 10.0  # idle hands look at the light again this often
URGENT_MINUTES = 30.0  # a keeping limit nearer than this goes before everything else


def _end_at(table: Array, minute: float) -> float:
    """Return the end for a start between two minutes of the table, NaN where never [min]."""
    low = int(minute)
    if low + 1 >= len(table):
        return float("nan")
    share = minute - low
    return float(table[low] * (1.0 - share) + table[low + 1] * share)


class _Day:
    """State of one simulated day; lives only while the day runs."""

    def __init__(
        self,
        shop: Shop,
        rule: Rule,
        minutes: Array,
        exposure_ends: Array,
        ripe: Sequence[Array],
    ) -> None:
        import simpy

        self.shop, self.rule, self.minutes = shop, rule, minutes
        self.exposure_ends, self.ripe = exposure_ends, ripe
        self.env: Any = simpy.Environment()
        self.changed: Any = self.env.event()
        blocks = shop.blocks
        self.take_frame, self.free_frame = frame_span(blocks)
        self.median = [b.minutes for b in blocks]
        self.rooms = {r: [b.holds(r) for b in blocks] for r in rooms(blocks)}
        self.free = dict.fromkeys(self.rooms, True)
        self.frames_free = list(shop.frame_counts)
        self.next = [0] * shop.plates
        self.ready_at: list[float | None] = [shop.first_minute] * shop.plates
        self.idle = shop.workers
        self.expected_ripe = [float("nan")] * shop.plates
        shape = (shop.plates, len(blocks))
        self.starts, self.ends = np.full(shape, np.nan), np.full(shape, np.nan)
        self.kind = np.full(shop.plates, -1, dtype=np.int64)
        self.late, self.lay_ripe = np.zeros(shop.plates), np.zeros(shop.plates)
        self.begun = self.done = 0
        # hands-on minutes still to come after each block, to judge whether a plate can be finished
        self.tail = [sum(self.median[i + 1 :]) for i in range(len(blocks))]

    # -- what the maker knows and decides ---------------------------------------------------

    def _slack(self, plate: int, block: int, now: float) -> float:
        within = self.shop.blocks[block].within
        if within is None:
            return float("inf")
        ready = self.ready_at[plate]
        assert ready is not None
        return ready + within - now

    def _length_now(self, block: int, now: float) -> float:
        """Minutes the maker expects a block begun now to take; NaN where the light forbids it."""
        if self.shop.blocks[block].kind == EXPOSURE:
            return _end_at(self.exposure_ends, now) - now
        return self.median[block]

    def _break_stops(self, now: float, length: float, slack: float) -> bool:
        """Say whether a break is kept: always in a plan, else unless a limit runs out in it."""
        return any(
            now < end and now + length > start and (self.shop.strict_breaks or now + slack >= end)
            for start, end in self.shop.breaks
        )

    def _best_frame(self, now: float) -> tuple[int, float]:
        """Return (kind, expected ripe minute) of the free frame that is ripe first; -1 for none."""
        best, ripe_first = -1, float("inf")
        for kind, free in enumerate(self.frames_free):
            if free:
                ripe = _end_at(self.shop.expected_ripe[kind], now)
                if ripe < ripe_first:
                    best, ripe_first = kind, ripe
        return best, ripe_first

    def _can_finish(self, block: int, now: float, length: float) -> bool:
        """Say whether a plate at `block` can still be finished today, as the maker expects."""
        shop = self.shop
        if block > self.take_frame:
            return now + length + self.tail[block] <= shop.last_minute
        to_frame = now + length + sum(self.median[block + 1 : self.take_frame + 1])
        if block < self.take_frame and any(
            b.kind == EXPOSURE for b in shop.blocks[block + 1 : self.take_frame + 1]
        ):
            start = min(to_frame, len(shop.expected_exposure_ends) - 2.0)
            exposed = _end_at(shop.expected_exposure_ends, start)
            if np.isnan(exposed):  # the light may still come up during the day
                later = shop.expected_exposure_ends[int(start) :]
                known = later[np.isfinite(later)]
                if not known.size:
                    return False
                exposed = float(known[0])
            to_frame += exposed - start
        after = sum(self.median[self.free_frame :])
        ripe = [_end_at(table, to_frame) for table in shop.expected_ripe]
        return any(r + after <= shop.last_minute for r in ripe)

    def _would_miss_another(self, plate: int, now: float, length: float) -> bool:
        """Say whether these hands would be busy past the last moment for another plate."""
        if self.idle > 1:
            return False
        within = self.shop.blocks[self.free_frame].within
        for other, ripe in enumerate(self.expected_ripe):
            if other == plate:
                continue
            if within is not None and now + length > ripe + within:  # NaN: not in a frame
                return True
            block = self.next[other]
            waiting = self.ready_at[other] is not None and 0 < block < len(self.shop.blocks)
            if waiting and length > self._slack(other, block, now):
                return True
        return False

    def _choose(self) -> tuple[int, float] | None:
        """Return (plate, expected minutes) of what the free hands do now, or None to wait."""
        now = self.env.now
        best: tuple[tuple[int, float, int], int, float] | None = None
        first_seen = False
        for plate in range(self.shop.plates):
            block = self.next[plate]
            if block >= len(self.shop.blocks) or self.ready_at[plate] is None:
                continue
            if block == 0:
                if first_seen or self.begun - self.done >= self.rule.in_hand:
                    continue
                first_seen = True
                if now < self.rule.not_before[plate]:
                    continue
            rule = self.shop.blocks[block]
            if not rule.attended:
                continue
            length = self._length_now(block, now)
            if not length >= 0.0:
                continue
            slack = self._slack(plate, block, now)
            if self._break_stops(now, length, slack):
                continue
            if any(spans[block] and not self.free[r] for r, spans in self.rooms.items()):
                continue
            if block == self.take_frame and self._best_frame(now)[0] < 0:
                continue
            urgent = slack <= URGENT_MINUTES
            if not urgent:
                if not self._can_finish(block, now, length):
                    continue
                if self._would_miss_another(plate, now, length):
                    continue
            elif now + length > self.shop.last_minute:
                continue
            key = (0, slack, plate) if urgent else (1, self.rule.priority[plate, block], plate)
            if best is None or key < best[0]:
                best = (key, plate, length)
        return None if best is None else (best[1], best[2])

    # -- what happens ------------------------------------------------------------------------

    def _poke(self) -> None:
        self.changed.succeed()
        self.changed = self.env.event()

    def _clock(self) -> Iterator[Any]:
        """Wake idle hands at break ends and now and then, since the light moves by itself."""
        ends = sorted(end for _, end in self.shop.breaks)
        while True:
            now = self.env.now
            later = [e for e in ends if e > now]
            yield self.env.timeout(min([POKE_MINUTES, *(e - now for e in later[:1])]))
            self._poke()

    def _hands(self) -> Iterator[Any]:
        while True:
            choice = self._choose()
            if choice is None:
                yield self.changed
                continue
            plate, _ = choice
            block = self.next[plate]
            now = self.env.now
            rule = self.shop.blocks[block]
            if rule.within is not None:
                overrun = -self._slack(plate, block, now)
                limit = self.lay_ripe if block == self.free_frame else self.late
                limit[plate] = max(limit[plate], overrun)
            if block == 0:
                self.begun += 1
            self.ready_at[plate] = None
            self.idle -= 1
            held = [r for r, spans in self.rooms.items() if spans[block]]
            for resource in held:
                self.free[resource] = False
            if block == self.take_frame:
                kind = self._best_frame(now)[0]
                self.kind[plate] = kind
                self.frames_free[kind] -= 1
            if block == self.free_frame:
                self.frames_free[self.kind[plate]] += 1
                self.expected_ripe[plate] = float("nan")
            self.starts[plate, block] = now
            length = (
                _end_at(self.exposure_ends, now) - now
                if rule.kind == EXPOSURE
                else self.minutes[plate, block]
            )
            yield self.env.timeout(length)
            for resource in held:
                self.free[resource] = True
            self.idle += 1
            self._ended(plate, block)
            self._poke()

    def _ended(self, plate: int, block: int) -> None:
        now = self.env.now
        self.ends[plate, block] = now
        self.next[plate] = block + 1
        self.ready_at[plate] = now
        if block + 1 == len(self.shop.blocks):
            self.done += 1
        elif not self.shop.blocks[block + 1].attended:
            self.env.process(self._unattended(plate, block + 1))

    def _unattended(self, plate: int, block: int) -> Iterator[Any]:
        now = self.env.now
        self.ready_at[plate] = None
        self.starts[plate, block] = now
        if self.shop.blocks[block].kind == DEVELOPMENT:
            kind = int(self.kind[plate])
            self.expected_ripe[plate] = _end_at(self.shop.expected_ripe[kind], now)
            end = _end_at(self.ripe[plate][kind], now)
            if np.isnan(end):  # never ripe today: the frame stays full
                self.expected_ripe[plate] = float("nan")
                return
            yield self.env.timeout(end - now)
        else:
            assert self.shop.blocks[block].kind == WAIT
            yield self.env.timeout(self.minutes[plate, block])
        self._ended(plate, block)
        self._poke()

    def run(self) -> DayRun:
        if self.shop.first_minute > 0:
            self.env.run(until=self.shop.first_minute)
        for _ in range(self.shop.workers):
            self.env.process(self._hands())
        self.env.process(self._clock())
        self.env.run(until=self.shop.last_minute + 1e-6)
        return DayRun(self.starts, self.ends, self.kind, self.late, self.lay_ripe)


def run_day(
    shop: Shop,
    rule: Rule,
    minutes: Array,
    exposure_ends: Array,
    ripe: Sequence[Array],
) -> DayRun:
    """Simulate one day.

    Parameters
    ----------
    shop : Shop
        The day's fixed part.
    rule : Rule
        What the hands prefer.
    minutes : NDArray[float64], shape (plates, blocks)
        Duration of every hands-on block and every wait that day. [min]
    exposure_ends : NDArray[float64], shape (m + 1,)
        End of an exposure by starting minute under that day's light; NaN where it cannot be. [min]
    ripe : sequence over plates of NDArray[float64], shape (frames, m + 1)
        When a plate put out at each minute is ripe; NaN where never. [min]

    Returns
    -------
    DayRun
        What happened.
    """
    return _Day(shop, rule, minutes, exposure_ends, ripe).run()
