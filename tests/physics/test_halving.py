"""Halving between two ends."""

import numpy as np
import pytest

from argentry.physics.halving import halved


def test_each_element_comes_to_its_own_root_to_the_last_digit():
    squares = np.array([[2.0, 3.0, 1e-6], [0.25, 1.0, 8.999]])
    found = halved(lambda x: x * x, squares, np.zeros((2, 3)), np.full((2, 3), 3.0))
    assert found == pytest.approx(np.sqrt(squares), rel=0.0, abs=np.spacing(3.0))
    assert halved(lambda x: 2.0 * x, -81.0, -100.0, 0.0) == pytest.approx(-40.5, rel=1e-15)


def test_ends_that_meet_are_the_root_and_nothing_is_asked():
    assert halved(lambda x: 1 / 0, 7.0, [0.0, 5.0], [0.0, 5.0]).tolist() == [0.0, 5.0]
