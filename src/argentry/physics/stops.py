"""Stops, the factors of two in which a maker thinks: ranges, rounding, step tests.

References
----------
.. [1] ISO 3:1973, Preferred numbers: the series R 10.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import NormalDist

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import check_range

SHARES_80 = (0.1, 0.5, 0.9)  # low, middle and high of a range that holds four cases in five
Z80 = NormalDist().inv_cdf(SHARES_80[2])  # half of that range of a normal, in standard deviations


def quantiles(values: Floats, shares: Sequence[float]) -> Floats:
    """Return the values below which shares of the last axis lie, to the digit as `numpy.quantile`.

    That one loads masked arrays when it is first asked, and is ten times as slow for a few days.

    Parameters
    ----------
    values : Floats, shape (..., n)
        Finite.
    shares : sequence of float
        Between 0 and 1. [1]

    Returns
    -------
    Floats, shape (shares, ...)
    """
    ordered, last = np.sort(values, axis=-1), values.shape[-1] - 1
    found = []
    for share in shares:
        low = min(int(share * last), last)
        part = share * last - low
        here, after = ordered[..., low], ordered[..., min(low + 1, last)]
        step = after - here
        found.append(here + step * part if part < 0.5 else after - step * (1.0 - part))
    return np.stack(found)


def with_range(draws: Floats, middle: float | None = None) -> tuple[float, float, float]:
    """Return the mean of draws, or another figure in its place, with the range of four in five.

    Far from the middle of a skew figure the mean may lie outside; a range always holds its figure.
    """
    mean = float(draws.mean()) if middle is None else middle
    low, high = quantiles(draws, (SHARES_80[0], SHARES_80[2]))
    return mean, float(min(low, mean)), float(max(high, mean))


def spread(median: float, sigma_stops: float, shares: Sequence[float] = SHARES_80) -> Floats:
    """Return the values below which the given shares lie, when the logarithm is normal.

    Parameters
    ----------
    median : float
        [any unit]
    sigma_stops : float
        Standard deviation of log2. [stops]
    shares : sequence of float
        Between 0 and 1. [1]

    Returns
    -------
    Floats
        One value for each share. [unit of `median`]

    Raises
    ------
    BadInput
        If `sigma_stops` is out of range.

    Examples
    --------
    Four cases in five lie within 1.28 sigma.

    >>> spread(1.0, 1.0).round(2).tolist()
    [0.41, 1.0, 2.43]
    """
    check_range("spread", sigma_stops, 0.0, 5.0, "stops")
    normal = NormalDist()
    stops = np.array([normal.inv_cdf(share) * sigma_stops for share in shares])
    return np.asarray(median * 2.0**stops)


def even_draws(median: float, sigma_stops: float, count: int, seed: int = 1) -> Floats:
    """Return `count` values that fill the range of `spread` evenly, in a random order.

    Parameters
    ----------
    median, sigma_stops : float
        As in `spread`. [any unit, stops]
    count : int
        How many.
    seed : int
        Of the order; the values are always the same.

    Returns
    -------
    Floats, shape (count,)
        [unit of `median`]
    """
    shares = (np.arange(count) + 0.5) / count
    values = spread(median, sigma_stops, tuple(shares.tolist()))
    return np.asarray(np.random.default_rng(seed).permutation(values))


def third_stop(value: float) -> float:
    """Return `value` on the scale of third stops: 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10 ...

    An exposure is never known better than that.

    Parameters
    ----------
    value : float
        Positive. [any unit]

    Returns
    -------
    float
        [unit of `value`]

    References
    ----------
    The series R 10 [1]_.
    """
    series = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
    decade, place = divmod(round(10.0 * float(np.log10(value))), 10)
    return float(series[place] * 10.0**decade)


def strip_stops() -> Floats:
    """Return by how much the strips of a step test differ from its middle, least first.

    Returns
    -------
    Floats
        Even steps around 0. [stops]

    Examples
    --------
    >>> strip_stops().tolist()
    [-1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5]
    """
    count = int(trade.value("exposure", "strip_count"))
    step = trade.value("exposure", "strip_step")
    return np.asarray(step * (np.arange(count) - (count - 1) / 2.0))
