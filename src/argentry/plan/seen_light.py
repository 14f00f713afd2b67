"""What the plates of a day have shown of its light, where no forecast or reading tells of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.physics.lights.sky_ensemble import normal_share
from argentry.plan.tasks import DEVELOPMENT

if TYPE_CHECKING:
    from argentry.arrays import Floats, Whole
    from argentry.plan.daylight import DayLight
    from argentry.plan.shop import Begun
    from argentry.plan.tasks import Block

LITTLE_LIGHT = 1e-6  # J/m2
UNLIKELY = 1e-4  # no sky is less likely than this beside another: none is ruled out by few plates
GOLDEN = 0.5 * (5.0**0.5 - 1.0)  # steps by it lie evenly, however many are taken


def weathers_seen(
    blocks: tuple[Block, ...], begun: Begun, light: DayLight, now: float, days: int, used: int
) -> Whole:
    """Return which weather each simulated day has, the more often the better it fits the plates.

    A plate that was ripe soon lay under a bright sky, or needed little; one that is not ripe yet
    needs more than every sky would have given it, or lies under a dark one.

    Parameters
    ----------
    blocks : tuple of Block
        A plate's blocks.
    begun : Begun
        What has happened to the plates, by blocks.
    light : DayLight
        The day's light and its weathers.
    now : float
        [min]
    days, used : int
        How many days, and how many of the weathers are theirs.

    Returns
    -------
    Whole, shape (days,)
        Places in the weathers.
    """
    chance = np.zeros(used)
    developing = next(i for i, block in enumerate(blocks) if block.kind == DEVELOPMENT)
    for plate, start in enumerate(begun.starts[:, developing]):
        frame = light.frames[int(begun.frame_kind[plate])]
        if np.isnan(start) or frame.lamp:
            continue
        end = begun.ends[plate, developing]
        until = now if np.isnan(end) else end
        low, high = np.clip(np.rint([start, until]), 0, light.minutes).astype(int)
        had = np.maximum(frame.days[:used, high] - frame.days[:used, low], LITTLE_LIGHT)
        spread = max(float(np.hypot(frame.dose_log_sd, frame.dose_doubt_log_sd)), LITTLE_LIGHT)
        off = np.log(had / frame.dose) / spread
        if np.isnan(end):
            chance += np.log(np.maximum(normal_share(-off), UNLIKELY))
        else:
            chance -= 0.5 * np.minimum(off**2, -2.0 * np.log(UNLIKELY))
    if not chance.any():
        return np.asarray(np.arange(days) % used)
    share = np.maximum(np.exp(chance - chance.max()), UNLIKELY)
    return _by_share(share / share.sum(), days)


def _by_share(share: Floats, days: int) -> Whole:
    """Return days that have each of some weathers by its share, in the first of them too."""
    place = (0.5 + GOLDEN * np.arange(days)) % 1.0
    return np.minimum(np.searchsorted(np.cumsum(share), place), len(share) - 1)
