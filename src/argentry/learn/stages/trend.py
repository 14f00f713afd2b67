"""How the share of good plates went: the last dozen at each plate, with its range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from argentry.learn.stages.table import in_order, succeeded
from argentry.records.plate import Making

WINDOW = 12  # plates looked back on


@dataclass(frozen=True)
class TrendPoint:
    """The share of good plates as it stood at one plate.

    Attributes
    ----------
    day : date
        Of the plate.
    good : bool
        How it came out.
    share, low, high : float
        Of the last plates up to it, with the 80 % range. [1]
    plates : int
        How many those are.
    """

    day: date
    good: bool
    share: float
    low: float
    high: float
    plates: int


def good_trend(makings: Sequence[Making], window: int = WINDOW) -> tuple[TrendPoint, ...]:
    """Return the share of good plates among the last few, at each plate whose outcome is known.

    Parameters
    ----------
    makings : sequence of Making
        In any order.
    window : int
        Plates looked back on.

    Returns
    -------
    tuple of TrendPoint
        In order of time; the share is the mean of a Beta posterior from an even start.
    """
    from scipy.special import betaincinv

    known = [(o.day, good) for o in in_order(makings) if (good := succeeded(o)) is not None]
    points = []
    for end, (day, good) in enumerate(known, 1):
        last = [came for _, came in known[max(0, end - window) : end]]
        a, b = 1.0 + sum(last), 1.0 + len(last) - sum(last)
        low, high = (float(betaincinv(a, b, share)) for share in (0.1, 0.9))
        points.append(TrendPoint(day, good, a / (a + b), low, high, len(last)))
    return tuple(points)
