"""The ordered probit against R's polr on 400 students, as shipped with statsmodels.

Source: statsmodels 0.15, miscmodels/tests/results (ologit_ucla.csv and results_ordinal_model.py):
coefficients, standard errors, cuts and the first seven predictions of R MASS 'polr', probit link.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from argentry.learn.stages.likelihood import normal_cdf
from argentry.learn.stages.model import StageModel, cuts, middle_and_doubt
from argentry.learn.stages.posterior import climb
from argentry.learn.stages.unknowns import Prior, Unknowns, rows_of

ROWS = Path(__file__).parents[1] / "fixtures" / "posterior" / "students.csv"
LEVELS = ("unlikely", "somewhat likely", "very likely")
PREDICTED = [
    [0.5514181, 0.3576848, 0.09089707],
    [0.3260107, 0.4488799, 0.22510933],
    [0.2349733, 0.4506351, 0.31439162],
    [0.6142501, 0.3184778, 0.06727214],
    [0.6519891, 0.2928449, 0.05516602],
    [0.6402204, 0.3009945, 0.05878509],
    [0.6480094, 0.2956162, 0.05637442],
]


@pytest.fixture(scope="module")
def found():
    lines = ROWS.read_text(encoding="utf-8").splitlines()[1:]
    rows = list(csv.DictReader(lines))
    x = np.array([[float(r[k]) for k in ("pared", "public", "gpa")] for r in rows])
    level = np.array([LEVELS.index(r["apply"]) for r in rows])
    none = np.zeros(0, dtype=np.int64)
    unknowns = Unknowns(np.arange(3), none, none, np.zeros(0), np.zeros(0), gaps=1, sessions=0)
    flat = Prior(np.zeros(5), np.full(5, 1e6))
    data = rows_of(unknowns, x, np.zeros(3), np.ones(3), np.zeros((400, 0)))
    model = StageModel(unknowns, flat, data, level, level, np.ones(400))
    return model, climb(model, np.zeros(5))


def test_coefficients_and_cuts(found):
    _, summit = found
    base, gap = summit.point[0], np.exp(summit.point[1])
    assert summit.point[2:] == pytest.approx([0.59811, 0.01016, 0.35815], abs=2e-5)
    assert [-base - gap, -base] == pytest.approx([1.2968, 2.5028], abs=1e-4)


def test_standard_errors(found):
    _, summit = found
    errors = np.sqrt(np.diag(summit.spread @ summit.spread.T))
    assert errors[2:] == pytest.approx([0.1579, 0.1728, 0.1568], abs=1e-4)


def test_predictions(found):
    model, summit = found
    at = summit.point[None]
    eta, _ = middle_and_doubt(model.unknowns, model.rows, at)
    above = normal_cdf(eta[0][:, None] - cuts(model.unknowns, at)[0])
    shares = np.column_stack([1 - above[:, 0], above[:, 0] - above[:, 1], above[:, 1]])
    # polr stops a little before its own summit
    assert shares[:7] == pytest.approx(np.array(PREDICTED), abs=1e-5)
