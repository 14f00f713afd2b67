"""How good predicted probabilities were."""

import numpy as np
import pytest

from argentry.learn.stages.scores import (
    base_rates,
    brier_score,
    calibration_error,
    log_score,
    reliability,
)


def test_scores_by_hand():
    p, y = [0.8, 0.4, 0.5], [True, False, True]
    assert log_score(p, y) == pytest.approx(np.log([0.8, 0.6, 0.5]).mean())
    assert brier_score(p, y) == pytest.approx((0.04 + 0.16 + 0.25) / 3)
    # a session is told by the others: one bad plate; two good ones; each with the Beta before
    rates = base_rates([True, True, False], np.array([0, 0, 1]))
    assert rates == pytest.approx([1 / 3, 1 / 3, 3 / 4])
    assert log_score([], []) == brier_score([], []) == calibration_error([], []) == 0.0
    assert base_rates([], np.zeros(0, dtype=int)).size == 0


def test_reliability_by_hand():
    table = reliability([0.05, 0.07, 0.92, 1.0], [0, 1, 1, 1], groups=10)
    assert table.predicted == pytest.approx([0.06, 0.96])
    assert table.came == pytest.approx([0.5, 1.0])
    assert table.count.tolist() == [2, 2]
    assert calibration_error([0.05, 0.07, 0.92, 1.0], [0, 1, 1, 1]) == pytest.approx(0.24)


def test_perfect_figures_have_no_error():
    random = np.random.default_rng(3)
    p = random.random(40000)
    assert calibration_error(p, random.random(40000) < p) < 0.02
