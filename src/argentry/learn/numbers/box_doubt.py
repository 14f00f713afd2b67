"""How well a learned box factor is known to who goes on with the same instruments.

A module of its own, as every day plan asks this and nothing else of what the plates taught.
"""

from __future__ import annotations

from math import log, sqrt

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
