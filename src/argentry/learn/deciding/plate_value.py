"""The value of a half-made plate: exact dynamic programming over the steps still to come.

What is known of a plate that is being made is p, the probability that every stage so far is sound.
After each stage a plate can be given up, taken on, its last stage redone, or looked at more closely
first. Values are counted in good plates against giving up now, so giving up is always 0; time costs
what another plate would have given in it. Two prices of time: a steady rate (`steady_rate`), found
as the fixed point at which beginning a plate is worth nothing more than the time it takes; and a
day that ends (`day_worth`), in which the price falls to 0 once no other plate can be finished.

In a day every step takes longer or shorter than planned, and what it took is known when the next
thing is decided: values hold for each count of minutes left.

References
----------
.. [1] R. Bellman, Dynamic Programming, 1957.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from argentry.learn.deciding.stage_work import posterior

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from argentry.arrays import Floats
    from argentry.learn.deciding.stage_work import Check, Seen, StageWork

GRID = np.linspace(0.0, 1.0, 101)  # values of p at which the programme is solved
GRID.flags.writeable = False
AGAIN = 12  # redoings of one stage that are looked ahead to at most
NO_MORE = 1e-5  # good plates: redoing once more that changes no value by more is left out
# how far a step's length lies off its plan, in standard deviations: equally likely cases
OFF = np.array([NormalDist().inv_cdf((i + 0.5) / 21) for i in range(21)])
OFF = OFF / OFF.std()
OFF.flags.writeable = False


@dataclass(frozen=True)
class PlateValue:
    """What a plate is worth on its way, against giving it up.

    All are of shape (draws, grid, minutes left).

    Attributes
    ----------
    ahead : Mapping[int, Floats]
        Going on after stage number k, on `GRID` of p. k = -1: beginning the plate.
    redo : Mapping[int, Floats]
        Redoing stage k, on `GRID` of p of the stages before it; alike for all p where those are
        redone too.
    look : Callable[[int, Check], Callable]
        A check after stage k: a function of (p of the stages before, `posterior` of the check).
    """

    ahead: Mapping[int, Floats]
    redo: Mapping[int, Floats]
    look: Callable[[int, Check], Callable[[Floats, Seen], Floats]]


def plate_value(
    stages: Sequence[StageWork],
    worth: Floats,
    ok: Floats | None = None,
    *,
    step: float = 1.0,
    first: int = -1,
) -> PlateValue:
    """Return the value of a plate when the worth of the time left is given.

    Parameters
    ----------
    stages : sequence of StageWork
        In order; minutes are rounded up to whole ones.
    worth : Floats
        Good plates to be expected of a fresh start with 0, 1, 2 ... steps of time left. [plates]
    ok : Floats, shape (stages, draws), optional
        Probability that each stage comes out sound, in each of several cases solved side by side;
        else the stages' own. [1]
    step : float
        Minutes between the counts of minutes left. [min]
    first : int
        The stage from which values are asked; those before it are not solved.

    Returns
    -------
    PlateValue
        Of that stage and all after it.
    """
    shares = np.array([[s.ok] for s in stages]) if ok is None else ok
    fresh = np.cumprod(np.vstack([np.ones(shares.shape[1]), shares]), axis=0)[:, :, None]
    ahead: dict[int, Floats] = {}
    redo: dict[int, Floats] = {}

    def spent(value: Floats, minutes: float, scatter: float = 0.0) -> Floats:
        out = np.zeros_like(value)
        for steps, share in _steps(rounded_up(minutes), scatter, step):
            out[..., steps:] += share * value[..., : max(worth.size - steps, 0)]
        return out

    def price(minutes: float, scatter: float = 0.0) -> Floats:
        return worth - spent(worth, minutes, scatter)

    def look(k: int, check: Check, again: Floats | None) -> Callable[[Floats, Seen], Floats]:
        on, cost = ahead[k], price(check.minutes)
        return lambda before, seen: spent(looked(seen, before, on, again), check.minutes) - cost

    def after(k: int, again: Floats | None) -> Floats:
        own = shares[k][:, None]
        looks = [
            look(k, one, again)(GRID[None, :], posterior(one, own)) for one in stages[k].checks
        ]
        return just_after(stages[k], own, ahead[k], again, looks)

    def once_more(k: int, then: Floats) -> Floats:
        stage = stages[k]
        if stage.redo_from_first:  # nothing of what was before is left, good or bad
            then = np.broadcast_to(at(then, fresh[k]), then.shape)
        minutes = stage.redo_minutes or 0.0
        return spent(then, minutes) - price(minutes) - stage.redo_price

    last = len(stages) - 1
    ahead[last] = np.tile(GRID[None, :, None], (shares.shape[1], 1, worth.size))
    for k in range(last, max(first, 0) - 1, -1):
        stage = stages[k]
        now = after(k, None)
        if stage.redo_minutes is not None and not stage.reveals:
            for _ in range(AGAIN):
                before, redo[k] = now, once_more(k, now)
                now = after(k, redo[k])
                if np.abs(now - before).max() < NO_MORE:
                    break
        ahead[k - 1] = spent(now, stage.minutes, stage.scatter) - stage.attended * price(
            stage.minutes, stage.scatter
        )
    return PlateValue(ahead, redo, lambda k, check: look(k, check, redo.get(k)))


@lru_cache(maxsize=256)
def _steps(minutes: int, scatter: float, step: float) -> tuple[tuple[int, float], ...]:
    """Return how many steps of time so many minutes take, and how often, with the same mean."""
    steps = np.maximum(minutes + scatter * (OFF if scatter > 0.0 else OFF[:1] * 0.0), 0.0) / step
    whole = steps.astype(np.int64)
    part = steps - whole
    shares = np.bincount(whole, 1.0 - part, whole.max() + 2) + np.bincount(whole + 1, part)
    return tuple((int(i), float(shares[i] / steps.size)) for i in np.flatnonzero(shares > 1e-12))


def rounded_up(minutes: float) -> int:
    """Return minutes rounded up to whole ones, but for what rounding of numbers adds."""
    return int(np.ceil(minutes - 1e-9))


def looked(seen: Seen, before: Floats, on: Floats, again: Floats | None) -> Floats:
    """Return the value of having looked: the best way for each result, weighed by its chance."""
    parts = [w[..., None] * _best(before, q, on, again) for w, q in zip(*seen, strict=True)]
    return np.asarray(sum(parts))


def _best(before: Floats, ok: Floats, on: Floats, again: Floats | None) -> Floats:
    """Return the best of stopping, going on and redoing."""
    value = np.maximum(at(on, before * ok), 0.0)
    return value if again is None else np.maximum(value, at(again, before))


def at(value: Floats, p: Floats) -> Floats:
    """Return values (d, grid, minutes) given on `GRID` at p, (d, n) or (1, n), straight between."""
    place = p * (GRID.size - 1)
    below = np.minimum(place.astype(np.int64), GRID.size - 2)
    part = (place - below)[..., None]
    rows = np.arange(value.shape[0])[:, None]
    return np.asarray(value[rows, below] * (1.0 - part) + value[rows, below + 1] * part)


def just_after(
    stage: StageWork,
    ok: Floats,
    on: Floats,
    again: Floats | None,
    looks: Sequence[Floats],
) -> Floats:
    """Return the value just after a stage, before anything is seen of it, on `GRID` of p before."""
    grid = GRID[None, :]
    if stage.reveals:
        return np.asarray((grid * ok)[..., None] * np.maximum(0.0, on[:, -1:]))
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
