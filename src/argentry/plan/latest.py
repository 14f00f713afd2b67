"""How late each step may start: by simulation, and looked at again before it is printed.

A latest start is a promise: held back until then, and no longer, the chance that all plates are
finished falls by at most a tenth, and by no more than half of what it is. Blocks that begin by
themselves have no start to choose.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.choose import held_back
from argentry.plan.dispatch import LIMIT_SPARE, play
from argentry.plan.shop import Branch

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from argentry.plan.shop import Drawn, Rules, Runs, Shop

    Array = NDArray[np.float64]
    Truth = NDArray[np.bool_]
    Whole = NDArray[np.int64]

FALL = 0.1  # of the chance that all plates are finished
FALL_SHARE = 0.5  # of that chance: a tenth of a chance that is smaller would bind nothing
ROUNDS = 3  # each leaves a quarter of the doubt of the one before
CLOSE_MINUTES = 8.0  # a doubt that is small enough
PARTS = 4
SEARCH_DAYS, SEARCH_LEAST = 60, 24  # by which a start is looked for
CHECK_LEAST = 80  # by which it is looked at again, of all that are drawn
MOST_PLAYED = 6_000  # days in one go; many plates are judged by fewer days each
CHECKS = 4
EARLY_SHARE = 0.05  # of the days on which the step before a limit ends sooner than is taken


def latest_starts(
    shop: Shop,
    rule: Rules,
    starts: Array,
    drawn: Drawn,
    usual: Runs,
    counted: Whole | None = None,
) -> tuple[Array, Truth]:
    """Return the latest start of every block that costs no more of the odds than `_least` leaves.

    Parameters
    ----------
    shop : Shop
        The day.
    rule : Rules
        The one rule by which hands keep to the plan.
    starts : NDArray[float64], shape (plates, blocks)
        The plan. [min]
    drawn : Drawn
        Days to judge by.
    usual : Runs
        The rule on those days, with nothing held back.
    counted : NDArray[int64], optional
        The plates that are to be finished; all of them.

    Returns
    -------
    latest : NDArray[float64], shape (plates, blocks)
        ``-inf`` where even the planned start costs more, or the block begins by itself. [min]
    limited : NDArray[bool], shape (plates, blocks)
        Whether the limit that runs from the block before comes first.
    """
    plates, count = starts.shape
    which = np.arange(plates) if counted is None else counted
    over = np.zeros((plates, count), dtype=np.bool_)
    if shop.begun is not None:  # what was begun has no start to choose
        over = np.isfinite(shop.begun.starts)
    where = [
        (int(p), b)
        for p in which
        for b in range(count)
        if shop.blocks[b].attended and not over[p, b]
    ]
    if not where:
        return np.full((plates, count), -np.inf), over
    by = _days(len(where) * (PARTS - 1), SEARCH_LEAST, min(SEARCH_DAYS, drawn.days))
    search, finished = drawn.first(by), usual.sound[0][:, which].all(axis=1)
    least = _least(finished[:by])
    begin = np.array([starts[at] for at in where])
    ends = np.array([_by_limit(shop, usual, at) for at in where])
    low = begin
    # the last of the first times tried is the end by the limit, where there is one
    high = np.minimum(low + np.maximum(ends - low, 0.0) * PARTS / (PARTS - 1), shop.last_minute)
    for _ in range(ROUNDS):
        wide = np.flatnonzero(high - low > CLOSE_MINUTES)
        if not len(wide):
            break
        # between low, which keeps the promise, and high, which does not: PARTS - 1 in one go
        parts = np.arange(1, PARTS)[:, None] / PARTS
        tried = low[wide] + (high[wide] - low[wide]) * parts
        blocks = [where[i] for i in wide] * (PARTS - 1)
        shares = _share(shop, rule, blocks, tried.ravel(), search, usual, which)
        kept = shares.reshape(PARTS - 1, -1) >= least
        steps = np.logical_and.accumulate(kept, axis=0).sum(axis=0)
        edges = np.vstack([low[wide], tried, high[wide]])
        low, high = low.copy(), high.copy()
        low[wide], high[wide] = (edges[steps + more, np.arange(len(wide))] for more in (0, 1))
    # looked at again on all days: where the search was lucky, a quarter is taken off each time
    by = _days(len(where), CHECK_LEAST, drawn.days)
    drawn, least = drawn.first(by), _least(finished[:by])
    low = np.floor(low)
    open_ = np.arange(len(where))
    for _ in range(CHECKS):
        blocks = [where[i] for i in open_]
        again = _share(shop, rule, blocks, low[open_], drawn, usual, which)
        open_ = open_[again < least]
        if not len(open_):
            break
        low[open_] = np.floor(begin[open_] + 0.75 * (low[open_] - begin[open_]))
    low[open_] = -np.inf
    safe = np.full((plates, count), -np.inf)
    for (plate, block), minute, end in zip(where, low, ends, strict=True):
        safe[plate, block] = min(minute, end)
    by_clock, limited = np.zeros((2, plates, count), dtype=np.bool_)
    at = tuple(np.transpose(where))
    by_clock[at] = np.isfinite(low) & (low < ends - CLOSE_MINUTES)
    # what comes first may be a sitter's time instead, who does not wait longer
    due = np.array([np.floor(shop.due[shop.by_plate[plate], block]) for plate, block in where])
    within = np.array([shop.blocks[block].within is not None for _, block in where])
    limited[at] = np.isfinite(low) & ~by_clock[at] & within & (ends < due)
    return _one_after_the_other(safe, (by_clock, limited), starts, usual)


def _one_after_the_other(
    safe: Array, by: tuple[Truth, Truth], starts: Array, usual: Runs
) -> tuple[Array, Truth]:
    """Return latest starts that leave each plate its usual time until the next of them.

    `by` says which are told by the clock, and at which the limit comes first; the second comes
    back without those that the next latest start comes before.

    Each is looked for alone, with what follows as late as it may be; read from a sheet, a later
    one holds as well. What must begin within a limit of the block before moves with that.
    """
    took = np.nan_to_num(usual.ends[0] - usual.starts[0], nan=np.inf)
    lengths = np.median(took, axis=0)
    lengths, safe = np.where(np.isfinite(lengths), lengths, 0.0), safe.copy()
    by_clock, limited = by[0], by[1].copy()
    for plate in range(len(safe)):
        after = np.inf
        for block in range(safe.shape[1] - 1, -1, -1):
            after -= lengths[plate, block]
            latest = max(np.floor(after), starts[plate, block])
            limited[plate, block] &= latest >= safe[plate, block]
            if by_clock[plate, block] or (by[1] & ~limited)[plate, block]:
                after = safe[plate, block] = min(safe[plate, block], latest)
    return safe, limited


def _least(finished: Truth) -> float:
    """Return what is left of the chance at the latest; more than there can be where it is none."""
    chance = float(finished.mean())
    return max(chance - FALL, FALL_SHARE * chance) if chance else np.inf


def _days(copies: int, least: int, most: int) -> int:
    """Return by how many days each of so many copies is judged."""
    return min(max(MOST_PLAYED // copies, least), most)


def _by_limit(shop: Shop, usual: Runs, at: tuple[int, int]) -> float:
    """Return when a block must begin by its limit on nearly every day; inf where it has none [min].

    By the clock the limit runs from the earliest end of the block before.
    """
    plate, block = at
    within = shop.blocks[block].within
    due = float(np.floor(shop.due[shop.by_plate[plate], block]))  # a sitter does not wait longer
    if within is None:
        return due
    before = usual.ends[0, :, plate, block - 1]
    known = before[np.isfinite(before)]
    soonest = float(np.quantile(known, EARLY_SHARE)) if known.size else -np.inf
    return min(float(np.floor(soonest + within - LIMIT_SPARE)), due)


def _share(
    shop: Shop,
    rule: Rules,
    where: Sequence[tuple[int, int]],
    until: Array,
    drawn: Drawn,
    usual: Runs,
    which: Whole,
) -> Array:
    """Return the share of days on which all is finished when one block is held back, shape (k,).

    Until the block would have been begun a day is the one that nothing holds back; where it is
    not begun before the time anyway, the whole day is.
    """
    usual = usual.first(drawn.days)
    begun = np.stack([usual.starts[0, :, plate, block] for plate, block in where])
    minute = np.where(begun < until[:, None], begun, np.inf)
    held = held_back(rule, where, until)
    runs = play(shop, held, drawn, Branch(usual, minute))
    return np.asarray(runs.sound[:, :, which].all(axis=2).mean(axis=1))
