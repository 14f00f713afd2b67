"""How good predicted probabilities were: log score, Brier score, reliability."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from argentry.arrays import Floats, Whole


@dataclass(frozen=True)
class Reliability:
    """What was predicted and what came, in groups of like probability.

    Attributes
    ----------
    predicted, came : ndarray (b,)
        Mean probability and share of successes in each group.
    count : ndarray (b,)
        Plates in each.
    """

    predicted: Floats
    came: Floats
    count: Whole


def log_score(probability: ArrayLike, came: ArrayLike) -> float:
    """Return the mean log of the probability given to what came, in nats.

    Parameters
    ----------
    probability : array_like (n,)
        Foretold, from 0 to 1.
    came : array_like (n,) of bool
        Whether it came.

    Returns
    -------
    float
        0 at best; log 0.5 = -0.693 for a coin. 0 for no plates at all.

    References
    ----------
    Gneiting and Raftery, "Strictly proper scoring rules", J. Amer. Stat. Assoc. 102 (2007) 359.
    """
    p, y = np.asarray(probability, dtype=np.float64), np.asarray(came, dtype=bool)
    right = np.where(y, p, 1.0 - p)
    return float(np.log(np.maximum(right, 1e-12)).mean()) if p.size else 0.0


def brier_score(probability: ArrayLike, came: ArrayLike) -> float:
    """Return the mean squared miss of probabilities (n,); 0 at best, 0.25 for a coin.

    References
    ----------
    Brier, "Verification of forecasts expressed in terms of probability", Monthly Weather Review
    78 (1950) 1, for two classes and halved.
    """
    p, y = np.asarray(probability, dtype=np.float64), np.asarray(came, dtype=np.float64)
    return float(((p - y) ** 2).mean()) if p.size else 0.0


def base_rates(came: ArrayLike, session: Whole, good: float = 1.0, bad: float = 1.0) -> Floats:
    """Return what the share of good plates of the other sessions says of each plate, (n,).

    Parameters
    ----------
    came : array_like (n,) of bool
        Whether each came out good.
    session : ndarray (n,) of int
        Its session.
    good, bad : float
        Of the Beta before any plate.
    """
    y = np.asarray(came, dtype=np.float64)
    if not y.size:
        return y
    made, well = np.bincount(session)[session], np.bincount(session, weights=y)[session]
    return np.asarray((y.sum() - well + good) / (y.size - made + good + bad))


def reliability(probability: ArrayLike, came: ArrayLike, groups: int = 10) -> Reliability:
    """Return predicted against come, in groups of equal width; empty groups are left out.

    Parameters
    ----------
    probability : array_like (n,)
        Foretold.
    came : array_like (n,) of bool
        Whether it came.
    groups : int
        Groups from 0 to 1.
    """
    p, y = np.asarray(probability, dtype=np.float64), np.asarray(came, dtype=np.float64)
    group = np.minimum((p * groups).astype(np.int64), groups - 1)
    count = np.bincount(group, minlength=groups)
    used = count > 0
    predicted = np.bincount(group, weights=p, minlength=groups)[used] / count[used]
    share = np.bincount(group, weights=y, minlength=groups)[used] / count[used]
    return Reliability(predicted, share, count[used])


def calibration_error(probability: ArrayLike, came: ArrayLike, groups: int = 10) -> float:
    """Return the expected calibration error: mean distance of predicted and come, by plates."""
    table = reliability(probability, came, groups)
    if not table.count.size:
        return 0.0
    return float(np.average(np.abs(table.predicted - table.came), weights=table.count))
