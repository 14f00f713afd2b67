"""How well a learned box factor or dose is known, with the same instruments and elsewhere.

A module of its own, as every day plan asks this and nothing else of what the plates taught.
"""

from __future__ import annotations

from math import exp, hypot, log, sqrt

from argentry import trade
from argentry.physics.stops import Z80
from argentry.records.decision import Learned


def same_instruments_log_sd(factor: Learned) -> float:
    """Return how well a learned box factor is known to who keeps the thermometer and the eye. [1].

    What both are wrong by is in the factor: the seconds of the next coat are not wrong by it.

    Parameters
    ----------
    factor : Learned
        As by `box_factor`.
    """
    whole = log(factor.high / factor.low) / (2.0 * Z80)
    shared = trade.value("decide", "box_shared_log_sd") if factor.plates else 0.0
    return sqrt(max(whole**2 - shared**2, 0.0))


def elsewhere(number: Learned) -> tuple[float, float]:
    """Return the 80 % range of a number as it holds in other studios. [unit].

    A dose is learned as its studio's light is counted; another studio's may be wrong otherwise.

    Parameters
    ----------
    number : Learned
        Any.
    """
    if number.what != "development_dose" or not number.plates:
        return number.low, number.high
    shared = Z80 * trade.value("decide", "dose_shared_log_sd")
    low, high = (hypot(log(end / number.value), shared) for end in (number.low, number.high))
    return number.value * exp(-low), number.value * exp(high)
