"""The probit, and the engine under another link, against the O-rings of 23 flights.

Source: S. R. Dalal, E. B. Fowlkes, B. Hoadley, "Risk analysis of the space shuttle", J. Amer. Stat.
Assoc. 84 (1989) 945: launch temperature [°F] and whether any O-ring was distressed (rows recalled;
they give the printed logit 15.0429 (7.379), -0.2322 (0.108)). Probit figures computed with
statsmodels 0.15: 8.77495, -0.13510, log likelihood -10.188870.
"""

import numpy as np
import pytest

from argentry.learn.stages.model import StageModel
from argentry.learn.stages.posterior import climb
from argentry.learn.stages.unknowns import Prior, Unknowns, rows_of

TEMPERATURE = np.array(
    [66, 70, 69, 68, 67, 72, 73, 70, 57, 63, 70, 78, 67, 53, 67, 75, 70, 81, 76, 79, 75, 76, 58.0]
)
DISTRESS = np.array([0, 1, 0, 0, 0, 0, 0, 0, 1, 1, 1, 0, 0, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1])
NONE = np.zeros(0, dtype=np.int64)


class Logit:
    """The same flights under a logit, as a density of its own."""

    def __init__(self):
        self.x = np.column_stack([np.ones(23), TEMPERATURE - 70.0])

    def value(self, points):
        eta = points @ self.x.T
        return (DISTRESS * eta - np.logaddexp(0.0, eta)).sum(axis=1)

    def value_and_slope(self, points):
        share = 1.0 / (1.0 + np.exp(-points @ self.x.T))
        return self.value(points), (DISTRESS - share) @ self.x

    def curvature(self, point):
        share = 1.0 / (1.0 + np.exp(-self.x @ point))
        return self.x.T @ ((share * (1 - share))[:, None] * self.x)


def test_logit_as_printed():
    summit = climb(Logit(), np.zeros(2))
    base, slope = summit.point
    assert (base - 70.0 * slope, slope) == pytest.approx((15.0429, -0.2322), abs=5e-4)
    cover = summit.spread @ summit.spread.T
    turn = np.array([[1.0, -70.0], [0.0, 1.0]])
    assert np.sqrt(np.diag(turn @ cover @ turn.T)) == pytest.approx([7.3786, 0.1082], abs=2e-3)
    cold = 1.0 / (1.0 + np.exp(-(base + slope * (31.0 - 70.0))))
    assert cold == pytest.approx(0.9996, abs=1e-4)  # at 31 °F, the day of the accident


def test_probit():
    unknowns = Unknowns(np.array([0]), NONE, NONE, np.zeros(0), np.zeros(0), gaps=0, sessions=0)
    rows = rows_of(
        unknowns, TEMPERATURE[:, None] - 70.0, np.zeros(1), np.ones(1), np.zeros((23, 0))
    )
    flat = Prior(np.zeros(2), np.full(2, 1e6))
    model = StageModel(unknowns, flat, rows, DISTRESS, DISTRESS, np.ones(23))
    summit = climb(model, np.zeros(2))
    base, slope = summit.point
    assert (base - 70.0 * slope, slope) == pytest.approx((8.77495, -0.13510), abs=2e-4)
    assert model.value(summit.point[None])[0] == pytest.approx(-10.188870, abs=1e-5)
