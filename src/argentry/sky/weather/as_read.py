"""Readings beat forecasts: the skies of a day after its light was read.

What a reading finds beyond the forecast lasts for hours and fades: at each moment the forecast is
moved towards the reading by as much as the light of the two moments goes together [1]_. Hours go
together as measured ones do within their day [2]_, what passes within minutes by the minutes'
memory. Each of the days that may come is moved by its own miss, with the doubt of the reading in it
[3]_: not its light, as skies are mostly near clear or near overcast and little between, but its
place among the skies that the minute may have. So every sky stays one that was drawn, their range
is narrow at the reading, and hours later all is as before.

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
from argentry.physics.lights.sky_ensemble import normal_level, normal_share

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.arrays import Floats, Times
    from argentry.records.weather import LightRead
    from argentry.sky.weather.days import SkyDays


LEFT = 0.1  # of its weight: then a reading counts no more
HALF_HOUR = 30.0  # on each side: what is left of the light when minutes are averaged out
DOUBTS = normal_level(np.arange(0.05, 1.0, 0.1))  # ten ways how a reading may be wrong
ALIKE = 1e-9  # shares nearer than this are the same
LEAST = 0.02  # of the clear light: as dark as skies are drawn


def still(minutes: Floats, lasting: float = 1.0) -> Floats:
    """Return how much of a reading's difference from what was expected still holds [1].

    Parameters
    ----------
    minutes : Floats
        Since the reading; none before it. [min]
    lasting : float
        Part of the difference that is the hour's; the rest passes with the minutes' clouds. [1]
    """
    since = np.maximum(minutes, 0.0)
    hours, passing = (np.exp(-since / memory) for memory in _memories())
    held = lasting * hours + (1.0 - lasting) * passing
    return np.where(np.asarray(minutes) >= 0.0, held, 0.0)


def _memories() -> tuple[float, float]:
    """Return when hours, and minutes within them, go together by no more than 1/e. [min]."""
    return trade.value("bench", "light_memory"), trade.value("cloud", "minute_memory")


def _left_in_mean(memory: float) -> float:
    """Return what is left of the variance of a walk that forgets in its mean over an hour [1]."""
    x = 2.0 * HALF_HOUR / memory
    return 2.0 * (x - 1.0 + math.exp(-x)) / x**2


def gone(minutes: float) -> float:
    """Return how wide what a reading settled is again after a time, as a share of its width [1]."""
    return float(np.sqrt(1.0 - still(np.array(max(minutes, 0.0))) ** 2))


def counts_until(at: datetime) -> datetime:
    """Return when a reading taken then counts no more."""
    return at - timedelta(minutes=trade.value("bench", "light_memory") * math.log(LEFT))


def as_read(skies: SkyDays, times_utc: Times, read: LightRead | None, *, seed: int) -> SkyDays:
    """Return the skies of a day with what its light was read to be.

    Parameters
    ----------
    skies : SkyDays
        As they were expected, (n, m) and (m,).
    times_utc : Times, shape (m,)
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
    key = skies.global_share
    count = len(key)
    order = np.argsort(key, axis=0, kind="stable")
    ordered = np.take_along_axis(key, order, axis=0)
    level = np.empty_like(key)  # of each sky among the others of its minute, on the normal scale
    shares = (np.arange(count) + 0.5) / count
    np.put_along_axis(level, order, normal_level(shares)[:, None], axis=0)

    def place(share: float) -> float:
        """Return where a share stands among the skies of the reading's minute."""
        sides = [np.interp(share + side, ordered[:, at], shares) for side in (-ALIKE, ALIKE)]
        return float(normal_level(np.mean(sides)))

    found, doubt = read.global_share, math.log(2.0) * read.sigma_stops
    places = [place(found * math.exp(doubt * stray)) for stray in DOUBTS]
    stands, vague = float(np.mean(places)), float(np.std(places))
    near = np.abs(since) <= HALF_HOUR
    of_hour = float(level[:, near].mean(axis=1).var())
    hours, minutes = (_left_in_mean(memory) for memory in _memories())
    lasting = min(max((of_hour - minutes) / (hours - minutes), 0.0), 1.0)
    held = still(since, lasting)
    weight = held / (1.0 + vague**2)
    doubts = vague * np.random.default_rng(seed + 2000).standard_normal(count)
    level += weight * (stands + doubts - level[:, at])[:, None]
    row = np.clip(normal_share(level) * count - 0.5, 0.0, count - 1.0)
    low = row.astype(np.int64)
    part = row - low

    def taken(values: Floats) -> Floats:
        """Return each day's sky as the one that stands where it now stands."""
        below, above = (
            np.take_along_axis(values, np.take_along_axis(order, one, axis=0), axis=0)
            for one in (low, np.minimum(low + 1, count - 1))
        )
        return (1.0 - part) * below + part * above

    # beyond all of them the last is dimmed or brightened
    end = float(np.clip(found, ordered[0, at], ordered[-1, at]))
    more = (max(found, LEAST) / max(end, LEAST)) ** still(since)
    fact = {name: trade.value("cloud", name) for name in ("beam_share_most", "global_share_most")}

    def moved(middle: Floats, share: float, least: float, most: float) -> Floats:
        return np.asarray(np.clip(middle + held * (share - middle[at]), least, most))

    return replace(
        skies,
        beam_share=np.minimum(taken(skies.beam_share) * more, fact["beam_share_most"]),
        global_share=np.clip(taken(key) * more, LEAST, fact["global_share_most"]),
        middle_beam=moved(skies.middle_beam, read.beam_share, 0.0, fact["beam_share_most"]),
        middle_global=moved(skies.middle_global, found, LEAST, fact["global_share_most"]),
        warnings=(*skies.warnings, read.sentence),
    )
