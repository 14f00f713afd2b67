"""How many plates of a day come out finished and good."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.stops import Z80
from argentry.records.day import Range

if TYPE_CHECKING:
    from argentry.plan.day import Planned
    from argentry.records.learned import GoodOdds, Share
    from argentry.records.studio import Studio

LONG = float("inf")
SHARES = (0.1, 0.5, 0.9)


def drawn_range(values: Floats) -> Range:
    """Return the 80 % range of values that may be infinite (an end that never comes)."""
    if not values.size:
        return Range(LONG, LONG, LONG)
    ordered = np.sort(np.where(np.isnan(values), LONG, values))
    low, middle, high = (ordered[min(int(s * len(ordered)), len(ordered) - 1)] for s in SHARES)
    return Range(float(low), float(middle), float(high))


def drawn_count(values: Floats) -> Range:
    """Return how many to expect on average, no fewer and no more than the 80 % range holds."""
    whole = drawn_range(values)
    return replace(whole, middle=float(np.clip(values.mean(), whole.low, whole.high)))


def finished(planned: Planned) -> Range:
    """Return how many plates are finished, over the simulated days."""
    if planned.days is None:
        return Range(0.0, 0.0, 0.0)
    return drawn_count(planned.finished.astype(np.float64))


def _good_beta(studio: Studio, many: Share | None) -> tuple[float, float]:
    """Return the weights of good and of lost plates: as learned, else the trade's with the own."""
    if many is not None:
        held = min(max(many.probability, 0.01), 0.99)
        # as many plates as would give the same range: 80 % of a normal lie within 2 Z80 deviations
        sd = max((many.high - many.low) / (2.0 * Z80), 0.01)
        worth = max(held * (1.0 - held) / sd**2 - 1.0, 1.0)
        return held * worth, (1.0 - held) * worth
    alpha, beta = trade.value("day", "good_alpha"), trade.value("day", "good_beta")
    share, plates = studio.habits.good_share, studio.habits.good_share_plates
    if share is None:
        return alpha, beta
    return alpha + share * plates, beta + (1.0 - share) * plates


def good_share(studio: Studio, learned: GoodOdds | None = None) -> tuple[Range, int]:
    """Return the chance that a finished plate is good, and how many plates stand behind it.

    Parameters
    ----------
    studio : Studio
        The maker's own share, when there is one.
    learned : GoodOdds, optional
        What the plates have taught, in its place.
    """
    behind = studio.habits.good_share_plates if studio.habits.good_share is not None else 0
    if learned is not None:
        one = learned.one
        return Range(one.low, one.probability, one.high), round(one.plates) or behind
    draws = np.random.default_rng(11).beta(*_good_beta(studio, None), 20000)
    return drawn_range(draws), behind


def good_plates(
    planned: Planned, studio: Studio, seed: int, learned: GoodOdds | None = None
) -> Range:
    """Return how many good plates the day may bring.

    Parameters
    ----------
    planned : Planned
        The plan with its simulated days.
    studio : Studio
        The maker's own share, when there is one.
    seed : int
        For the draws.
    learned : GoodOdds, optional
        What the plates have taught, in the share's place.
    """
    if planned.days is None:
        return Range(0.0, 0.0, 0.0)
    rng = np.random.default_rng(seed + 13)
    done = planned.finished
    good, lost = _good_beta(studio, None if learned is None else learned.many)
    drawn = drawn_range(rng.binomial(done, rng.beta(good, lost, len(done))).astype(np.float64))
    # the mean by itself: drawn, it would stray from plates finished times their share
    mean = float(done.mean()) * good / (good + lost)
    return replace(drawn, middle=float(np.clip(mean, drawn.low, drawn.high)))
