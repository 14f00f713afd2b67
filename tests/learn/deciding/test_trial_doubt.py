"""What plates made with a change would remove of the doubt about it."""

import numpy as np
import pytest
from scipy.stats import norm
from tests.edges import is_taken_within

from argentry.learn.deciding.trial_doubt import doubt_after, probit
from argentry.learn.stages.likelihood import normal_cdf


def test_doubt_after_is_the_mean_posterior_variance():
    before, after = np.zeros(2), np.array([0.0, 1.0])
    ok = normal_cdf(after)
    left = 0.0
    for chance in (ok, 1 - ok):
        share = chance / chance.sum()
        left += chance.mean() * share[0] * share[1]  # variance of a two-point law on 0 and 1
    assert doubt_after(before, after) == pytest.approx(np.sqrt(left))
    assert doubt_after(before, after, 30) < doubt_after(before, after, 5) < 0.5
    is_taken_within(lambda plates: doubt_after(before, after, plates), 1, 100, step=1)


def test_probits_are_those_of_scipy():
    shares = np.array([1e-9, 1e-6, 0.001, 0.3, 0.5, 0.99, 1.0 - 1e-6, 1.0 - 1e-9])
    assert probit(shares) == pytest.approx(norm.ppf(np.clip(shares, 1e-6, 1.0 - 1e-6)), abs=1e-3)
