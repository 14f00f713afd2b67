"""The odds of enough good plates out of a batch.

The chance of one plate is not known exactly. As a Beta it gives the beta-binomial; as draws of each
plate's own odds, the mean of Poisson-binomials. Not knowing the yield matters far more than luck.

References
----------
.. [1] N. L. Johnson, A. W. Kemp and S. Kotz, Univariate Discrete Distributions, 3rd ed. 2005,
   ch. 6: the beta-binomial.
.. [2] Y. Hong, On computing the distribution function for the Poisson binomial distribution,
   Computational Statistics and Data Analysis 59 (2013) 41-51.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, lgamma
from typing import TYPE_CHECKING

import numpy as np

from argentry.errors import BadInput, check_range
from argentry.physics.stops import with_range

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from argentry.arrays import Floats


MOST = 1000  # plates that are looked at
TIE = 1e-9  # a certainty reached but for the rounding of numbers is reached


@dataclass(frozen=True)
class BetaChance:
    """The chance of one plate as a Beta: good and bad plates, with what is believed beforehand.

    Attributes
    ----------
    good, bad : float
        Both above 0. [plates]
    plates : int
        Plates behind it.
    """

    good: float
    bad: float
    plates: int = 0

    def __post_init__(self) -> None:
        """Refuse what is not a Beta."""
        check_range("good plates", self.good, 0.0, 1e6, "plates", open_low=True)
        check_range("bad plates", self.bad, 0.0, 1e6, "plates", open_low=True)


@dataclass(frozen=True)
class DrawnChance:
    """The chance of plates as draws.

    Attributes
    ----------
    draws : array_like, shape (s,) or (s, n)
        Draws of the chance of one plate, the same for every plate; or of the odds of plate 1, 2 ...
        n, the last of which hold for all later ones. [1]
    plates : int
        Plates behind it.
    mostly_prior : bool
        True while starting assumptions weigh more than the plates.
    """

    draws: ArrayLike
    plates: int = 0
    mostly_prior: bool = False

    def by_plate(self, count: int) -> Floats:
        """Return the draws for each of `count` plates; (s, count).

        Raises
        ------
        BadInput
            If there is none or one is not a probability.
        """
        draws = np.asarray(self.draws, dtype=np.float64)
        draws = draws[:, None] if draws.ndim == 1 else draws
        if draws.ndim != 2 or not draws.size or not np.all((draws >= 0.0) & (draws <= 1.0)):
            raise BadInput("chance of a plate", "no probabilities", "give draws from 0 to 1")
        return np.asarray(draws[:, np.minimum(np.arange(count), draws.shape[1] - 1)])


def with_outward(
    chance: BetaChance | DrawnChance, outward: int, kept: int
) -> BetaChance | DrawnChance:
    """Return the chance that a plate that is begun is good, however it ends.

    Parameters
    ----------
    chance : BetaChance or DrawnChance
        Of a plate that is not given up for an outward reason.
    outward : int
        Plates given up because time, light or sitter ran out. [plates]
    kept : int
        Plates begun that were not. [plates]

    Returns
    -------
    BetaChance or DrawnChance
        The same while no plate was given up so. The share given up is a Beta of the two counts.

    Examples
    --------
    >>> with_outward(BetaChance(6.0, 2.0, 8), 2, 8).bad
    4.0
    """
    if outward == 0:
        return chance
    if isinstance(chance, BetaChance):  # good, bad and outward are one Dirichlet: its parts add up
        return BetaChance(chance.good, chance.bad + outward, chance.plates + outward)
    draws = np.asarray(chance.draws, dtype=np.float64)
    chances = np.random.default_rng((outward, kept))
    left = np.asarray(1.0 - chances.beta(outward, max(kept, 1), size=draws.shape[0]))
    return DrawnChance((draws.T * left).T, chance.plates + outward, chance.mostly_prior)


def at_least(good: int, plates: int, chance: BetaChance | DrawnChance) -> float:
    """Return the probability of at least `good` good plates among `plates`.

    Parameters
    ----------
    good : int
        0 or more.
    plates : int
        Plates begun, 0 or more.
    chance : BetaChance or DrawnChance
        Of one plate.

    Returns
    -------
    float
        [1]

    References
    ----------
    Beta-binomial [1]_; Poisson-binomial by convolution [2]_.

    Examples
    --------
    Knowing nothing (Beta 1, 1) every number of good plates is equally likely.

    >>> round(at_least(3, 5, BetaChance(1.0, 1.0)), 6)
    0.5
    """
    return float(tails_of(good, plates, chance)[plates])


def fewest(good: int, certainty: float, chance: BetaChance | DrawnChance) -> int | None:
    """Return the fewest plates that give `good` good ones with the certainty asked.

    Parameters
    ----------
    good : int
        0 or more.
    certainty : float
        Above 0 and below 1. [1]
    chance : BetaChance or DrawnChance
        Of one plate.

    Returns
    -------
    int or None
        None when not even a thousand do.

    Raises
    ------
    BadInput
        If the certainty is out of range.
    """
    check_range("certainty", certainty, 0.001, 0.999, "")
    most = 64
    while True:
        tails = tails_of(good, most, chance)
        if tails[-1] >= certainty - TIE:
            return int(np.argmax(tails >= certainty - TIE))
        if most >= MOST:
            return None
        most = min(4 * most, MOST)


def tails_of(good: int, most: int, chance: BetaChance | DrawnChance) -> Floats:
    """Return P(at least `good` good) for 0, 1 ... `most` plates."""
    if isinstance(chance, BetaChance):
        return _betatails_of(good, most, chance.good, chance.bad)
    draws = chance.by_plate(most) if most else np.empty((1, 0))
    # state: how many good so far, up to `good`, which keeps what reaches it
    state = np.zeros((draws.shape[0], good + 1))
    state[:, 0] = 1.0
    tails = [float(state[:, good].mean())]
    for plate in range(most):
        p = draws[:, plate : plate + 1]
        moved = state[:, :-1] * p
        state[:, :-1] -= moved
        state[:, 1:] += moved
        tails.append(float(state[:, good].mean()))
    return np.asarray(np.clip(np.array(tails), 0.0, 1.0))


def _betatails_of(good: int, most: int, a: float, b: float) -> Floats:
    """Return the same by when the last good plate needed comes (beta-negative-binomial)."""
    if good == 0:
        return np.ones(most + 1)
    start = lgamma(a + b) - lgamma(a) - lgamma(b)
    # P(the good-th good plate is plate n) = C(n-1, good-1) B(a + good, b + n - good) / B(a, b)
    came = [
        exp(
            lgamma(n) - lgamma(good) - lgamma(n - good + 1.0)
            + start + lgamma(a + good) + lgamma(b + n - good) - lgamma(a + b + n)
        )
        for n in range(good, most + 1)
    ]  # fmt: skip
    tails = np.concatenate([np.zeros(min(good, most + 1)), np.cumsum(came)])
    return np.asarray(np.minimum(tails[: most + 1], 1.0))


def chance_range(chance: BetaChance | DrawnChance) -> tuple[float, float, float]:
    """Return the mean chance of the first plate with its 80 % range."""
    if isinstance(chance, DrawnChance):
        return with_range(chance.by_plate(1)[:, 0])
    from scipy.special import betaincinv

    mean = chance.good / (chance.good + chance.bad)
    low, high = (float(betaincinv(chance.good, chance.bad, share)) for share in (0.1, 0.9))
    return mean, min(low, mean), max(high, mean)
