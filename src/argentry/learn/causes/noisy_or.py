"""From what is seen on a plate to what went wrong: a noisy-OR net, summed exactly.

Causes are there or not, each on its own; each that is there makes each of its findings with a
probability of its own (its link), and a finding may come from nowhere (its leak)::

    P(finding d absent | causes S) = (1 - leak_d) prod_{c in S} (1 - link_cd)

The sum over causes runs over every set of up to three of them. Against all 1024 sets of ten causes
with up to 15 % each and three findings seen it is off by 0.01 to 0.035 (0.001 to 0.006 for four).

References
----------
.. [1] J. Pearl, Probabilistic Reasoning in Intelligent Systems, 1988, section 4.3.2 (the noisy-OR
   gate; recalled).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from argentry.arrays import Floats


# Keeps logarithms finite where a table of links says never or always.
_EDGE = 1e-9


@dataclass(frozen=True)
class Posterior:
    """What the findings of one plate say about its causes.

    Attributes
    ----------
    sets : Floats
        (sets, causes) of 0 and 1.
    weights : Floats
        (sets,) probability of each set; they sum to one.
    marginal : Floats
        (causes,) probability that each cause was there.
    evidence : float
        Logarithm of the probability of the findings.
    """

    sets: Floats
    weights: Floats
    marginal: Floats
    evidence: float


@cache
def fault_sets(causes: int, most: int = 3) -> Floats:
    """Return every set of up to `most` out of `causes` causes, the empty one first.

    Returns
    -------
    Floats
        (sets, causes) of 0 and 1, read-only.
    """
    chosen = [c for size in range(most + 1) for c in combinations(range(causes), size)]
    sets = np.zeros((len(chosen), causes))
    for row, members in enumerate(chosen):
        sets[row, list(members)] = 1.0
    sets.flags.writeable = False
    return sets


def log_findings(sets: Floats, links: Floats, leaks: Floats, seen: Floats) -> Floats:
    """Return the logarithm of the probability of the findings under each set of causes.

    Parameters
    ----------
    sets : Floats
        (sets, causes) of 0 and 1.
    links : Floats
        (causes, findings) probability that the cause alone makes the finding.
    leaks : Floats
        (findings,) probability that it comes from nowhere.
    seen : Floats
        (findings,) 1 seen, 0 looked for and not seen, NaN not looked for.

    Returns
    -------
    Floats
        (sets,).
    """
    absent = np.log1p(-_inside(leaks)) + sets @ np.log1p(-_inside(links))
    out = absent[:, seen == 0].sum(axis=1)
    out += np.log(-np.expm1(absent[:, seen == 1])).sum(axis=1)
    return np.asarray(out)


def posterior(
    priors: ArrayLike,
    links: ArrayLike,
    leaks: ArrayLike,
    seen: ArrayLike,
    *,
    most: int = 3,
    failed: bool = True,
) -> Posterior:
    """Return the probability of each set of causes and of each cause, given the findings.

    Parameters
    ----------
    priors : ArrayLike
        (causes,) probability of each cause before anything is seen.
    links, leaks, seen : ArrayLike
        As in `log_findings`.
    most : int
        Largest set that is summed.
    failed : bool
        True when the plate is known to have failed: the set of no cause at all is left out.

    Returns
    -------
    Posterior
        With all of it zero where there is no cause to choose from.
    """
    prior = _inside(np.asarray(priors, dtype=float))
    sets = fault_sets(prior.size, most)
    if failed:
        sets = sets[1:]
    if not sets.shape[0]:
        return Posterior(sets, np.zeros(0), np.zeros(prior.size), 0.0)
    log_prior = np.log1p(-prior).sum() + sets @ (np.log(prior) - np.log1p(-prior))
    log_joint = log_prior + log_findings(
        sets, np.asarray(links, float), np.asarray(leaks, float), np.asarray(seen, float)
    )
    top = log_joint.max()
    weights = np.exp(log_joint - top)
    total = weights.sum()
    weights /= total
    return Posterior(sets, weights, weights @ sets, float(top + np.log(total)))


def leading(marginal: Floats, most: int = 12) -> NDArray[np.intp]:
    """Return the places of the most probable causes, in their old order, for a smaller sum."""
    return np.sort(np.argsort(-marginal, kind="stable")[:most])


def shares(found: Posterior, links: Floats, leaks: Floats, seen: Floats) -> Floats:
    """Return how often each cause, being there, itself made each finding that was seen.

    This is the counting step when links are learned: a finding that two causes could have made
    counts for each by the probability that this one did.

    Returns
    -------
    Floats
        (causes, findings) expected counts from 0 to 1; 0 where the finding was not seen.
    """
    link, leak = _inside(links), _inside(leaks)
    absent = np.log1p(-leak) + found.sets @ np.log1p(-link)
    present = -np.expm1(absent)
    # P(this cause made it | set, seen) = link / P(seen | set): noisy-OR causes fire on their own.
    by_set = np.where(seen == 1, 1.0 / present, 0.0)
    counted = (found.sets * found.weights[:, None]).T @ by_set
    return np.asarray(np.minimum(link * counted, found.marginal[:, None]))


def learn_links(
    words: ArrayLike,
    leaks: ArrayLike,
    priors: ArrayLike,
    seen: ArrayLike,
    *,
    strength: float,
    rounds: int = 3,
    most: int = 2,
) -> tuple[Floats, Floats]:
    """Return links learned from the failed plates so far, as Beta counts.

    Parameters
    ----------
    words : ArrayLike
        (causes, findings) link by the trade's word; 0 where the cause never makes the finding,
        and such links stay 0.
    leaks : ArrayLike
        (findings,).
    priors : ArrayLike
        (causes,) or (plates, causes).
    seen : ArrayLike
        (plates, findings) 1, 0 or NaN.
    strength : float
        How many plates the trade's word is worth.
    rounds : int
        Rounds of counting.
    most : int
        Largest set of causes summed while counting.

    Returns
    -------
    tuple of Floats
        Both (causes, findings): Beta counts for and against; their mean is the link.
    """
    word = np.asarray(words, dtype=float)
    looked = np.atleast_2d(np.asarray(seen, dtype=float))
    prior = np.broadcast_to(np.asarray(priors, float), (looked.shape[0], word.shape[0]))
    leak = np.asarray(leaks, dtype=float)
    believed = strength * word, strength * (1.0 - word)
    plus, minus = believed
    for _ in range(rounds):
        link = plus / (plus + minus)  # 0 stays 0: what never makes a finding has no share in it
        plus, minus = believed
        for row, base in zip(looked, prior, strict=True):
            found = posterior(base, link, leak, row, most=most)
            made = shares(found, link, leak, row)
            there = found.marginal[:, None] * np.isfinite(row)
            plus = plus + np.where(word > 0, made, 0.0)
            minus = minus + np.where(word > 0, np.maximum(there - made, 0.0), 0.0)
    return plus, minus


def _inside(probability: Floats) -> Floats:
    return np.clip(probability, _EDGE, 1.0 - _EDGE)
