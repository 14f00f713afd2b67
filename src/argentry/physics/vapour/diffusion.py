"""Vapour crossing a gap of still air to a plate that takes every molecule: the start and after.

Everything here is without units, so that one solution serves every box. With the gap `L`, the
diffusion coefficient `D` and the vapour `c` over the crystals:

- time is counted in ``L^2 / D``;
- what the plate has taken is counted in the vapour a full gap holds, ``c L``;
- crystals that cover only part of the floor add a share `hindrance` of the gap's own resistance.

The plate keeps ``c = 0``. At the floor ``flux = D (c - c_floor) / (hindrance L)``, which for
``hindrance = 0`` is ``c_floor = c``. The gap starts full (``rested``) or empty (``swept``).

References
----------
J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, chapters 2.2 (half space), 4.3 (sheet with
its faces held at two values) and 4.3.6 (surface evaporation): eigenvalues of
``sin b + hindrance b cos b = 0``. The amount needed at long times, ``t + 1/3`` and ``t - 1/6`` for
a covered floor, is the time lag of R. M. Barrer, Trans. Faraday Soc. 35 (1939) 628.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry.arrays import Floats

TERMS = 40  # exp(-(40 pi)^2 t) < 1e-17 from t = 0.0025, where a swept plate still has < 1e-40
HALF_SPACE_ENDS = 0.025  # before it the far wall changes nothing: exp(-1 / 0.025) = 4e-18
STEPS = 8  # of Newton's rule, which doubles the digits each time: the fifth changes none
CLOSE, MOST_STEPS = 1e-11, 60  # of a time that is looked for: no step is less than the digits lost


def taken(reduced_time: ArrayLike, hindrance: ArrayLike, *, rested: bool) -> Floats:
    """Return what the plate has taken after some time.

    Parameters
    ----------
    reduced_time : array_like
        Time over ``L^2 / D``, not negative. [1]
    hindrance : array_like
        Resistance of a partly covered floor over that of the gap. [1] Shapes broadcast.
    rested : bool
        True when the gap starts full of vapour, False when it starts empty.

    Returns
    -------
    ndarray
        Amount taken over ``c L``. [1] Never falls with time; rested is never below swept.
    """
    time, hind = np.broadcast_arrays(
        np.asarray(reduced_time, dtype=float), np.asarray(hindrance, dtype=float)
    )
    return _taken(time, hind, *_modes(hind), rested=rested)


def time_to_take(amount: ArrayLike, hindrance: ArrayLike, *, rested: bool) -> Floats:
    """Return the time after which the plate has taken an amount: the inverse of `taken`.

    A rested gap gives less and less, a swept one more and more: so the steps of Newton's rule come
    to the time from one side and cannot fail or jump. They begin at an end of an interval that
    surely holds it, as what is taken lies between two straight lines: the steady one and the one
    it tends to.

    Parameters
    ----------
    amount : array_like
        Amount over ``c L``, not negative. [1]
    hindrance : array_like
        As in `taken`. [1] Shapes broadcast.
    rested : bool
        As in `taken`.

    Returns
    -------
    ndarray
        Time over ``L^2 / D``. [1]
    """
    target, hind = np.broadcast_arrays(
        np.asarray(amount, dtype=float), np.asarray(hindrance, dtype=float)
    )
    modes = _modes(hind)
    rate, offset = steady_rate(hind), start_offset(hind, rested=rested)
    one, other = target / rate, np.maximum(0.0, (target - offset) / rate)
    # while the far wall changes nothing, the amount goes with the square root of the time
    soon = np.pi * (0.5 * target) ** 2
    early = (soon < HALF_SPACE_ENDS) & rested
    ends = np.maximum(np.minimum(one, other), HALF_SPACE_ENDS) if rested else np.maximum(one, other)
    time = np.where(early, soon, ends)
    for _ in range(MOST_STEPS):
        short = target - _taken(time, hind, *modes, rested=rested)
        step = np.where(early, 0.0, short / _flux(time, hind, *modes, rested=rested))
        time = np.maximum(time + step, 0.0)
        if np.all(np.abs(step) <= CLOSE * time):
            break
    return np.asarray(np.where(target > 0, time, 0.0))


def steady_rate(hindrance: ArrayLike) -> Floats:
    """Return the amount taken per time once the gap has settled: ``1 / (1 + hindrance)``."""
    return np.asarray(1.0 / (1.0 + np.asarray(hindrance, dtype=float)))


def start_offset(hindrance: ArrayLike, *, rested: bool) -> Floats:
    """Return how far the start leaves the plate ahead of steady fuming, in the long run.

    Each molecule in the gap at height `s` reaches the plate rather than the floor with the chance
    ``1 - q s``, `q` the steady rate; the settled profile is ``q s``. Hence, integrating over the
    gap, ``1 - q + q^2/3`` for a full gap and ``-q/2 + q^2/3`` for an empty one
    (1/3 and -1/6 for a covered floor). [1]
    """
    q = steady_rate(hindrance)
    return np.asarray((1.0 - q + q**2 / 3.0) if rested else (-q / 2.0 + q**2 / 3.0))


def _modes(
    hindrance: Floats,
) -> tuple[Floats, Floats, Floats]:
    """Return eigenvalues, their cosines and their norms; the modes are the last axis."""
    hind = hindrance[..., np.newaxis]
    order = np.arange(1, TERMS + 1)
    whole = order * np.pi
    roots = np.broadcast_to(whole, hind.shape[:-1] + order.shape)
    if np.any(hindrance > 0):
        # b + atan(hindrance b) = n pi: rising and bent one way, so that steps of Newton's rule come
        # to the root from one side, whatever the hindrance
        for _ in range(STEPS):
            short = roots + np.arctan(hind * roots) - whole
            roots = roots - short / (1.0 + hind / (1.0 + (hind * roots) ** 2))
    cosines = np.cos(roots)
    return roots, cosines, 0.5 * (1.0 + hind * cosines**2)


def _taken(
    time: Floats,
    hindrance: Floats,
    roots: Floats,
    cosines: Floats,
    norms: Floats,
    *,
    rested: bool,
) -> Floats:
    shape = np.ones_like(cosines) if rested else cosines
    fading = shape / (roots**2 * norms) * np.exp(-(roots**2) * time[..., np.newaxis])
    settled = steady_rate(hindrance) * time + start_offset(hindrance, rested=rested)
    series = np.maximum(0.0, settled - fading.sum(axis=-1))
    if not rested:
        return np.asarray(series)
    half_space = 2.0 * np.sqrt(np.maximum(time, 0.0) / np.pi)
    return np.asarray(np.where(time < HALF_SPACE_ENDS, half_space, series))


def _flux(
    time: Floats, hindrance: Floats, roots: Floats, cosines: Floats, norms: Floats, *, rested: bool
) -> Floats:
    """Return how fast the plate takes it, the slope of `_taken` where that is its series."""
    shape = np.ones_like(cosines) if rested else cosines
    modes = shape / norms * np.exp(-(roots**2) * time[..., np.newaxis])
    return np.asarray(steady_rate(hindrance) + modes.sum(axis=-1))
