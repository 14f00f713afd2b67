"""How much of the doubt about a change the plates made with it would remove."""

from __future__ import annotations

from math import comb

import numpy as np

from argentry.arrays import Floats
from argentry.errors import check_range
from argentry.learn.stages.likelihood import normal_cdf


def probit(p: Floats) -> Floats:
    """Return the probit of probabilities, by halving: fine enough for draws.

    Parameters
    ----------
    p : NDArray
        Taken as within 1e-6 of 0 and 1. [1]
    """
    held = np.clip(p, 1e-6, 1.0 - 1e-6)
    at = np.linspace(-5.0, 5.0, 4001)
    return np.interp(held, normal_cdf(at), at)


def doubt_after(before: Floats, after: Floats, plates: int = 1) -> float:
    """Return the doubt of a change's effect to be expected after plates made with it.

    Parameters
    ----------
    before, after : NDArray (s,)
        Draws of the stage's probit without and with the change.
    plates : int
        How many will be made, each ok or not, 1 to 100.

    Returns
    -------
    float
        Root of the mean variance over how many come out ok. [probit]

    Raises
    ------
    BadInput
        If the number of plates is out of range.
    """
    check_range("plates made with it", plates, 1, 100, "plates")
    gain, ok = after - before, normal_cdf(after)
    left = 0.0
    for good in range(plates + 1):
        weight = comb(plates, good) * ok**good * (1.0 - ok) ** (plates - good)
        mean = (weight @ gain) / max(weight.sum(), 1e-300)
        left += float(weight @ (gain - mean) ** 2) / gain.size
    return float(np.sqrt(left))
