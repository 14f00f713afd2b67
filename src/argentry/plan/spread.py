"""Hundreds of days: what the plan becomes when durations and weather turn out as they may."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry.physics import dose as light_dose
from argentry.plan import daylight, dispatch
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, Block

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.plan.shop import Rule, Shop

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Spread:
    """Simulated days of one plan.

    Attributes
    ----------
    starts, ends : NDArray[float64], shape (days, plates, blocks)
        NaN where a block was not reached. [min]
    sound : NDArray[bool], shape (days, plates)
        Plates finished that day with every keeping limit held.
    late_days : float
        Share of days on which some keeping limit was overrun. [1]
    ripe_days : float
        Share of days on which some plate lay ripe in its frame beyond the limit. [1]
    """

    starts: Array
    ends: Array
    sound: NDArray[np.bool_]
    late_days: float
    ripe_days: float

    @property
    def finished(self) -> NDArray[np.int64]:
        """Plates finished on each day, shape (days,)."""
        return np.asarray(self.sound.sum(axis=1))


def draw_doses(light: daylight.DayLight, plates: int, days: int, seed: int) -> tuple[Array, ...]:
    """Return development doses by kind of frame, shape (days, plates) [J/m2].

    Parameters
    ----------
    light : DayLight
        The day's light.
    plates, days : int
        How many.
    seed : int
        For the draws; a plate has the same luck in every kind of frame.
    """
    luck = np.random.default_rng(seed).standard_normal((days, plates))
    return tuple(frame.dose * np.exp(frame.dose_log_sd * luck) for frame in light.frames)


def draw_minutes(blocks: tuple[Block, ...], plates: int, days: int, seed: int) -> Array:
    """Return drawn durations of hands-on blocks and waits, shape (days, plates, blocks) [min].

    Each step is log-normal around its median; a block is the sum of its steps.

    Parameters
    ----------
    blocks : tuple of Block
        A plate's blocks.
    plates, days : int
        How many.
    seed : int
        For the draws.
    """
    generator = np.random.default_rng(seed)
    out = np.zeros((days, plates, len(blocks)))
    for index, block in enumerate(blocks):
        if block.kind in (EXPOSURE, DEVELOPMENT):
            continue
        for task in block.tasks:
            luck = generator.standard_normal((days, plates))
            out[:, :, index] += task.minutes * np.exp(task.log_sd * luck)
    return out


def simulate(shop: Shop, rule: Rule, light: daylight.DayLight, *, days: int, seed: int) -> Spread:
    """Simulate many days of one plan.

    Parameters
    ----------
    shop : Shop
        The day's fixed part.
    rule : Rule
        What the hands prefer.
    light : DayLight
        Its weathers are used in turn.
    days : int
        How many days.
    seed : int
        For the durations and doses.

    Returns
    -------
    Spread
        What happened on them.
    """
    minutes = draw_minutes(shop.blocks, shop.plates, days, seed)
    doses = draw_doses(light, shop.plates, days, seed + 1)
    weathers = light.exposure_days.shape[0]
    starts, ends, sound = [], [], []
    late = lay_ripe = 0
    exposures = [
        daylight.patient_ends(day, light) for day in light.exposure_days[: min(days, weathers)]
    ]
    for day in range(days):
        sky = day % weathers
        # one table per kind of frame, (plates, m + 1): a dose for each plate under one light
        tables = [
            light_dose.end_table(frame.days[sky], doses[kind][day])
            for kind, frame in enumerate(light.frames)
        ]
        ripe = [np.stack([t[p] for t in tables]) for p in range(shop.plates)]
        run = dispatch.run_day(shop, rule, minutes[day], exposures[sky], ripe)
        starts.append(run.starts)
        ends.append(run.ends)
        sound.append(run.sound)
        late += bool((run.late > 0).any())
        lay_ripe += bool((run.lay_ripe > 0).any())
    return Spread(np.stack(starts), np.stack(ends), np.stack(sound), late / days, lay_ripe / days)
