"""Light that falls off across a plate: taken out where it differs from picture to picture."""

import numpy as np
import pytest
from scipy import stats

from argentry.judge.red_looks import without_fall

Y, X = np.mgrid[-0.5:0.5:38j, -0.5:0.5:56j]
FALLS = ((0.03, 0.0), (-0.04, 0.02), (0.01, -0.03), (-0.01, 0.03))  # later ones cancel


@pytest.mark.parametrize("few", [False, True])
def test_the_fall_is_taken_out_and_the_subject_stays(few):
    """Outside: a plate whose lights lie to the right, risen by SciPy's normal distribution."""
    stops = 2.0 * X + 1.5 * np.sin(9.0 * Y)
    stops += np.random.default_rng(1).normal(0.0, 0.5, X.shape)
    stops = np.round(stops) if few else stops
    rise = stats.norm(scale=0.8).cdf
    own = np.array([0.6 + 0.5 * rise(np.log(one) + 0.5 * stops) for one in (0.001, 0.3, 0.6, 0.9)])
    assert np.abs(without_fall(own) / own - 1.0).max() < 3e-4
    lit = own * np.exp([a * X + b * Y for a, b in FALLS])
    assert np.abs(lit / own - 1.0).max() > 0.018
    assert np.abs(without_fall(lit) / own - 1.0).max() < 3e-4


def test_one_picture_alone_is_left_as_it_is():
    one = 0.6 * np.exp(0.03 * X)[None]
    assert (without_fall(one) == one).all()
