"""The skies that a moment may have: the day's own for one moment, drawn for many."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from argentry.records.weather import Outlook
from argentry.sky.sky_day import SkyDay, sky_day
from argentry.sky.sunlight import BEFORE, HALF_MINUTE, minutes_around
from argentry.sky.weather.as_read import as_read
from argentry.sky.weather.climate import season_days
from argentry.sky.weather.days import DAYS, SEED, SkyDays, run_around, sky_days
from argentry.sky.weather.whole_day import skies_known


def skies_at(outlook: Outlook, day: SkyDay) -> SkyDays:
    """Return shares of the clear beam and of all light on the level under the skies there may be.

    For one moment they are those of its day, as every question about that day has them; for several
    they are drawn at these moments alone, by the same law.

    Parameters
    ----------
    outlook : Outlook
        What is known of the sky.
    day : SkyDay
        The moments.

    Raises
    ------
    BadInput
        If the file does not cover them.
    """
    if day.times_utc.size > 1:
        return _at_several(outlook, day)
    moment = day.times_utc.astype("datetime64[s]")[0]
    begins, path = minutes_around(moment, day.place)
    if path.elevation_deg[BEFORE] <= 0.0:
        dark = np.ones((DAYS, 1))
        return SkyDays(dark, dark, dark[0], dark[0], "", ())
    rise, fall = run_around(path.elevation_deg > 0.0, BEFORE)
    at = BEFORE - rise
    minutes = sky_day(day.place, begins[rise:fall] + HALF_MINUTE, ())
    return skies_known(outlook, minutes, at, slice(at, at + 1)).part(at, at + 1)


def _at_several(outlook: Outlook, day: SkyDay) -> SkyDays:
    times = day.times_utc.astype("datetime64[s]")
    asked = np.arange(times.size)
    if outlook.read is not None:  # the skies at the reading are drawn with the others
        read = np.datetime64(outlook.read.at.astimezone(UTC).replace(tzinfo=None), "s")
        if times[0] - np.timedelta64(1, "D") < read <= times[-1]:
            where = int(np.searchsorted(times, read))
            asked = asked + (asked >= where)
            day = sky_day(day.place, np.insert(times, where, read), ())
    if outlook.weather is not None:
        drawn = sky_days(outlook.weather, day, DAYS, SEED)
    else:
        first: datetime = times[0].item()
        date = first.replace(tzinfo=UTC).astimezone(ZoneInfo(day.place.time_zone)).date()
        drawn = season_days(day, date, seed=SEED, usual=True)
    drawn = as_read(drawn, day.times_utc, outlook.read, seed=SEED)
    return drawn.at(asked)
