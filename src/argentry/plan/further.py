"""One plate beyond those that the usual day holds: begun on days that go well, and not on others.

A plate that is asked for and has no place in the plan is begun when a step of another plate is
done early enough. Until it begins, a day runs as without it. So a few simulations, with it begun
at set times and without it, answer for every such step and every such hour.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.choose import joined
from argentry.plan.dispatch import play
from argentry.plan.shop import Rules, Runs
from argentry.plan.spread import draw_days, worth

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.plan.daylight import DayLight
    from argentry.plan.shop import Shop

    Array = NDArray[np.float64]
    Whole = NDArray[np.int64]

EVERY_MINUTES = 30.0  # of the times at which it is begun, to try
WORTH_TELLING = 0.05  # good plates that it must bring
LAST = 1e6  # a priority behind all planned work
NEVER = 1e7  # a minute behind all others


@dataclass(frozen=True)
class Further:
    """A plate begun beyond the plan on days that go well.

    Attributes
    ----------
    plate, block : int
        When this block of this plate of the plan is done it may be begun.
    until : float
        Latest minute at which it is begun. [min]
    runs : Runs
        The simulated days, one rule: the plates of the plan, then this one.
    """

    plate: int
    block: int
    until: float
    runs: Runs

    @property
    def begun(self) -> NDArray[np.bool_]:
        """Whether it is begun, shape (days,)."""
        return np.isfinite(self.runs.starts[0, :, -1, 0])

    @property
    def sound(self) -> NDArray[np.bool_]:
        """Whether it is finished with its limits held, shape (days,)."""
        return np.asarray(self.runs.sound[0, :, -1])


def find(shop: Shop, rule: Rules, light: DayLight, *, days: int, seed: int) -> Further | None:
    """Return how one plate more is best begun beyond a plan; None where it brings too little.

    Parameters
    ----------
    shop : Shop
        The day with the plates of the plan, all like each other.
    rule : Rules
        The one rule by which hands keep to the plan.
    light : DayLight
        The day's light.
    days : int
        How many days to simulate.
    seed : int
        For the draws.
    """
    more = replace(shop, plates=shop.plates + 1)
    first = float(rule.not_before[0, :, 0].min())
    times = np.array([NEVER, *np.arange(max(first, 0.0), shop.last_minute, EVERY_MINUTES)])
    many = joined([_with_one_more(rule, at) for at in times])
    runs = play(more, many, draw_days(more, light, days=days, seed=seed))
    good = worth(runs, shop.blocks).sum(axis=2)
    starts, gain = runs.starts[:, :, -1, 0], good - good[0]
    best: tuple[float, int, int, float, Whole] | None = None
    for plate, block in np.ndindex(shop.plates, len(shop.blocks)):
        done = np.nan_to_num(runs.ends[0, :, plate, block], nan=NEVER)
        taken = 1 + np.searchsorted(times[1:], done)
        taken = np.where(taken < len(times), taken, 0)
        own = taken, np.arange(days)
        until, brought = _best_time(starts[own], gain[own])
        if brought >= WORTH_TELLING and (best is None or brought > best[0]):
            best = brought, plate, block, until, np.where(starts[own] <= until, taken, 0)
    if best is None:
        return None
    _, plate, block, until, taken = best
    day = np.arange(days)
    by_day = Runs(*(values[taken, day][None] for values in vars(runs).values()))
    return Further(plate, block, until, by_day)


def _with_one_more(rule: Rules, minute: float) -> Rules:
    """Return a rule with a plate more, not begun before a minute and behind all planned work."""
    count = rule.priority.shape[2]
    not_before = np.full((1, 1, count), -np.inf)
    not_before[:, :, 0] = minute
    last = LAST + np.arange(count, dtype=np.float64)[None, None]
    return Rules(
        np.concatenate([rule.priority, last], axis=1),
        rule.in_hand + 1,
        np.concatenate([rule.not_before, not_before], axis=1),
    )


def _best_time(start: Array, gain: Array) -> tuple[float, float]:
    """Return until when to begin for the most to be gained, and that gain, mean over the days."""
    order = np.argsort(start)  # those never begun come last
    begun = int(np.isfinite(start).sum())
    if not begun:
        return -np.inf, 0.0
    sums = np.cumsum(gain[order[:begun]]) / len(start)
    best = int(np.argmax(sums))
    return float(np.ceil(start[order[best]])), float(sums[best])
