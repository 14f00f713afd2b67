"""What the rest of a day is worth, minute by minute, when a plate can be begun now."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import ceil

import numpy as np

from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.learn.deciding.plate_value import NO_MORE, plate_value, rounded_up
from argentry.learn.deciding.stage_work import StageWork
from argentry.learn.deciding.steady_rate import solve_rate

FINEST = 720  # steps of time in which a day is solved, where it has more minutes


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
    whole = 240 * -(-minutes // 240)
    solved = _solve_day(stages, whole, overlap=overlap)
    at = np.linspace(0.0, whole, solved.size)
    return np.asarray(np.interp(np.arange(minutes + 1.0), at, solved))


def counts(minutes: float) -> int:
    """Return in how many steps of time so many minutes left are solved: whole minutes, or more."""
    return max(min(ceil(minutes), FINEST), 1)


@lru_cache(maxsize=64)
def _solve_day(stages: tuple[StageWork, ...], minutes: int, *, overlap: bool) -> Floats:
    left = np.linspace(0.0, minutes, counts(minutes) + 1)
    whole = sum(rounded_up(stage.minutes) for stage in stages)
    if overlap:
        return np.asarray(solve_rate(stages).per_minute * np.maximum(0.0, left - whole))
    alone = tuple(replace(stage, attended=1.0) for stage in stages)
    worth = np.zeros(left.size)
    # one plate more in each round, until no minute of the day is worth more by it
    for _ in range(minutes):
        begun = plate_value(alone, worth, step=minutes / counts(minutes)).ahead[-1][0, -1]
        more = np.where(left >= whole, worth + np.maximum(begun, 0.0), 0.0)
        before, worth = worth, np.maximum.accumulate(more)
        if np.abs(worth - before).max() < NO_MORE:
            break
    worth.flags.writeable = False
    return worth
