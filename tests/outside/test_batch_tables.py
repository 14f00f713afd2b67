"""Plates to begin, against SciPy's distributions and closed forms.

Sources: SciPy `stats.betabinom` and `stats.nbinom` (its own code, independent of ours); the uniform
law of the beta-binomial with a = b = 1 (Johnson, Kemp and Kotz, Univariate Discrete Distributions,
3rd ed. 2005, section 6.2.2, recalled); the Poisson-binomial by brute force over every outcome.
"""

from fractions import Fraction
from itertools import product
from math import comb

import numpy as np
import pytest
from scipy import stats

from argentry.plan.batch_odds import BetaChance, DrawnChance, at_least, fewest


@pytest.mark.parametrize(("a", "b"), [(1, 1), (3, 3), (10, 10), (0.5, 2.5), (23.5, 17.25)])
@pytest.mark.parametrize("good", [1, 3, 6, 12])
def test_beta_binomial_tail_is_scipys(a, b, good):
    for plates in (0, 1, 5, 12, 30, 100):
        want = stats.betabinom.sf(good - 1, plates, a, b)
        assert at_least(good, plates, BetaChance(a, b)) == pytest.approx(want, abs=1e-9)


def test_uniform_belief_in_closed_form():
    """Knowing nothing, P(at least m of n) = (n - m + 1)/(n + 1)."""
    for good in (1, 3, 6, 12):
        for certainty in (Fraction(1, 2), Fraction(4, 5), Fraction(9, 10), Fraction(19, 20)):
            # least whole n with (n - m + 1) >= certainty (n + 1)
            want = -((-(good - 1 + certainty)) // (1 - certainty))
            assert fewest(good, float(certainty), BetaChance(1.0, 1.0)) == want


def test_known_chance_is_the_negative_binomial():
    for good, p in ((1, 0.5), (3, 0.5), (6, 0.5), (12, 0.5), (4, 0.31), (7, 0.83)):
        for certainty in (0.5, 0.8, 0.9, 0.95):
            failures = stats.nbinom.ppf(certainty, good, p)
            assert fewest(good, certainty, DrawnChance([p])) == good + failures


def test_exact_binomial_sums():
    for plates in (1, 9, 17, 30):
        for good in (1, 3, 6):
            want = sum(Fraction(comb(plates, k), 2**plates) for k in range(good, plates + 1))
            assert at_least(good, plates, DrawnChance([0.5])) == pytest.approx(
                float(want), abs=1e-12
            )


def test_poisson_binomial_by_every_outcome():
    p = np.array([0.9, 0.35, 0.6, 0.05, 0.72, 0.5])
    for good in range(7):
        want = sum(
            np.prod(np.where(outcome, p, 1 - p))
            for outcome in product([True, False], repeat=6)
            if sum(outcome) >= good
        )
        assert at_least(good, 6, DrawnChance(p[None, :])) == pytest.approx(want, abs=1e-12)


def test_many_draws_of_a_beta_near_the_beta_binomial():
    draws = stats.beta.ppf((np.arange(4000) + 0.5) / 4000, 6.0, 4.0)
    for good, plates in ((3, 5), (6, 12), (12, 30)):
        want = stats.betabinom.sf(good - 1, plates, 6.0, 4.0)
        assert at_least(good, plates, DrawnChance(draws)) == pytest.approx(want, abs=1e-4)
