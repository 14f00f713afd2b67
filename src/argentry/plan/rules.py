"""Which rule the hands follow: the search for a good one, and the one that keeps to a plan."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from argentry.plan.daylight import whole_ends
from argentry.plan.dispatch import run_day
from argentry.plan.shop import DayRun, Rule, Shop

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Array = NDArray[np.float64]


def median_day(shop: Shop, rule: Rule) -> DayRun:
    """Simulate the day with median durations and the middle light."""
    minutes = np.tile([float(b.whole_minutes) for b in shop.blocks], (shop.plates, 1))
    # everything on whole minutes, so that the solver can take this day as its first plan
    exposures = _whole(shop.expected_exposure_ends)
    kept = replace(shop, strict_breaks=True)
    return run_day(kept, rule, minutes, exposures, [_whole(shop.expected_ripe)] * shop.plates)


def _whole(ends: Array) -> Array:
    whole = whole_ends(ends).astype(np.float64)
    return np.where(whole < 0, np.nan, whole)


def rules(shop: Shop, draws: int, seed: int) -> Iterator[Rule]:
    """Yield rules worth trying: two plain ones, then random priorities, each at several limits.

    Parameters
    ----------
    shop : Shop
        The day.
    draws : int
        How many random priority lists.
    seed : int
        For the draws.
    """
    count = len(shop.blocks)
    generator = np.random.default_rng(seed)
    start_early = np.arange(count, dtype=np.float64)
    limits = sorted({1, 2, 3, 4, shop.plates} & set(range(1, shop.plates + 1)))
    for priority in (start_early, -start_early):
        for limit in limits:
            yield _same_for_all(shop, priority, limit)
    for _ in range(draws):
        yield _same_for_all(shop, generator.random(count), int(generator.choice(limits)))


def _same_for_all(shop: Shop, priority: Array, in_hand: int) -> Rule:
    """Return a rule that treats every plate alike."""
    return Rule(np.tile(priority, (shop.plates, 1)), in_hand, np.zeros(shop.plates))


def follow(shop: Shop, starts: Array, lead_minutes: float) -> Rule:
    """Return the rule that keeps to the order of a plan as far as the day allows.

    Parameters
    ----------
    shop : Shop
        The day.
    starts : NDArray[float64], shape (plates, blocks)
        Planned starts. [min]
    lead_minutes : float
        A plate may be begun this much before its planned start when hands are idle. [min]

    Returns
    -------
    Rule
        Earlier planned work goes first; what is urgent still goes before it.
    """
    return Rule(starts, shop.plates, starts[:, 0] - lead_minutes)


def best_rule(shop: Shop, draws: int, seed: int) -> tuple[Rule, DayRun]:
    """Return the rule whose median day finishes most plates cleanly, and among those is done first.

    Parameters
    ----------
    shop : Shop
        The day.
    draws : int
        Random rules to try beside the plain ones.
    seed : int
        For the draws.

    Returns
    -------
    (Rule, DayRun)
        The rule and its median day.
    """
    best: tuple[tuple[float, float], Rule, DayRun] | None = None
    for rule in rules(shop, draws, seed):
        run = median_day(shop, rule)
        score = (-float(run.clean.sum()), float(np.nan_to_num(run.length, nan=1e9)))
        if best is None or score < best[0]:
            best = (score, rule, run)
    assert best is not None
    return best[1], best[2]
