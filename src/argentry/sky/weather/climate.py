"""The skies a season may bring at a latitude, for days of which no forecast is known."""

from __future__ import annotations

import math
from datetime import date
from functools import lru_cache

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.lights import cloud
from argentry.physics.lights.sky_ensemble import normal_share, sky_ensemble, wander
from argentry.sky.sky_day import SkyDay, haze_of
from argentry.sky.weather.days import DAYS, SEED, SkyDays
from argentry.sky.weather.usual import usual_cloud

USUAL = (
    "no forecast: times and odds are for the clouds usual at this latitude and season ({okta:.0f} "
    "eighths on average, from memory)"
)
NOTE = (
    "no weather file: times are for a clear sky, odds for the clouds usual at this latitude and "
    "season ({okta:.0f} eighths on average, from memory)"
)


def season_days(
    day: SkyDay,
    date_: date,
    *,
    n: int = DAYS,
    seed: int = SEED,
    usual: bool = False,
    part: slice = slice(None),
) -> SkyDays:
    """Return `n` days as the season brings them, about a clear one or about their own mean.

    Parameters
    ----------
    day : SkyDay
        The day's steps of a minute.
    date_ : date
        The date.
    n, seed : int
        How many days; the same seed gives the same days.
    usual : bool
        True where a forecast was wanted and there is none: the middle day is the mean of the days.
    part : slice
        The steps that are wanted, of the same days.

    Returns
    -------
    SkyDays
        Else the middle day is clear, as every other answer without a weather file takes it.
    """
    mean, steps = usual_cloud(day.place.latitude_deg, date_), day.times_utc.size
    day = day.part(part.start or 0, part.stop)
    hours = cloud.from_cloud_share(_cloud_shares(mean, n, steps, seed + 1000, part))
    drawn = sky_ensemble(
        hours.beam_share,
        hours.global_share,
        day.path.elevation_deg,
        n=n,
        seed=seed,
        hour_sd=hours.hour_sd,
        clear_diffuse_share=day.diffuse_share,
        haze_aod=haze_of(day.place),
        haze_ln_sd=trade.value("cloud", "haze_ln_sd"),
        of=(steps, part),
    )
    note = (USUAL if usual else NOTE).format(okta=8.0 * mean)
    beam, whole = (part.mean(axis=0) if usual else np.ones(part.shape[1]) for part in drawn)
    return SkyDays(*drawn, beam, whole, note, (note,))


def _cloud_shares(mean: float, n: int, steps: int, seed: int, part: slice = slice(None)) -> Floats:
    """Return the shares of the sky under cloud of `n` days about a mean, shape (n, part) [1]."""
    levels = cloud.cloud_levels(round(mean, 3))
    ranks = _ranks(n, steps, seed, *part.indices(steps)[:2])
    return np.interp(ranks, np.linspace(0.0, 1.0, len(levels)), levels)


@lru_cache(maxsize=2)  # every date that is looked at has the same chances under its own clouds
def _ranks(n: int, steps: int, seed: int, first: int, last: int) -> Floats:
    """Return how cloudy `n` days are among those of their season, shape (n, last - first) [1]."""
    rng = np.random.default_rng(seed)
    day_part = trade.value("cloud", "forecast_day_part")
    memory_minutes = 60.0 * trade.value("cloud", "forecast_memory_h")
    hourly = wander(rng, n, steps, 1.0, memory_minutes)[first:last].T
    level = math.sqrt(day_part) * rng.standard_normal((n, 1)) + math.sqrt(1.0 - day_part) * hourly
    ranks = normal_share(level)
    ranks.flags.writeable = False
    return ranks
