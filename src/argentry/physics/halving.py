"""The root of a rising law between two ends that are known to hold it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from argentry.arrays import Floats


def halved(
    rising: Callable[[Floats], Floats],
    wanted: ArrayLike,
    low: ArrayLike,
    high: ArrayLike,
) -> Floats:
    """Return where a rising law is as much as wanted, between two ends, each element by itself.

    Parameters
    ----------
    rising : callable
        The law, of an array.
    wanted : array_like
        What it is to be.
    low, high : array_like
        Ends that hold the value; of one shape, finite.

    Returns
    -------
    ndarray
        To the last digit of the larger end.
    """
    low, high, wanted = (np.asarray(x, dtype=float) for x in (low, high, wanted))
    digit = np.spacing(np.maximum(np.abs(low), np.abs(high)))
    while np.any(high - low > digit):
        middle = 0.5 * (low + high)
        less = rising(middle) < wanted
        low, high = np.where(less, middle, low), np.where(less, high, middle)
    return np.asarray(0.5 * (low + high))
