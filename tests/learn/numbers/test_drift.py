"""A speed that wanders: its spread grows as spreads add, and a drift too small to show does not."""

import numpy as np
import pytest

from argentry.learn.numbers.drift import LEAST, still, wandered

SHIFT = np.linspace(-3.0, 3.0, 61)


def test_each_weight_wanders_by_its_own_drift():
    one = np.exp(-0.5 * (SHIFT / 0.4) ** 2)[:, None, None] * np.array([1.0, 3.0])[:, None]
    drifts = np.array([0.0, 0.3, 0.6])
    moved = wandered(np.repeat(one[None], 3, axis=0), SHIFT, drifts)
    assert moved.sum(axis=(1, 2, 3)) == pytest.approx(np.ones(3))
    spread = np.sqrt(moved.sum(axis=(2, 3)) @ SHIFT**2)
    assert spread == pytest.approx(np.hypot(0.4, drifts), rel=1e-3)
    assert moved.sum(axis=(1, 3))[:, 1] == pytest.approx(0.75)  # what is beside the speed stays


def test_a_drift_that_the_grid_cannot_show_is_none():
    step = SHIFT[1] - SHIFT[0]
    assert still(SHIFT, 0.99 * LEAST * step)
    assert not still(SHIFT, 1.01 * LEAST * step)
