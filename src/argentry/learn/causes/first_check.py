"""Which check to make first: the one that most betters the choice of what to mend, per minute.

After the checks the maker mends one thing, the most probable cause; the loss is the probability
that it was not there. A check betters the choice by the drop of that loss, averaged over what it
may say; where no single check can change the choice, the one that tells most (in bits) for its
minutes comes first, counted for little.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from argentry.arrays import Floats


def loss_drop(
    sets: ArrayLike, weights: ArrayLike, checked: int, finds: float, misleads: float
) -> float:
    """Return by how much a check lowers the chance of mending the wrong thing.

    Parameters
    ----------
    sets, weights : ArrayLike
        (sets, causes) of 0 and 1, and their probabilities (sets,), as in `noisy_or.Posterior`.
    checked : int
        The cause that is checked.
    finds, misleads : float
        How often the check says yes where the cause is there, and where it is not. [1]

    Returns
    -------
    float
        Expected drop; never below zero. [1]
    """
    there, weight = np.asarray(sets, dtype=float), np.asarray(weights, dtype=float)
    says_yes = np.where(there[:, checked] > 0, finds, misleads)
    before = float((weight @ there).max(initial=0.0))
    after = 0.0
    for says in (says_yes, 1.0 - says_yes):
        after += float(((weight * says) @ there).max(initial=0.0))
    return max(after - before, 0.0)


def bits(sets: ArrayLike, weights: ArrayLike, checked: int, finds: float, misleads: float) -> float:
    """Return how much a check tells about its cause, in bits.

    Parameters as in `loss_drop`.
    """
    there, weight = np.asarray(sets, dtype=float), np.asarray(weights, dtype=float)
    is_there = float(weight @ there[:, checked])
    yes = is_there * finds + (1.0 - is_there) * misleads
    told = _entropy(yes)
    told -= is_there * _entropy(finds) + (1.0 - is_there) * _entropy(misleads)
    return max(told, 0.0)


def check_worth(
    sets: ArrayLike, weights: ArrayLike, minutes: ArrayLike, finds: float, misleads: float
) -> Floats:
    """Return what each check is worth, per minute.

    Parameters
    ----------
    sets, weights, finds, misleads
        As in `loss_drop`.
    minutes : ArrayLike
        (causes,) what each check costs; 0 where there is none. [min]

    Returns
    -------
    Floats
        (causes,) [1/min]; 0 where there is no check.
    """
    cost = np.asarray(minutes, dtype=float)
    worth = [
        loss_drop(sets, weights, j, finds, misleads)
        + 0.01 * bits(sets, weights, j, finds, misleads)
        for j in range(cost.size)
    ]
    return np.asarray(np.divide(worth, cost, out=np.zeros(cost.size), where=cost > 0))


def _entropy(p: float) -> float:
    return -sum(q * float(np.log2(q)) for q in (p, 1.0 - p) if q > 0.0)
