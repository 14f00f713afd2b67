"""The noisy-OR net against a plain sum over all 2^10 combinations of ten causes.

Source: the definition itself (J. Pearl, Probabilistic Reasoning in Intelligent Systems, 1988,
4.3.2, recalled), written out below without any of the tool's own functions.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from argentry.learn.causes.noisy_or import posterior

CAUSES, FINDINGS = 10, 6


def enumerate_all(priors, links, leaks, seen, *, failed):
    total, marginal = 0.0, np.zeros(CAUSES)
    for there in product((0, 1), repeat=CAUSES):
        if failed and not any(there):
            continue
        chance = 1.0
        for c in range(CAUSES):
            chance *= priors[c] if there[c] else 1 - priors[c]
        for d in range(FINDINGS):
            if np.isnan(seen[d]):
                continue
            absent = 1 - leaks[d]
            for c in range(CAUSES):
                absent *= 1 - links[c, d] if there[c] else 1.0
            chance *= 1 - absent if seen[d] else absent
        total += chance
        marginal += chance * np.array(there)
    return np.log(total), marginal / total


def net(seed):
    rng = np.random.default_rng(seed)
    priors = rng.uniform(0.01, 0.15, CAUSES)
    links = rng.choice([0.0, 0.05, 0.3, 0.7], (CAUSES, FINDINGS), p=[0.6, 0.1, 0.15, 0.15])
    return priors, links, rng.uniform(0.005, 0.03, FINDINGS), np.array([1, 0, 1, np.nan, 0, 1.0])


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("failed", [True, False])
def test_all_sets_equal_the_plain_sum(seed, failed):
    priors, links, leaks, seen = net(seed)
    evidence, marginal = enumerate_all(priors, links, leaks, seen, failed=failed)
    found = posterior(priors, links, leaks, seen, most=CAUSES, failed=failed)
    assert found.evidence == pytest.approx(evidence, abs=1e-6)
    assert found.marginal == pytest.approx(marginal, abs=1e-6)


def test_sets_of_three_are_close_enough():
    priors, links, leaks, seen = net(5)
    _, marginal = enumerate_all(priors, links, leaks, seen, failed=True)
    cut = posterior(priors, links, leaks, seen, most=3).marginal
    assert np.abs(cut - marginal).max() < 0.03
    assert np.argmax(cut) == np.argmax(marginal)
