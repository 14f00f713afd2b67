"""How far odds are followed: Bayes over mixtures of two forecasts."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import quad

from argentry.learn.odds.trust import trust
from argentry.learn.stages.scores import base_rates


def fit_of(predicted, came):
    good = np.array([one for one in came if one is not None], dtype=bool)
    own = [p for p, one in zip(predicted, came, strict=True) if one is not None]
    shares = base_rates(good, np.arange(good.size))
    return SimpleNamespace(came=tuple(came), by_others=np.array(own), shares=shares)


def test_without_plates_it_is_a_half():
    assert trust(fit_of([], [])) == pytest.approx(0.5)
    assert trust(fit_of([0.9], [None])) == pytest.approx(0.5), "nobody has said how it came out"


def test_it_is_the_mean_of_the_integral():
    """Against SciPy's quadrature of the same posterior."""
    rng = np.random.default_rng(3)
    own = rng.uniform(0.2, 0.9, 12)
    came = rng.random(12) < own
    usual = base_rates(came, np.arange(12))

    def likely(b):
        mixed = b * own + (1.0 - b) * usual
        return np.prod(np.where(came, mixed, 1.0 - mixed))

    wanted = quad(lambda b: b * likely(b), 0, 1)[0] / quad(likely, 0, 1)[0]
    assert trust(fit_of(own, list(map(bool, came)))) == pytest.approx(wanted, abs=0.005)


def test_odds_that_held_are_followed_and_others_are_not():
    came = [n % 3 > 0 for n in range(60)]
    knew = [0.9 if good else 0.1 for good in came]
    assert trust(fit_of(knew, came)) > 0.9
    assert trust(fit_of([1.0 - p for p in knew], came)) < 0.1
