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

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb, log2

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.learn.stages.derived_conditions import value_of
from argentry.learn.stages.table import in_order, succeeded
from argentry.records.plate import Making
from argentry.trade.conditions import Condition


@dataclass(frozen=True)
class PlannedPlate:
    """One plate of a comparison.

    Attributes
    ----------
    pair : int
        Number of the pair, from 1; both plates of a pair are made in one session.
    order : int
        1 for the first plate of its pair, 2 for the second.
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
    won : int
        Pairs in which the new setting alone came out good.
    lost : int
        Pairs in which the old setting alone came out good.
    alike : int
        Pairs in which both came out good, or neither.
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
        raise BadInput(
            "settings to compare", "{old:g} and {new:g}", "give two that differ", old=old, new=new
        )
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


def chances_to_decide(old: Floats, new: Floats, pairs: int) -> Floats:
    """Return for each draw of what is believed the chance that pairs decide for what is better.

    Parameters
    ----------
    old, new : ndarray (s,)
        Draws of the chance of a good plate with each setting, belonging together. [1]
    pairs : int
        How many, 1 to 200.

    Returns
    -------
    ndarray (s,)
        [1]

    Raises
    ------
    BadInput
        If the number of pairs is out of range.
    """
    check_range("pairs", pairs, 1, 200, "pairs")
    low, high = np.minimum(old, new), np.maximum(old, new)
    win, lose = high * (1.0 - low), low * (1.0 - high)
    alike = np.clip(1.0 - win - lose, 0.0, 1.0)
    sure, total = trade.value("decide", "pair_certainty"), np.zeros_like(win)
    for told in range(pairs + 1):
        ways, same = comb(pairs, told), alike ** (pairs - told)
        for won in range(_least_won(told, sure), told + 1):
            total += float(ways * comb(told, won)) * same * win**won * lose ** (told - won)
    return np.minimum(total, 1.0)


def _least_won(told: int, sure: float) -> int:
    """Return of how many of the pairs that differ the better must win at least to decide."""
    below = 0
    for won in range(told + 1):
        below += comb(told + 1, won)
        if below / 2 ** (told + 1) >= sure:
            return won
    return told + 1


def share_won(said: PairsSaid) -> tuple[float, float, float]:
    """Return the share of the pairs that differ which the new setting wins, with its 80 % range.

    Above a half it is the better one. With a uniform belief beforehand, as `judge_pairs`.
    """
    from scipy.special import betaincinv

    one, other = 1.0 + said.won, 1.0 + said.lost
    middle = one / (one + other)
    low, high = (float(betaincinv(one, other, part)) for part in (0.1, 0.9))
    return middle, min(low, middle), max(high, middle)


def pairs_made(
    makings: Sequence[Making], condition: Condition, old: float, new: float
) -> tuple[list[bool], list[bool]]:
    """Return the pairs there are already: whether the plate with each setting came out good.

    In each session the first graded plate with one setting goes with the first with the other, and
    so on in order; how they came out has no part in it. Promised plates are left out.

    Parameters
    ----------
    makings : sequence of Making
        In any order.
    condition : Condition
        What is compared.
    old, new : float
        The two settings. [unit of the condition]

    Returns
    -------
    tuple of (list of bool, list of bool)
        With the old and with the new setting, pair by pair.
    """
    made: dict[str, tuple[list[bool], list[bool]]] = {}
    for one in in_order(makings):
        good = succeeded(one)
        value = value_of(condition.key, one.conditions, condition.columns[0])
        if good is None or one.commissioned or value is None:
            continue
        for which, (at, other) in enumerate(((old, new), (new, old))):
            if _near(condition, value, at, other):
                made.setdefault(one.session, ([], []))[which].append(good)
    both = [pair for olds, news in made.values() for pair in zip(olds, news, strict=False)]
    return [pair[0] for pair in both], [pair[1] for pair in both]


def _near(condition: Condition, value: float, at: float, other: float) -> bool:
    """Return whether a value counts as one setting, by its part of the way to the other."""
    if condition.scale == "doublings" and min(value, at, other) > 0.0:
        value, at, other = log2(value), log2(at), log2(other)
    return abs(value - at) <= trade.value("decide", "pair_tolerance") * abs(other - at)


def _better(won: int, lost: int) -> float:
    """Return P(share > 1/2) under Beta(1 + won, 1 + lost): a binomial sum, for whole numbers."""
    tosses = won + lost + 1
    return sum(comb(tosses, k) for k in range(won + 1)) / 2.0**tosses
