"""Which interval of a weather file holds a moment, and whether its clock can be right."""

from __future__ import annotations

import numpy as np

from argentry.arrays import Floats, Times, Whole
from argentry.errors import BadInput
from argentry.records.weather import Weather

YEAR_S = 365 * 86400
# Light that no dusk explains: brighter than an instrument's night offset, the sun well down.
NIGHT_W_M2, NIGHT_DEG = 10.0, -3.0


def interval_at(weather: Weather, times_utc: Times) -> Whole:
    """Return the number of the interval that holds each moment.

    A typical year is matched by month, day and hour of the day; 29 February takes 28 February.

    Returns
    -------
    Whole, same shape
        Number of the interval; -1 where the file says nothing of that moment.
    """
    times = np.asarray(times_utc).astype("datetime64[s]")
    starts = weather.start_utc
    if weather.kind == "typical year":
        times = _into_year_of(times, starts[0])
    index = np.searchsorted(starts, times, side="right") - 1
    inside = index >= 0
    age = times - starts[np.maximum(index, 0)]
    inside &= age < np.timedelta64(round(weather.step_s), "s")
    return np.where(inside, index, -1).astype(np.int64)


def _into_year_of(times: Times, first: np.datetime64) -> Times:
    """Return the moments of the year that begins at `first` with the same month, day and hour."""
    day = times.astype("datetime64[D]")
    year = times.astype("datetime64[Y]")
    month = times.astype("datetime64[M]")
    day_of_month = (day - month.astype("datetime64[D]")).astype(np.int64)
    leap_day = (month - year.astype("datetime64[M]")).astype(np.int64) == 1
    leap_day &= day_of_month == 28
    times = np.where(leap_day, times - np.timedelta64(1, "D"), times)
    # Count in a year without 29 February, so that the days after it keep their date.
    months_on = (month - year.astype("datetime64[M]")).astype(np.int64)
    plain = np.datetime64("2001-01", "M") + months_on
    within = times - month.astype("datetime64[s]")
    moved = plain.astype("datetime64[s]") + within
    shift = (moved - first).astype("timedelta64[s]").astype(np.int64) % YEAR_S
    out: Times = first + shift.astype("timedelta64[s]")
    return out


def need_cover(weather: Weather, times_utc: Times, what: str = "the day") -> Whole:
    """Return `interval_at`, refusing weather that leaves any of the moments open.

    Parameters
    ----------
    weather : Weather
        As read.
    times_utc : Times, shape (n,)
        Moments that must be covered, UTC.
    what : str
        What they are, for the sentence.

    Returns
    -------
    Whole, shape (n,)
        Number of the interval of each.

    Raises
    ------
    BadInput
        If a moment is not covered.
    """
    index = interval_at(weather, times_utc)
    missing = np.flatnonzero(index < 0)
    if missing.size:
        end = weather.start_utc[-1] + np.timedelta64(round(weather.step_s), "s")
        moment = np.asarray(times_utc)[missing[0]].astype("datetime64[m]")
        span = "{start} to {end} UTC".format(
            start=weather.start_utc[0].astype("datetime64[m]"),
            end=end.astype("datetime64[m]"),
        )
        raise BadInput(
            weather.source,
            "it covers {span} and says nothing about {moment} UTC",
            "give a file that covers {hours}, or leave it out for a clear sky",
            span=span,
            moment=moment,
            hours=what,
        )
    return index


def clock_doubt(weather: Weather, latitude_deg: float, longitude_deg: float) -> str:
    """Return one sentence when the file has light while the sun is down, else an empty text.

    A wrong time zone, a stamp at the other end of the interval, or another place shows so.

    Parameters
    ----------
    weather : Weather
        As read.
    latitude_deg, longitude_deg : float
        Of the studio, north and east positive. [deg]
    """
    from argentry.physics.lights.sun import sun_path

    step = np.timedelta64(round(weather.step_s), "s")
    starts = weather.start_utc.astype("datetime64[s]")
    times = np.concatenate([starts + part for part in (0 * step, step // 2, step)])
    heights = sun_path(times, latitude_deg, longitude_deg).elevation_deg
    return dark_doubt(weather, np.arange(starts.size), heights.reshape(3, -1).max(axis=0))


def dark_doubt(weather: Weather, rows: Whole, highest_deg: Floats) -> str:
    """Return `clock_doubt` of some intervals, by how high the sun comes in each."""
    light = np.fmax(np.nan_to_num(weather.ghi_w_m2), np.nan_to_num(weather.dni_w_m2))
    dark = np.flatnonzero((light[rows] > NIGHT_W_M2) & (highest_deg < NIGHT_DEG))
    if not dark.size:
        return ""
    at = rows[dark[0]]
    moment = weather.start_utc[at].astype("datetime64[m]")
    return (
        "{source} has {light:.0f} W/m² from {moment} UTC, when the sun "
        "is down here: check its time zone, its stamp (start, middle, end) and its place.".format(
            source=weather.source, light=light[at], moment=moment
        )
    )
