"""Log likelihood of ordered levels under a probit, with slopes and bends, safe far in the tails."""

from __future__ import annotations

from dataclasses import dataclass
from math import log, pi

import numpy as np

from argentry.arrays import Floats, Whole

_HALF_LOG_2PI = 0.5 * log(2.0 * pi)


@dataclass(frozen=True)
class Bounds:
    """Between which cuts each plate's latent value lies.

    Attributes
    ----------
    sign : ndarray (n,)
        +1: above its first cut; -1: below it.
    cut : ndarray (n,) of int
        The first cut.
    both : ndarray (k,) of int
        Plates that lie below a second cut as well.
    second : ndarray (k,) of int
        That cut.
    """

    sign: Floats
    cut: Whole
    both: Whole
    second: Whole


def bounds_of(low: Whole, high: Whole, cuts: int) -> Bounds:
    """Return the bounds of plates whose level lies from `low` to `high`, of levels 0 to `cuts`.

    Level k or more means a latent value above cut k - 1. A plate that may have any level would say
    nothing; there is none.
    """
    above, below = low > 0, high < cuts
    sign = np.where(above, 1.0, -1.0)
    both = np.flatnonzero(above & below)
    return Bounds(sign, np.where(above, low - 1, high), both, high[both])


@dataclass(frozen=True)
class Terms:
    """Log likelihood of each plate at each point: the log of the share between its bounds.

    Attributes
    ----------
    value : ndarray (c, n)
        The log likelihood.
    bound, slope : ndarray (c, n)
        First bound as (eta - cut)/root, and the slope of the value by it.
    bound_2, slope_2 : ndarray (c, k)
        The same of the second bound, for the plates that have one.
    root : ndarray (c, n)
        sqrt(1 + variance), by which eta was divided.
    both : ndarray (k,) of int
        The plates that have a second bound.
    """

    value: Floats
    bound: Floats
    slope: Floats
    bound_2: Floats
    slope_2: Floats
    root: Floats
    both: Whole

    def by_eta(self) -> Floats:
        """Return the slope by eta; (c, n)."""
        out = self.slope / self.root
        if self.both.size:
            out[:, self.both] += self.slope_2 / self.root[:, self.both]
        return np.asarray(out)

    def by_doubt(self) -> Floats:
        """Return the slope by the variance; (c, n)."""
        pull = self.bound * self.slope
        if self.both.size:
            pull[:, self.both] += self.bound_2 * self.slope_2
        return np.asarray(-0.5 * pull / self.root**2)


def log_cdf(z: Floats) -> Floats:
    """Return log Phi(z), exact far into the tail."""
    from scipy.special import log_ndtr, ndtr

    # the plain way is twice as fast and loses nothing before Phi runs out of doubles
    if z.size and z.min() > -30.0:
        return np.asarray(np.log(ndtr(z)))
    return np.asarray(log_ndtr(z))


def normal_cdf(z: Floats) -> Floats:
    """Return Phi(z)."""
    from scipy.special import ndtr

    return np.asarray(ndtr(z))


def interval_terms(eta: Floats, doubt: Floats, cuts: Floats, bounds: Bounds) -> Terms:
    """Return the log likelihood of plates.

    Parameters
    ----------
    eta, doubt : ndarray (c, n)
        Middle and variance of the latent value at each point.
    cuts : ndarray (c, g)
        Rising.
    bounds : Bounds
        Between which of them each plate lies.

    Returns
    -------
    Terms
        Values and slopes.
    """
    root = np.sqrt(1.0 + doubt)
    bound = (eta - cuts[:, bounds.cut]) / root
    z = bound * bounds.sign
    value = log_cdf(z)
    slope = bounds.sign * np.exp(-0.5 * z * z - _HALF_LOG_2PI - value)
    both = bounds.both
    if not both.size:
        none = np.empty((eta.shape[0], 0))
        return Terms(value, bound, slope, none, none, root, both)
    a, b = bound[:, both], (eta[:, both] - cuts[:, bounds.second]) / root[:, both]
    # worked in the lower tail, where differences of Phi keep their digits
    turn = a + b > 0.0
    near, far = np.where(turn, -b, a), np.where(turn, -a, b)
    log_near = log_cdf(near)
    log_p = log_near + np.log(np.maximum(-np.expm1(log_cdf(far) - log_near), 1e-300))
    value[:, both] = log_p
    slope[:, both] = np.exp(-0.5 * a * a - _HALF_LOG_2PI - log_p)
    slope_2 = -np.exp(-0.5 * b * b - _HALF_LOG_2PI - log_p)
    return Terms(value, bound, slope, b, slope_2, root, both)
