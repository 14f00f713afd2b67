"""One plate beyond those that the usual day holds: begun on days that go well, and not on others.

It is begun when a step of another plate is done early enough. Until it begins, a day runs as
without it. So a few simulations, with it begun at set times and without it, answer for every such
step and every such hour. The sheet in the morning and the bench in the middle of a day ask here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.choose import joined
from argentry.plan.dispatch import play
from argentry.plan.shop import Rules, Runs
from argentry.plan.spread import worth

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.plan.shop import Drawn, Shop

    Array = NDArray[np.float64]
    Whole = NDArray[np.int64]

EVERY_MINUTES = 30.0  # of the times at which it is begun, to try
WORTH_TELLING = 0.05  # good plates that it must bring
LIKELY = 0.8  # share of the days on which it is begun that must finish it if nobody asked for it
LAST = 1e6  # a priority behind all planned work
NEVER = 1e7  # a minute behind all others


@dataclass(frozen=True)
class Further:
    """A plate begun beyond the plan on days that go well.

    Attributes
    ----------
    plate, block : int
        When this block of this plate of the plan is done it may be begun; -1 where no plate is
        left to wait for.
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


def find(more: Shop, rule: Rules, drawn: Drawn, *, asked: bool) -> Further | None:
    """Return how one plate more is best begun beyond a plan; None where it brings too little.

    Parameters
    ----------
    more : Shop
        The day with the plates of the plan and, as its last one, a plate like the others.
    rule : Rules
        The one rule by which hands keep to the plan.
    drawn : Drawn
        Days as they may run.
    asked : bool
        True where the maker asked for more plates than the plan holds: then whatever it brings is
        welcome; else it must be finished on most of the days on which it is begun.
    """
    plates, days = more.plates - 1, drawn.days
    begun = float(rule.not_before[0, :, 0].min()) if plates else 0.0
    first = max(begun, more.first_minute, 0.0)
    times = np.array([NEVER, *np.arange(first, more.last_minute, EVERY_MINUTES)])
    runs = play(more, joined([_with_one_more(rule, at) for at in times]), drawn)
    good = worth(runs, more.blocks).sum(axis=2)
    starts, gain, sound = runs.starts[:, :, -1, 0], good - good[0], runs.sound[:, :, -1]
    least = 0.0 if asked else LIKELY
    best: tuple[float, int, int, float, Whole] | None = None
    for plate, block in np.ndindex(plates, len(more.blocks)) if plates else [(-1, -1)]:
        done = np.nan_to_num(runs.ends[0, :, plate, block], nan=NEVER) if plates else -LAST
        taken = 1 + np.searchsorted(times[1:], done)
        taken = np.where(taken < len(times), taken, 0)
        own = taken, np.arange(days)
        until, brought = _best_time(starts[own], gain[own], sound[own], least)
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


def _best_time(
    start: Array, gain: Array, sound: NDArray[np.bool_], least: float
) -> tuple[float, float]:
    """Return until when to begin for the most to be gained, and that gain, mean over the days.

    At least this share of the days on which it is begun finish it.
    """
    order = np.argsort(start)  # those never begun come last
    begun = int(np.isfinite(start).sum())
    if not begun:
        return -np.inf, 0.0
    sums = np.cumsum(gain[order[:begun]]) / len(start)
    share = np.cumsum(sound[order[:begun]]) / np.arange(1, begun + 1)
    sums = np.where(share >= least, sums, -np.inf)
    best = int(np.argmax(sums))
    return float(np.ceil(start[order[best]])), float(sums[best])
