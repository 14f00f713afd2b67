"""What the rest of a day is worth, minute by minute, when a plate can be begun now."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import ceil, hypot

import numpy as np

from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.learn.deciding.plate_value import plate_value, rounded_up
from argentry.learn.deciding.stage_work import StageWork
from argentry.learn.deciding.steady_rate import solve_rate


def solve_day(stages: tuple[StageWork, ...], minutes: int, *, overlap: bool = False) -> Floats:
    """Return what the rest of a day is worth when a plate can be begun now.

    Parameters
    ----------
    stages : tuple of StageWork
        Of a usual plate.
    minutes : int
        Of the day, 0 to 2000. [min]
    overlap : bool
        False: one plate at a time, and the day holds whole plates only. True: hands free during
        unattended minutes begin other plates, at the steady rate of `solve_rate`.

    Returns
    -------
    Floats, shape (minutes + 1,)
        Good plates to be expected with 0, 1, 2 ... minutes left. [plates]

    Raises
    ------
    BadInput
        If `minutes` is out of range or there is no stage.
    """
    check_range("minutes of the day", minutes, 0, 2000, "min")
    if not stages:
        raise BadInput("stages", "no stage is given", "give at least one stage of the work")
    # what t minutes are worth does not depend on the minutes before them: solved once for all days
    solved = _solve_day(stages, 240 * -(-minutes // 240), overlap=overlap)
    return solved[: minutes + 1]


@lru_cache(maxsize=64)
def _solve_day(stages: tuple[StageWork, ...], minutes: int, *, overlap: bool) -> Floats:
    left = np.arange(minutes + 1.0)
    if overlap:
        whole_plate = sum(stage.minutes for stage in stages)
        return np.asarray(solve_rate(stages).per_minute * np.maximum(0.0, left - whole_plate))
    scatter = hypot(*(stage.scatter for stage in stages))
    beyond = ceil(3.0 * scatter)
    worth = np.zeros(minutes + beyond + 1)
    alone = tuple(replace(stage, attended=1.0) for stage in stages)
    value = plate_value(alone, worth)  # reads `worth` only up to the minute being solved
    first = rounded_up(stages[0].minutes)
    for t in range(1, worth.size):
        worth[t] = worth[t - 1]
        if t >= first:
            begun = float(value.after(0, t - first)[0, -1])
            worth[t] = max(worth[t], worth[t - first] + begun)
    if scatter > 0.0:  # when a plate is over, more or less of the day is left than was planned
        shares = np.exp(-0.5 * (np.arange(-beyond, beyond + 1) / scatter) ** 2)
        before = np.concatenate([np.zeros(beyond), worth])
        worth = np.convolve(before, shares / shares.sum(), mode="valid")
    worth.flags.writeable = False
    return worth
