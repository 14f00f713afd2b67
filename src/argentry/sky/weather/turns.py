"""The skies that a moment may have by a weather file: the day's own for one, drawn for many."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry.sky.sky_day import sky_day
from argentry.sky.sunlight import BEFORE, HALF_MINUTE, minutes_around
from argentry.sky.weather.days import DAYS, SEED, run_around, skies_of_day, sky_days

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.records.weather import Weather
    from argentry.sky.sky_day import SkyDay

    Floats = NDArray[np.float64]


def skies_at(weather: Weather, day: SkyDay) -> tuple[Floats, Floats]:
    """Return shares of the clear beam and of all light on the level under the skies there may be.

    For one moment they are those of its day, as every question about that day has them; for several
    they are drawn at these moments alone, by the same law.

    Parameters
    ----------
    weather : Weather
        The file.
    day : SkyDay
        The moments.

    Returns
    -------
    beam_share, global_share : NDArray[float64], shape (k, m)
        [1]

    Raises
    ------
    BadInput
        If the file does not cover them.
    """
    if day.times_utc.size > 1:
        drawn = sky_days(weather, day, DAYS, SEED)
        return drawn.beam_share, drawn.global_share
    moment = day.times_utc.astype("datetime64[s]")[0]
    begins, path = minutes_around(moment, day.place)
    if path.elevation_deg[BEFORE] <= 0.0:
        return np.ones((DAYS, 1)), np.ones((DAYS, 1))
    rise, fall = run_around(path.elevation_deg > 0.0, BEFORE)
    at = BEFORE - rise
    minutes = sky_day(day.place, begins[rise:fall] + HALF_MINUTE, ())
    skies = skies_of_day(weather, minutes, at, slice(at, at + 1)).part(at, at + 1)
    return skies.beam_share, skies.global_share
