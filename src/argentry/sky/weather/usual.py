"""The clouds that are usual at a place and season."""

from __future__ import annotations

import math
from datetime import date

import numpy as np

from argentry import trade
from argentry.arrays import Floats, Times

COLDEST_DAY = 20  # of the year in the northern half: a month after the shortest
DAYS_OF_LATITUDE = 20  # 2 x 0.3^2 / 0.1^2, rounded
SEASON_DAYS = 45  # either way: what hours of other years say of the clouds about a date
LEAST, MOST = 0.05, 0.95  # a place is never surer than these


def usual_cloud(latitude_deg: float, day: date, cloudier: float = 0.0) -> float:
    """Return the mean share of the sky under cloud at a latitude and season [1].

    Parameters
    ----------
    latitude_deg : float
        [deg]
    day : date
        The date.
    cloudier : float
        What the place is known to have over its latitude. [1]
    """
    columns = trade.table("zonal_cloud").columns
    at = (abs(latitude_deg), columns["latitude_deg"])
    mean, cold_more = (float(np.interp(*at, columns[name])) for name in ("cloud", "cold_more"))
    phase = 2.0 * math.pi * (day.timetuple().tm_yday - COLDEST_DAY) / 365.25
    season = cold_more * math.cos(phase) * (1.0 if latitude_deg >= 0.0 else -1.0)
    return min(max(mean + season + cloudier, LEAST), MOST)


def cloudier_than_usual(share: float, usual: float, days: int) -> float:
    """Return how much cloudier a place is than its latitude, by what was said of some days there.

    The latitude is good to about a tenth; a day strays from the mean by three tenths, and two days
    running say little more than one. So twenty days count as much as the latitude.

    Parameters
    ----------
    share, usual : float
        Mean cloud that was said of those days, and that of their latitude and dates. [1]
    days : int
        How many.
    """
    return (share - usual) * days / (days + DAYS_OF_LATITUDE)


def cloudier_by_hours(
    start_utc: Times, cloud_share: Floats, latitude_deg: float, day: date
) -> float:
    """Return how much cloudier hours that are known have the season of a day than their latitude.

    Parameters
    ----------
    start_utc : Times, shape (n,)
        When each hour begins, UTC.
    cloud_share : Floats, shape (n,)
        Share of the sky under cloud, NaN where it is not known. [1]
    latitude_deg : float
        [deg]
    day : date
        The date, within `SEASON_DAYS` of which hours count.

    Returns
    -------
    float
        0 where no hour is known. [1]
    """
    days = start_utc.astype("datetime64[D]")
    of_year = (days - days.astype("datetime64[Y]")).astype(int)
    apart = np.abs(of_year - day.timetuple().tm_yday + 1)
    near = np.isfinite(cloud_share) & (np.minimum(apart, 365 - apart) <= SEASON_DAYS)
    if not near.any():
        return 0.0
    usual = [usual_cloud(latitude_deg, one) for one in np.unique(days[near]).tolist()]
    return float(cloud_share[near].mean()) - sum(usual) / len(usual)
