"""Which check is worth most."""

from __future__ import annotations

import numpy as np
import pytest

from argentry.learn.causes.first_check import bits, check_worth, loss_drop

SETS = np.array([[1.0, 0.0], [0.0, 1.0]])


def test_a_check_by_hand():
    # half and half; a sure check of either takes the loss from a half to nothing
    assert loss_drop(SETS, [0.5, 0.5], 0, 1.0, 0.0) == pytest.approx(0.5)
    assert bits(SETS, [0.5, 0.5], 0, 1.0, 0.0) == pytest.approx(1.0)


def test_a_check_that_says_nothing_is_worth_nothing():
    assert loss_drop(SETS, [0.6, 0.4], 0, 0.5, 0.5) == pytest.approx(0.0)
    assert bits(SETS, [0.6, 0.4], 0, 0.5, 0.5) == pytest.approx(0.0)


def test_the_cheaper_of_two_equal_checks_comes_first():
    worth = check_worth(SETS, [0.5, 0.5], [1.0, 10.0], 0.9, 0.1)
    assert worth[0] == pytest.approx(10 * worth[1])
    assert check_worth(SETS, [0.5, 0.5], [0.0, 5.0], 0.9, 0.1)[0] == 0
