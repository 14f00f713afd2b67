"""The probit against Bliss's beetles.

Source: C. I. Bliss, "The calculation of the dosage-mortality curve", Annals of Applied Biology 22
(1935) 134, 481 beetles in carbon disulfide; rows and fitted values as in Dobson, An Introduction to
Generalized Linear Models (rows recalled). The fit to four decimals was computed with statsmodels
0.15 (GLM, binomial, probit link): -34.9353 (2.6479), 19.7279 (1.4872), deviance 10.1198.
"""

import numpy as np
import pytest

from argentry.learn.stages.likelihood import normal_cdf
from argentry.learn.stages.model import StageModel, middle_and_doubt
from argentry.learn.stages.posterior import climb
from argentry.learn.stages.unknowns import Prior, Unknowns, rows_of

LOG_DOSE = np.array([1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839])
BEETLES = np.array([59, 60, 62, 56, 63, 59, 62, 60])
DEAD = np.array([6, 13, 18, 28, 52, 53, 61, 60])
NONE = np.zeros(0, dtype=np.int64)


@pytest.fixture(scope="module")
def found():
    unknowns = Unknowns(np.array([0]), NONE, NONE, np.zeros(0), np.zeros(0), gaps=0, sessions=0)
    dose = np.concatenate([LOG_DOSE, LOG_DOSE])[:, None] - 1.8
    level = np.repeat([1, 0], 8)
    weight = np.concatenate([DEAD, BEETLES - DEAD]).astype(float)
    rows = rows_of(unknowns, dose, np.zeros(1), np.ones(1), np.zeros((16, 0)))
    flat = Prior(np.zeros(2), np.full(2, 1e6))
    model = StageModel(unknowns, flat, rows, level, level, weight)
    return model, climb(model, np.zeros(2))


def test_coefficients(found):
    _, summit = found
    base, slope = summit.point
    assert slope == pytest.approx(19.7279, abs=2e-4)
    assert base - 1.8 * slope == pytest.approx(-34.9353, abs=3e-4)


def test_standard_errors(found):
    # statsmodels takes the expected information, we the observed one: close, not equal
    _, summit = found
    cover = summit.spread @ summit.spread.T
    turn = np.array([[1.0, -1.8], [0.0, 1.0]])
    assert np.sqrt(np.diag(turn @ cover @ turn.T)) == pytest.approx([2.6479, 1.4872], rel=0.02)


def test_deviance_and_expected_dead(found):
    model, summit = found
    eta, _ = middle_and_doubt(model.unknowns, model.rows, summit.point[None])
    share = normal_cdf(eta[0, :8])
    assert share * BEETLES == pytest.approx(
        [3.3571, 10.7220, 23.4794, 33.8128, 49.6125, 53.3183, 59.6626, 59.2260], abs=0.01
    )
    alive = BEETLES - DEAD
    terms = DEAD * np.log(DEAD / (BEETLES * share))
    rest = BEETLES * (1 - share)
    terms[alive > 0] += alive[alive > 0] * np.log(alive[alive > 0] / rest[alive > 0])
    assert 2 * terms.sum() == pytest.approx(10.1198, abs=2e-4)
