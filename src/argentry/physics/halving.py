"""The root of a rising law between two ends that are known to hold it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray


def halved(
    short: Callable[[NDArray[np.float64]], NDArray[np.bool_]], low: ArrayLike, high: ArrayLike
) -> NDArray[np.float64]:
    """Return where `short` ends to hold between two ends, each element by itself.

    Parameters
    ----------
    short : callable
        Whether a value is still too small, of an array of them.
    low, high : array_like
        Ends that hold the value; of one shape, finite.

    Returns
    -------
    ndarray
        To the last digit of the larger end.
    """
    low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    digit = np.spacing(np.maximum(np.abs(low), np.abs(high)))
    while np.any(high - low > digit):
        middle = 0.5 * (low + high)
        less = short(middle)
        low, high = np.where(less, middle, low), np.where(less, high, middle)
    return np.asarray(0.5 * (low + high))
