"""Readings beat forecasts: the skies of a day after its light was read.

What a reading finds beyond the forecast lasts for hours and fades: at each moment the forecast is
moved towards the reading by as much as the light of the two moments goes together [1]_. Hours go
together as measured ones do within their day [2]_, what passes within minutes by the minutes'
memory. Each of the days that may come is moved by its own miss, with the doubt of the reading in it
[3]_, so that their spread is narrow at the reading and as wide as before some hours later.

References
----------
.. [1] D. Yang, "Making reference solar forecasts with climatology, persistence, and their optimal
   convex combination", Solar Energy 193 (2019) 981-985: the weight is the correlation at the lag.
.. [2] V. A. Graham and K. G. T. Hollands, "A method to generate synthetic hourly solar radiation
   globally", Solar Energy 44 (1990) 333-341.
.. [3] G. Burgers, P. J. van Leeuwen and G. Evensen, "Analysis scheme in the ensemble Kalman
   filter", Monthly Weather Review 126 (1998) 1719-1724: observations are perturbed for each member.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, timedelta
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade

if TYPE_CHECKING:
    from datetime import datetime

    from numpy.typing import NDArray

    from argentry.records.weather import LightRead
    from argentry.sky.weather.days import SkyDays

    Floats = NDArray[np.float64]

LEFT = 0.1  # of its weight: then a reading counts no more
HALF_HOUR = 30.0  # on each side: what is left of the light when minutes are averaged out
LEAST = 0.02  # of the clear light: as dark as skies are drawn


def still(minutes: Floats, lasting: float = 1.0) -> Floats:
    """Return how much of a reading's difference from what was expected still holds [1].

    Parameters
    ----------
    minutes : NDArray[float64]
        Since the reading; none before it. [min]
    lasting : float
        Part of the difference that is the hour's; the rest passes with the minutes' clouds. [1]
    """
    since = np.maximum(minutes, 0.0)
    hours = np.exp(-since / trade.value("bench", "light_memory"))
    passing = np.exp(-since / trade.value("cloud", "minute_memory"))
    held = lasting * hours + (1.0 - lasting) * passing
    return np.where(np.asarray(minutes) >= 0.0, held, 0.0)


def gone(minutes: float) -> float:
    """Return how wide what a reading settled is again after a time, as a share of its width [1]."""
    return float(np.sqrt(1.0 - still(np.array(max(minutes, 0.0))) ** 2))


def counts_until(at: datetime) -> datetime:
    """Return when a reading taken then counts no more."""
    return at - timedelta(minutes=trade.value("bench", "light_memory") * math.log(LEFT))


def as_read(
    skies: SkyDays, times_utc: NDArray[np.datetime64], read: LightRead | None, *, seed: int
) -> SkyDays:
    """Return the skies of a day with what its light was read to be.

    Parameters
    ----------
    skies : SkyDays
        As they were expected, (n, m) and (m,).
    times_utc : NDArray[datetime64], shape (m,)
        Their times.
    read : LightRead or None
        The reading; None, or one of another day: nothing changes.
    seed : int
        For the doubt of the reading on each day.
    """
    if read is None:
        return skies
    moment = np.datetime64(read.at.astimezone(UTC).replace(tzinfo=None), "ms")
    since = (times_utc.astype("datetime64[ms]") - moment) / np.timedelta64(60_000, "ms")
    at = int(np.argmin(np.abs(since)))
    if abs(since[at]) > 1.0:
        return skies
    rng = np.random.default_rng(seed + 2000)
    doubt = math.log(2.0) * read.sigma_stops
    misread = np.exp(doubt * rng.standard_normal(len(skies.beam_share)))[:, None]
    near = np.abs(since) <= HALF_HOUR
    unforeseen = trade.value("cloud", "unforeseen_sd") ** 2

    def moved(
        days: Floats, middle: Floats, found: float, least: float, most: float
    ) -> tuple[Floats, Floats]:
        seen = days[:, at, None]
        hour = max(float(days[:, near].mean(axis=1).var()), unforeseen)
        minute = max(float(seen.var()) - hour, 0.0)
        trust = (hour + minute) / (hour + minute + (doubt * found) ** 2)
        weight = trust * still(since, hour / (hour + minute))
        return (
            np.clip(days + weight * (found * misread - seen), least, most),
            np.clip(middle + weight * (found - middle[at]), least, most),
        )

    fact = {name: trade.value("cloud", name) for name in ("beam_share_most", "global_share_most")}
    beam = moved(skies.beam_share, skies.middle_beam, read.beam_share, 0.0, fact["beam_share_most"])
    level = moved(
        skies.global_share, skies.middle_global, read.global_share, LEAST, fact["global_share_most"]
    )
    return replace(
        skies,
        beam_share=beam[0],
        global_share=level[0],
        middle_beam=beam[1],
        middle_global=level[1],
        warnings=(*skies.warnings, read.sentence),
    )
