"""How late each step may start: by simulation, and looked at again before it is printed.

A latest start is a promise: held back until then, and no longer, the chance that all plates are
finished falls by at most a tenth. Blocks that begin by themselves have no start to choose.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.choose import held_back
from argentry.plan.dispatch import LIMIT_SPARE, play

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.plan.shop import Drawn, Rules, Runs, Shop

    Array = NDArray[np.float64]
    Whole = NDArray[np.int64]

FALL = 0.1  # of the chance that all plates are finished
ROUNDS = 3  # each leaves a quarter of the doubt of the one before
PARTS = 4
SEARCH_DAYS = 100
CHECKS = 4
EARLY_SHARE = 0.05  # of the days on which the step before a limit ends sooner than is taken


def latest_starts(
    shop: Shop,
    rule: Rules,
    starts: Array,
    drawn: Drawn,
    usual: Runs,
    counted: Whole | None = None,
) -> Array:
    """Return the latest start of every block that costs at most `FALL` of the odds.

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
    NDArray[float64], shape (plates, blocks)
        ``-inf`` where even the planned start costs more, or the block begins by itself. [min]
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
    search, finished = drawn.first(SEARCH_DAYS), usual.sound[0][:, which].all(axis=1)
    least = float(finished[:SEARCH_DAYS].mean()) - FALL
    low = np.array([starts[at] for at in where])
    high = np.full(len(where), shop.last_minute)
    for _ in range(ROUNDS):
        # between low, which keeps the promise, and high, which does not: PARTS - 1 in one go
        tried = low + (high - low) * np.arange(1, PARTS)[:, None] / PARTS
        shares = _share(shop, held_back(rule, where * (PARTS - 1), tried.ravel()), search, which)
        kept = shares.reshape(PARTS - 1, -1) >= least
        kept = np.logical_and.accumulate(kept, axis=0)
        steps = kept.sum(axis=0)
        edges = np.vstack([low, tried, high])
        low, high = edges[steps, np.arange(len(where))], edges[steps + 1, np.arange(len(where))]
    # looked at again on all days: where the search was lucky, a quarter is taken off each time
    least = float(finished.mean()) - FALL
    low = np.floor(low)
    begin = np.array([starts[at] for at in where])
    open_ = np.arange(len(where))
    for _ in range(CHECKS):
        held = held_back(rule, [where[i] for i in open_], low[open_])
        again = _share(shop, held, drawn, which)
        open_ = open_[again < least]
        if not len(open_):
            break
        low[open_] = np.floor(begin[open_] + 0.75 * (low[open_] - begin[open_]))
    low[open_] = -np.inf
    safe = np.full((plates, count), -np.inf)
    for (plate, block), minute in zip(where, low, strict=True):
        safe[plate, block] = minute
        within = shop.blocks[block].within
        if within is not None:  # by the clock its limit runs from the earliest end before it
            before = usual.ends[0, :, plate, block - 1]
            known = before[np.isfinite(before)]
            soonest = np.quantile(known, EARLY_SHARE) if known.size else -np.inf
            safe[plate, block] = min(minute, float(np.floor(soonest + within - LIMIT_SPARE)))
    return safe


def _share(shop: Shop, many: Rules, drawn: Drawn, which: Whole) -> Array:
    return np.asarray(play(shop, many, drawn).sound[:, :, which].all(axis=2).mean(axis=1))
