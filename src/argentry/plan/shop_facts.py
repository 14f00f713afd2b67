"""What a simulation of days looks up at every event, worked out once for all of them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.shop import Drawn, Shop, developing
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, frame_span, rooms

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats, Truth, Whole
    from argentry.plan.tasks import Block


JUST = 1e-9
KEPT = 12  # one plan asks for few; each is some 200 kB


class ShopFacts:
    """What holds on every day, by block; one more column stands for a plate that is done.

    Parameters
    ----------
    shop : Shop
        What does not change.
    drawn : Drawn
        For what the maker expects.
    """

    def __init__(self, shop: Shop, drawn: Drawn) -> None:
        blocks = shop.blocks
        self.count = len(blocks)
        self.take, self.free = frame_span(blocks)
        self.developing = developing(blocks)
        self.attended = np.array([*(b.attended for b in blocks), False])
        self.exposing = np.array([*(b.kind == EXPOSURE for b in blocks), False])
        self.exposed = int(np.flatnonzero(self.exposing)[0])
        # a room that holds as many as there are hands to fill it is never waited for
        scarce = [room for room in rooms(blocks) if _scarce(shop, room)]
        self.room_counts = [shop.room_counts.get(room, 1) for room in scarce]
        self.sorts, self.groups = shop.by_plate, shop.alike()
        self.median = np.array([[*(b.minutes for b in route), 0.0] for route in shop.routes])
        # of hands, from each block on, as long as usual; what the light decides counts for nothing
        own = np.where(self.attended, self.median, 0.0)
        self.work_left = own[:, ::-1].cumsum(axis=1)[:, ::-1]
        self.frames = sum(shop.frame_counts)
        self.due = shop.due
        self.sitters = bool(np.isfinite(self.due).any())
        self.opens = [opens for sort in shop.sorts if np.isfinite(opens := sort.light.window[0])]
        # when hands should be free: for a pose as its sitter comes, not at the last minute
        self.free_by = self.due.copy()
        for sort, seat in enumerate(shop.sorts, 1):
            if np.isfinite(seat.light.window[0]):
                self.free_by[sort, self.exposed] = seat.light.window[0]
        within = (np.inf if b.within is None else b.within for b in blocks)
        self.within = np.array([*within, np.inf])
        # the part of its length at which a block takes hold of each room, and lets it go
        self.rooms = [_held(shop.routes, room) for room in scarce]
        # the same in minutes of a usual block; infinite where it takes hold of none
        self.taken_after = [
            np.where(np.isinf(take), np.inf, np.where(np.isinf(take), 0.0, take) * self.median)
            for take, _ in self.rooms
        ]
        self.skies = len(drawn.exposure_ends) // len(shop.routes)
        self.frame_for_all = shop.plates <= self.frames
        self.can_finish = _can_finish(
            tuple(block.kind for block in blocks),
            shop.last_minute,
            _Table.of(self.median),
            _Table.of(drawn.expected_exposures),
            _Table.of(drawn.expected_ripe if drawn.hoped_ripe is None else drawn.hoped_ripe),
        )

    def by_sort(self, weather: Whole, plates: Whole, which: Whole) -> Whole:
        """Return which table of exposures is asked for weathers of some of these plates."""
        if len(self.median) == 1:
            return weather
        return np.asarray(weather + self.skies * self.sorts[plates[which]])


@dataclass(frozen=True)
class _Table:
    """An array by its content, so that what follows from it is worked out once."""

    shape: tuple[int, ...]
    content: bytes

    @classmethod
    def of(cls, values: Floats) -> _Table:
        return cls(values.shape, np.ascontiguousarray(values, dtype=np.float64).tobytes())

    @property
    def values(self) -> Floats:
        return np.frombuffer(self.content, dtype=np.float64).reshape(self.shape)


@lru_cache(maxsize=KEPT)
def _can_finish(
    kinds: tuple[str, ...], last_minute: float, medians: _Table, exposures: _Table, ripes: _Table
) -> Truth:
    """Return whether a block begun at each minute can still lead to a finished plate.

    As the maker expects it, without a wait: shape (sorts * (1 or weathers), blocks + 1, m + 2).
    """
    median, exposure, ripe = medians.values, exposures.values, ripes.values
    ripe = np.where(np.isnan(ripe), np.inf, ripe).min(axis=0)
    each = len(exposure) // len(median)
    ripe = np.tile(np.broadcast_to(ripe, (each, ripe.shape[1])), (len(median), 1))
    # where no exposure can be begun yet, the light may come up later: the first that can
    known = np.where(np.isnan(exposure), np.inf, exposure)
    soonest = np.minimum.accumulate(known[:, ::-1], axis=1)[:, ::-1]
    whole = np.where(np.isnan(exposure), soonest, exposure)
    skies, last = len(exposure), exposure.shape[1] - 1
    now = np.arange(last + 2, dtype=np.float64)
    out = np.zeros((skies, len(kinds) + 1, last + 2), dtype=np.bool_)
    # when a plate is finished whose next block begins at each minute; under every sky the same
    # until a block is reached that the light decides
    done = np.tile(now, (len(median), 1))
    for block in range(len(kinds) - 1, -1, -1):
        if kinds[block] in (DEVELOPMENT, EXPOSURE) and len(done) < skies:
            done = np.repeat(done, each, axis=0)
        if kinds[block] == DEVELOPMENT:
            done = _reach(done, _reach_together(ripe, now))
        elif kinds[block] == EXPOSURE:
            out[:, block] = _reach(done, _reach_together(exposure, now)) <= last_minute
            done = _reach(done, _reach_together(whole, now))
        else:  # as long under every sky
            parts = zip(np.split(done, len(median)), median[:, block], strict=True)
            done = np.concatenate([_reach_together(part, now + takes) for part, takes in parts])
        if kinds[block] != EXPOSURE:
            out[:, block] = np.repeat(done <= last_minute, skies // len(done), axis=0)
    out.flags.writeable = False
    return out


def _scarce(shop: Shop, room: str) -> bool:
    by_itself = any(b.holds(room) and not b.attended for route in shop.routes for b in route)
    return by_itself or shop.room_counts.get(room, 1) < shop.workers


def _held(routes: Sequence[tuple[Block, ...]], room: str) -> tuple[Floats, Floats]:
    """Return at which part of its length a block takes hold of a room, and lets it go.

    Returns
    -------
    tuple of two Floats, shape (sorts, blocks + 1)
        Infinite and 0 where it never does.
    """
    shape = (len(routes), len(routes[0]) + 1)
    take, leave = np.full(shape, np.inf), np.zeros(shape)
    for sort, route in enumerate(routes):
        for index, block in enumerate(route):
            held = block.holds(room)
            if held is None:
                continue
            whole = block.minutes or 1.0
            take[sort, index] = held[0] / whole
            leave[sort, index] = sum(held) / whole if block.minutes else 1.0
    return take, leave


def _reach(tables: Floats, minutes: Floats) -> Floats:
    """Return ends by table, infinite past its end or where there is none, each row by its own.

    Parameters
    ----------
    tables, minutes : Floats, shape (k, m)
        Ends by starting minute, and starts. [min]
    """
    flat, width = minutes.ravel(), tables.shape[1]
    at = (flat <= width - 1.0).nonzero()[0]  # few are, in the hours without light
    low, share = _low_and_share(flat.take(at), width)
    low += at // minutes.shape[1] * width
    ends = np.full(flat.shape, np.inf)
    ends[at] = _mixed(tables.ravel().take(low), tables.ravel().take(low + 1), share)
    return ends.reshape(minutes.shape)


def _reach_together(tables: Floats, minutes: Floats) -> Floats:
    """Return `_reach` where all rows have the same rising starts, shape (k, m) [min]."""
    known = int(np.searchsorted(minutes, tables.shape[1] - 1.0, side="right"))
    low, share = _low_and_share(minutes[:known], tables.shape[1])
    ends = np.full((len(tables), len(minutes)), np.inf)
    ends[:, :known] = _mixed(tables.take(low, axis=1), tables.take(low + 1, axis=1), share)
    return ends


def _low_and_share(minute: Floats, width: int) -> tuple[Whole, Floats]:
    """Return the whole minute before each start, with one behind it in the table, and the rest."""
    inside = np.minimum(minute, width - 1 - JUST)
    low = inside.astype(np.int64)
    return low, inside - low


def _mixed(here: Floats, after: Floats, share: Floats) -> Floats:
    """Return ends between those of two minutes, infinite where there is none [min]."""
    with np.errstate(invalid="ignore"):  # between a known end and none there is none
        here *= 1.0 - share
        after *= share
        here += after
    np.copyto(here, np.inf, where=np.isnan(here))
    return here
