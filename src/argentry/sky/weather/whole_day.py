"""The skies that a day may have by all that is known of it: a file, the season, a reading."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from argentry.sky.sky_day import sky_day
from argentry.sky.weather.as_read import as_read
from argentry.sky.weather.climate import season_days
from argentry.sky.weather.days import SEED, place_under, run_around, skies_of_day
from argentry.sky.weather.hours import sky_with_file

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Times
    from argentry.records.weather import Outlook
    from argentry.sky.place import Place
    from argentry.sky.sky_day import Filter, SkyDay
    from argentry.sky.weather.days import SkyDays
    from argentry.sky.weather.hours import Intervals


def skies_known(
    outlook: Outlook,
    day: SkyDay,
    around: int,
    need: slice,
    *,
    seed: int = SEED,
    intervals: Intervals | None = None,
) -> SkyDays:
    """Return the skies of a day from sunrise to sunset, whichever part of it is asked for.

    Parameters
    ----------
    outlook : Outlook
        A forecast or none, and what the light was last read to be. Without a forecast the sky is
        clear, or the season's where one was wanted or the light was read.
    day : SkyDay
        Steps that hold the day.
    around : int
        A step between sunrise and sunset.
    need : slice
        Steps that a file must say something of.
    seed, intervals
        As of `argentry.sky.weather.days.sky_days`.

    Raises
    ------
    BadInput
        If the file does not cover the daylight that is needed.
    """
    if outlook.weather is None and outlook.varied:
        first, last = run_around(day.path.elevation_deg > 0.0, around)
        noon: datetime = day.times_utc[around].astype("datetime64[s]").item()
        date = noon.replace(tzinfo=UTC).astimezone(ZoneInfo(day.place.time_zone)).date()
        drawn = season_days(day.part(first, last), date, seed=seed, usual=True)
        skies = drawn.padded(first, day.times_utc.size)
    else:
        skies = skies_of_day(outlook.weather, day, around, need, seed=seed, intervals=intervals)
    return as_read(skies, np.asarray(day.times_utc), outlook.read, seed=seed)


def sky_and_skies(
    outlook: Outlook,
    place: Place,
    times_utc: Times,
    filters: Sequence[Filter],
    need: slice,
    *,
    seed: int = SEED,
) -> tuple[SkyDay, SkyDays]:
    """Return the sun and the clear sky of a day, and the skies it may have: each worked out once.

    Parameters and errors as of `skies_known` and `argentry.sky.sky_day.sky_day`.
    """
    intervals, place = None, place_under(outlook.weather, place, times_utc)
    if outlook.weather is None:
        day = sky_day(place, times_utc, filters)
    else:
        day, intervals = sky_with_file(outlook.weather, place, times_utc, filters)
    noon = int(np.argmax(day.path.elevation_deg))
    return day, skies_known(outlook, day, noon, need, seed=seed, intervals=intervals)
