"""How far a forecast misses the clouds by its lead, and what its own record makes of that.

What a forecast said of an hour and what was read of the light in it are held together through the
model's own skies: for a cloud amount that was forecast and a miss of some width it draws the light
that may be read. The width that explains the readings best is what the source is widened by; the
Brier score of "at least half of the clear light" says whether it beats the clouds of the season
[1]_.

References
----------
.. [1] G. W. Brier, "Verification of forecasts expressed in terms of probability", Monthly Weather
   Review 78 (1950) 1-3.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.physics.lights.cloud import cloud_levels, from_cloud_share, okta_at_beam
from argentry.physics.lights.sky_ensemble import sky_ensemble
from argentry.records.weather import ForecastRecord
from argentry.sky.weather.usual import LEAST, MOST

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from argentry.arrays import Floats, Whole


OKTAS = np.arange(0.0, 8.01, 0.5)
WIDTHS = np.arange(0.25, 6.01, 0.25)  # of a miss [okta]
FACTORS = np.geomspace(0.4, 2.5, 23)  # of the seed's width
DRAWS, SEED = 600, 5
HALF = 0.5  # of the clear light: the event that is scored
KERNEL = 0.08  # of a share, by which draws are smeared to a density
FLOOR = 0.02  # density of what no draw explains: a reading may be wrong
FACTOR_LN_SD = 0.35  # how far a source may be from the seed
LEAST_DAYS = 15  # before a source is judged


def miss_okta(lead_h: ArrayLike) -> Floats:
    """Return how far a forecast misses the cloud amount, by its lead. [okta].

    Parameters
    ----------
    lead_h : array_like
        From when it came to the hour it speaks of. [h]
    """
    ahead = np.asarray(lead_h, np.float64) / 24.0 - 1.0
    day_ahead, per_day = (
        trade.value("cloud", name) for name in ("forecast_sd_okta", "forecast_sd_per_day")
    )
    low, high = (trade.value("cloud", f"forecast_sd_{name}") for name in ("least", "most"))
    return np.asarray(np.clip(day_ahead + per_day * ahead, low, high))


def dressing_okta(members_beam: Floats, miss: float) -> float:
    """Return what an ensemble's spread of cloud lacks to a miss, to be drawn about each member.

    Parameters
    ----------
    members_beam : Floats, shape (k, m)
        Beam share of each member. [1]
    miss : float
        How far the forecast misses. [okta]
    """
    spread = okta_at_beam(np.clip(members_beam, 0.0, 1.0)).var(axis=0).mean()
    return float(np.sqrt(max(miss**2 - spread, 0.0)))


@cache
def _drawn(usual: float) -> Floats:
    """Return shares of the clear light drawn for each width of a miss and cloud amount forecast."""
    sky = from_cloud_share(OKTAS / 8.0)
    high = np.full(OKTAS.size, 45.0)
    return np.stack(
        [
            sky_ensemble(
                sky.beam_share, sky.global_share, high, n=DRAWS, seed=SEED, step_minutes=1e5,
                okta_sd=float(width), usual_cloud=usual, hour_sd=trade.value("cloud", "hour_sd"),
                haze_ln_sd=trade.value("cloud", "haze_ln_sd"),
            )[1].T
            for width in WIDTHS
        ]
    )  # fmt: skip


def _rows(okta: Floats, width: Floats, usual: ArrayLike) -> Floats:
    """Return the draws for forecasts of these amounts that miss by these widths, (n, draws).

    They are held to the clouds usual at their place and season, a mean share of the sky.
    """
    nearest = [
        np.abs(grid[None, :] - values[:, None]).argmin(axis=1)
        for grid, values in ((WIDTHS, width), (OKTAS, okta))
    ]
    held = np.round(np.broadcast_to(np.asarray(usual, np.float64), okta.shape), 1)
    rows = np.empty((okta.size, DRAWS))
    for one in np.unique(held):
        there = held == one
        rows[there] = _drawn(float(one))[nearest[0][there], nearest[1][there]]
    return rows


def odds_of_half(okta: Floats, width: Floats, usual: ArrayLike) -> Floats:
    """Return the probability of at least half of the clear light. [1]."""
    return np.asarray((_rows(okta, width, usual) >= HALF).mean(axis=1))


@cache
def odds_by_season(usual: float) -> float:
    """Return the same by the clouds usual at a place and season, a mean share of the sky. [1]."""
    levels = cloud_levels(usual)
    return float(odds_of_half(8.0 * levels, np.full(levels.size, WIDTHS[0]), usual).mean())


def forecast_record(
    okta: Floats,
    lead_h: Floats,
    seen: Floats,
    day: Whole,
    usual: Floats,
    cloudier: float = 0.0,
) -> ForecastRecord:
    """Return what a source's record says, every day counted once however often it was read.

    Parameters
    ----------
    okta, lead_h, seen : Floats, shape (n,)
        Cloud amount forecast [okta], from how long before [h], and the share of the clear light
        that was read [1].
    day : Whole, shape (n,)
        Number of the day.
    usual : Floats, shape (n,)
        Mean share of the sky under cloud at the latitude and season. [1]
    cloudier : float
        What the place has over it. [1]
    """
    if not okta.size:
        return ForecastRecord(0, 1.0, None, None, worse=False, cloudier=cloudier)
    days, at, often = np.unique(day, return_inverse=True, return_counts=True)
    weight = 1.0 / often[at]
    width, here = miss_okta(lead_h), np.clip(usual + cloudier, LEAST, MOST)
    fits = np.empty(FACTORS.size)
    for number, factor in enumerate(FACTORS):
        away = (_rows(okta, factor * width, here) - seen[:, None]) / KERNEL
        density = np.exp(-0.5 * away**2).mean(axis=1) / (KERNEL * np.sqrt(2.0 * np.pi))
        fits[number] = weight @ np.log(density + FLOOR)
    fits -= 0.5 * (np.log(FACTORS) / FACTOR_LN_SD) ** 2
    posterior = np.exp(fits - fits.max())
    widened = float(posterior @ FACTORS / posterior.sum())
    came = (seen >= HALF).astype(np.float64)
    own = weight * (odds_of_half(okta, widened * width, here) - came) ** 2
    by_season = np.array([odds_by_season(round(float(one), 2)) for one in usual])
    season = weight * (by_season - came) ** 2
    by_day = np.bincount(at, own - season, days.size)
    sure = by_day.std(ddof=1) / np.sqrt(days.size) if days.size > 1 else np.inf
    worse = bool(days.size >= LEAST_DAYS and by_day.mean() > sure)
    return ForecastRecord(
        days=int(days.size),
        widened=widened,
        brier=float(own.sum() / days.size),
        brier_season=float(season.sum() / days.size),
        worse=worse,
        cloudier=cloudier,
    )
