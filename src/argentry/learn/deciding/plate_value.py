"""The value of a half-made plate: exact dynamic programming over the steps still to come.

What is known of a plate that is being made is p, the probability that every stage so far is sound.
After each stage a plate can be given up, taken on, its last stage redone, or looked at more closely
first. Values are counted in good plates against giving up now, so giving up is always 0; time costs
what another plate would have given in it. Two prices of time: a steady rate (`steady_rate`), found
as the fixed point at which beginning a plate is worth nothing more than the time it takes; and a
day that ends (`day_worth`), in which the price falls to 0 once no other plate can be finished.

References
----------
.. [1] R. Bellman, Dynamic Programming, 1957.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import hypot
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from argentry.learn.deciding.stage_work import posterior

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from argentry.arrays import Floats
    from argentry.learn.deciding.stage_work import Check, Seen, StageWork


GRID = np.linspace(0.0, 1.0, 101)  # values of p at which the programme is solved
GRID.flags.writeable = False
AGAIN = 2  # redoings of one stage that are looked ahead to; a third hardly ever pays


@dataclass(frozen=True)
class PlateValue:
    """What a plate is worth on its way, against giving it up: functions of stage and minutes left.

    Attributes
    ----------
    ahead : Callable[[int, int], NDArray or None]
        Going on after stage number k with t minutes left, on `GRID` of p; None when time is short.
        k = -1: beginning the plate. All are of shape (draws, grid).
    redo : Callable[[int, int], NDArray or None]
        Redoing stage k, on `GRID` of p of the stages before it; alike for all p where those are
        redone too.
    look : Callable[[int, int, Check], Callable]
        A check after stage k: a function of (p of the stages before, `posterior` of the check).
    after : Callable[[int, int], NDArray]
        Stage k just done and nothing seen of it yet, on `GRID` of p of the stages before it.
    """

    ahead: Callable[[int, int], Floats | None]
    redo: Callable[[int, int], Floats | None]
    look: Callable[[int, int, Check], Callable[[Floats, Seen], Floats] | None]
    after: Callable[[int, int], Floats]


def plate_value(
    stages: Sequence[StageWork],
    worth: Floats,
    ok: Floats | None = None,
    most: float = np.inf,
) -> PlateValue:
    """Return the value of a plate when the worth of the time left is given.

    Parameters
    ----------
    stages : sequence of StageWork
        In order; minutes are rounded up to whole ones.
    worth : Floats
        Good plates to be expected of a fresh start with 0, 1, 2 ... minutes left. [plates]
    ok : Floats, shape (stages, draws), optional
        Probability that each stage comes out sound, in each of several cases solved side by side;
        else the stages' own. [1]
    most : float
        Redoings of one stage that are looked ahead to.

    Returns
    -------
    PlateValue
        Solved as far as asked, and remembered.
    """
    known: dict[tuple[int, int, int], Floats] = {}
    last = len(stages) - 1
    shares = np.array([[s.ok] for s in stages]) if ok is None else ok
    seen = [
        [posterior(check, share[:, None]) for check in stage.checks]
        for stage, share in zip(stages, shares, strict=True)
    ]
    end = np.broadcast_to(GRID, (shares.shape[1], GRID.size))
    fresh = np.cumprod(np.vstack([np.ones(shares.shape[1]), shares]), axis=0)[:, :, None]
    scatter = hypot(*(stage.scatter for stage in stages))

    @cache
    def finished(left: int) -> Floats:
        """Return the value of a plate with so many minutes to spare: steps take longer at times."""
        return end * (NormalDist(0.0, scatter).cdf(left) if scatter > 0.0 else 1.0)

    def price(left: int, minutes: int) -> float:
        return float(worth[left] - worth[left - minutes])

    def ahead(k: int, left: int) -> Floats | None:
        if k == last:
            return finished(left)
        step = stages[k + 1]
        minutes = rounded_up(step.minutes)
        if minutes > left:
            return None
        return after(k + 1, left - minutes) - step.attended * price(left, minutes)

    def redo(k: int, left: int, times: int = 0) -> Floats | None:
        step = stages[k]
        if times >= most or step.redo_minutes is None or rounded_up(step.redo_minutes) > left:
            return None
        minutes = rounded_up(step.redo_minutes)
        then = times + 1 if most < np.inf else 0  # without a limit, what was before does not count
        value = after(k, left - minutes, then)
        if step.redo_from_first:  # nothing of what was before is left, good or bad
            value = np.broadcast_to(at(value, fresh[k]), value.shape)
        return value - price(left, minutes) - step.redo_price

    def look(
        k: int, left: int, check: Check, times: int = 0
    ) -> Callable[[Floats, Seen], Floats] | None:
        minutes = rounded_up(check.minutes)
        if minutes > left:
            return None
        on, again = ahead(k, left - minutes), redo(k, left - minutes, times)
        cost = price(left, minutes)
        return lambda before, seen: looked(seen, before, on, again) - cost

    def after(k: int, left: int, times: int = 0) -> Floats:
        if (k, left, times) not in known:
            looks = [
                found(GRID[None, :], result)
                for check, result in zip(stages[k].checks, seen[k], strict=True)
                if (found := look(k, left, check, times)) is not None
            ]
            ways = ahead(k, left), redo(k, left, times)
            known[k, left, times] = just_after(stages[k], shares[k][:, None], *ways, looks)
        return known[k, left, times]

    return PlateValue(ahead, redo, look, after)


def rounded_up(minutes: float) -> int:
    """Return minutes rounded up to whole ones, but for what rounding of numbers adds."""
    return int(np.ceil(minutes - 1e-9))


def looked(seen: Seen, before: Floats, on: Floats | None, again: Floats | None) -> Floats:
    """Return the value of having looked: the best way for each result, weighed by its chance."""
    total = np.zeros(1)
    for weight, q in zip(*seen, strict=True):
        total = total + weight * _best(before, q, on, again)
    return np.asarray(total)


def _best(before: Floats, ok: Floats, on: Floats | None, again: Floats | None) -> Floats:
    """Return the best of stopping, going on and redoing."""
    value = np.zeros(np.broadcast(before, ok).shape)
    if on is not None:
        value = np.maximum(value, at(on, before * ok))
    if again is not None:
        value = np.maximum(value, at(again, before))
    return value


def at(value: Floats, p: Floats) -> Floats:
    """Return values (d, grid) given on `GRID` at p, (d, n) or (1, n), straight in between."""
    if value.shape[0] == 1 and p.shape[0] == 1:
        return np.asarray(np.interp(p, GRID, value[0]))
    place = p * (GRID.size - 1)
    below = np.minimum(place.astype(np.int64), GRID.size - 2)
    part = place - below
    rows = np.arange(value.shape[0])[:, None]
    return np.asarray(value[rows, below] * (1.0 - part) + value[rows, below + 1] * part)


def just_after(
    stage: StageWork,
    ok: Floats,
    on: Floats | None,
    again: Floats | None,
    looks: Sequence[Floats],
) -> Floats:
    """Return the value just after a stage, before anything is seen of it, on `GRID` of p before."""
    grid = GRID[None, :]
    if stage.reveals:
        return np.asarray(grid * ok * (np.maximum(0.0, on[:, -1:]) if on is not None else 0.0))
    value = _best(grid, ok, on, again)
    for look in looks:
        value = np.maximum(value, look)
    return value


def least_needed(on: Floats) -> float:
    """Return the least p at which going on is worth no less than stopping; above 1 when none is."""
    if on[-1] < 0.0:
        return float("inf")
    if on[0] >= 0.0:
        return 0.0
    at = int(np.argmax(on >= 0.0))
    return float(np.interp(0.0, on[at - 1 : at + 1], GRID[at - 1 : at + 1]))
