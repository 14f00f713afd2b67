"""A planned comparison in pairs: two settings side by side in one session, in drawn order.

The two plates of a pair share buff, bath and light, so what differs between them is the setting.
Only pairs in which one plate is good and the other is not say which is better; the share of those
won by the new setting has a Beta posterior.

References
----------
.. [1] Q. McNemar, Note on the sampling error of the difference between correlated proportions or
   percentages, Psychometrika 12 (1947) 153-157.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range

__all__ = ["PairsSaid", "PlannedPlate", "judge_pairs", "pairs_that_decide", "plan_pairs"]


@dataclass(frozen=True)
class PlannedPlate:
    """One plate of a comparison.

    Attributes
    ----------
    pair : int
        Number of the pair, from 1; both plates of a pair are made in one session.
    order : int
        1 or 2.
    to : float
        The setting. [unit]
    """

    pair: int
    order: int
    to: float


@dataclass(frozen=True)
class PairsSaid:
    """What pairs say.

    Attributes
    ----------
    won, lost, alike : int
        Pairs in which the new setting alone was good, the old one alone, both or neither.
    better : float
        Probability that the new setting is better. [1]
    decided : bool
        True when that is near enough to 0 or 1.
    """

    won: int
    lost: int
    alike: int
    better: float
    decided: bool


def plan_pairs(old: float, new: float, pairs: int, seed: int = 1) -> tuple[PlannedPlate, ...]:
    """Return the plates of a comparison; each setting comes first in half of the pairs.

    Parameters
    ----------
    old, new : float
        The two settings. [unit]
    pairs : int
        How many, 1 to 100.
    seed : int
        Of the drawn order.

    Returns
    -------
    tuple of PlannedPlate
        In the order of the work.

    Raises
    ------
    BadInput
        If the number of pairs is out of range or the settings do not differ.
    """
    check_range("pairs", pairs, 1, 100, "pairs")
    if not (np.isfinite(old) and np.isfinite(new)) or old == new:
        raise BadInput("settings to compare", f"{old:g} and {new:g}", "give two that differ")
    rng = np.random.default_rng(seed)
    first = rng.permutation([i % 2 == 0 for i in range(pairs)])
    return tuple(
        PlannedPlate(pair + 1, order, to)
        for pair, new_first in enumerate(first)
        for order, to in enumerate((new, old) if new_first else (old, new), start=1)
    )


def judge_pairs(old_good: list[bool], new_good: list[bool]) -> PairsSaid:
    """Return what finished pairs say.

    Parameters
    ----------
    old_good, new_good : list of bool
        Whether the plate of each pair came out good, with the old and with the new setting.

    Returns
    -------
    PairsSaid
        With a uniform belief beforehand.

    Raises
    ------
    BadInput
        If the lists differ in length.
    """
    if len(old_good) != len(new_good):
        raise BadInput("pairs", "old and new differ in number", "give both plates of each pair")
    both = list(zip(old_good, new_good, strict=True))
    won = sum(new and not old for old, new in both)
    lost = sum(old and not new for old, new in both)
    better = _better(won, lost)
    sure = trade.value("decide", "pair_certainty")
    return PairsSaid(won, lost, len(both) - won - lost, better, not 1.0 - sure < better < sure)


def pairs_that_decide(old: float, new: float, pairs: int) -> float:
    """Return the chance that so many pairs decide for the better setting.

    Parameters
    ----------
    old, new : float
        Chance of a good plate with each, as now believed. [1]
    pairs : int
        How many, 1 to 200.

    Returns
    -------
    float
        Summed over every outcome. [1]

    Raises
    ------
    BadInput
        If a number is out of range.
    """
    for where, value in (("chance with the old setting", old), ("chance with the new one", new)):
        check_range(where, value, 0.0, 1.0, "")
    check_range("pairs", pairs, 1, 200, "pairs")
    low, high = sorted((old, new))
    win, lose = high * (1.0 - low), low * (1.0 - high)
    sure, total = trade.value("decide", "pair_certainty"), 0.0
    for told in range(pairs + 1):
        for won in range(told + 1):
            if _better(won, told - won) >= sure:
                ways = comb(pairs, told) * comb(told, won)
                same = (1.0 - win - lose) ** (pairs - told)
                total += ways * win**won * lose ** (told - won) * same
    return min(total, 1.0)


def _better(won: int, lost: int) -> float:
    """Return P(share > 1/2) under Beta(1 + won, 1 + lost): a binomial sum, for whole numbers."""
    tosses = won + lost + 1
    return sum(comb(tosses, k) for k in range(won + 1)) / 2.0**tosses
