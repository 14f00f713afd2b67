"""The steady rate of good plates under the best rule, and the price of time that it sets.

References
----------
.. [1] R. A. Howard, Dynamic Programming and Markov Processes, 1960, ch. 7: reward over time, the
   price of time as a fixed point.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.learn.deciding.plate_value import GRID, just_after, least_needed, looked
from argentry.learn.deciding.stage_work import StageWork, posterior


@dataclass(frozen=True)
class Rate:
    """The steady rate of good plates under the best rule.

    Attributes
    ----------
    per_minute : float
        Good plates by minute of hands (all minutes count as such when nothing overlaps). [1/min]
    ahead : tuple of NDArray
        Value of going on after each stage, on `GRID` of p. [plates]
    redo : tuple of NDArray or None
        Value of redoing each stage, on `GRID` of p of the stages before it. [plates]
    needed : tuple of float
        After each stage but the last, the least probability of a good plate at which going on is
        worth it. [1]
    """

    per_minute: float
    ahead: tuple[Floats, ...]
    redo: tuple[Floats | None, ...]
    needed: tuple[float, ...]


@lru_cache(maxsize=256)
def solve_rate(stages: tuple[StageWork, ...]) -> Rate:
    """Return the best steady rate: plates follow each other without end.

    Parameters
    ----------
    stages : tuple of StageWork
        Of a usual plate; unattended minutes cost nothing (set ``attended`` 1 where they do).

    Returns
    -------
    Rate
        The price of time at which beginning a plate is worth nothing more than its time.

    Raises
    ------
    BadInput
        If there is no stage.

    References
    ----------
    Reward over time by its fixed point [1]_.

    Examples
    --------
    One stage of an hour that comes out one time in two: half a plate an hour.

    >>> from argentry.learn.deciding.stage_work import StageWork
    >>> round(solve_rate((StageWork("all", 60.0, 0.5),)).per_minute * 60.0, 6)
    0.5
    """
    _some(stages)
    low, high = 0.0, 1.0 / max(1e-9, min(s.minutes * s.attended for s in stages))
    for _ in range(45):
        rate = 0.5 * (low + high)
        worth = (
            float(_steady(stages, rate)[2][0, -1, 0])
            - rate * stages[0].minutes * stages[0].attended
        )
        low, high = (rate, high) if worth > 0.0 else (low, rate)
    on, again, _ = _steady(stages, low)
    chance = np.cumprod([1.0, *(stage.ok for stage in reversed(stages[1:]))])[::-1]
    needed = tuple(
        least_needed(value[0, :, 0]) * float(share)
        for value, share in zip(on[:-1], chance[:-1], strict=True)
    )
    redo = tuple(None if value is None else value[0, :, 0] for value in again)
    return Rate(low, tuple(value[0, :, 0] for value in on), redo, needed)


def _steady(
    stages: Sequence[StageWork], rate: float
) -> tuple[list[Floats], list[Floats | None], Floats]:
    """Return values of going on and redoing by stage, and of the first stage just done."""
    on: list[Floats] = []
    again: list[Floats | None] = []
    after = GRID[None, :, None]
    for stage in reversed(stages):
        ahead, redo = after, None
        after, redo = _settled(stage, ahead, rate)
        on.insert(0, ahead)
        again.insert(0, redo)
        first = after
        after = after - rate * stage.minutes * stage.attended
    return on, again, first


def _settled(stage: StageWork, on: Floats, rate: float) -> tuple[Floats, Floats | None]:
    """Return the value just after a stage, and of redoing it as often as that pays."""
    ok = np.array([[stage.ok]])
    seen = [posterior(check, ok) for check in stage.checks]

    def once(again: Floats | None) -> Floats:
        looks = [
            looked(result, GRID[None, :], on, again) - rate * check.minutes
            for check, result in zip(stage.checks, seen, strict=True)
        ]
        return just_after(stage, ok, on, again, looks)

    after = once(None)
    if stage.redo_minutes is None or stage.reveals:
        return after, None
    cost = rate * stage.redo_minutes + stage.redo_price
    for _ in range(500):
        before, after = after, once(after - cost)
        if np.abs(after - before).max() < 1e-12:
            break
    return after, after - cost


def _some(stages: Sequence[StageWork]) -> None:
    if not stages:
        raise BadInput("stages", "no stage is given", "give at least one stage of the work")
