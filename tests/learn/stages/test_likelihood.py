"""The likelihood of ordered levels, safe far in the tails."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.learn.stages.likelihood import bounds_of, interval_terms, log_cdf


@given(st.floats(-45, 45), st.floats(0.001, 3.0))
@settings(max_examples=60)
def test_levels_add_up_to_one_however_far_out(eta, gap):
    cuts = np.array([[-gap, 0.0]])
    each = np.arange(3)
    terms = interval_terms(np.full((1, 3), eta), np.zeros((1, 3)), cuts, bounds_of(each, each, 2))
    assert np.all(np.isfinite(terms.value))
    assert np.exp(terms.value).sum() == pytest.approx(1.0, abs=1e-9)
    assert np.all(np.isfinite(terms.by_eta()))


def test_log_cdf_far_into_the_tail():
    # leading terms: log phi(z) - log(-z) + log(1 - 1/z2)
    z = np.array([-40.0, -20.0, 0.0])
    tail = -0.5 * z[:2] ** 2 - 0.5 * np.log(2 * np.pi) - np.log(-z[:2]) + np.log1p(-1 / z[:2] ** 2)
    assert log_cdf(z)[:2] == pytest.approx(tail, abs=1e-4)
    assert log_cdf(z)[2] == pytest.approx(np.log(0.5))
