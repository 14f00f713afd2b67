"""What verdicts of exposure teach of the speed."""

from statistics import NormalDist

import numpy as np
import pytest

from argentry import trade
from argentry.learn.numbers.exposure_belief import (
    SHARED,
    GradedExposure,
    believed,
    grade_chances,
    weigh,
)


def plate(stops, verdict, **more):
    return GradedExposure((stops,), (verdict,), **more)


def test_chances_of_a_verdict_are_those_of_the_normal_law():
    belief = believed(0.0, 1.0)
    got = grade_chances(belief, np.array([0.4]), 0.2)[:, 0, 60, 3, 2]
    s, half, noise = belief.shift[60], belief.half[3], belief.noise[2]
    law = NormalDist(0.4, np.hypot(noise, 0.2))
    below = [law.cdf(s - half), law.cdf(s + half), law.cdf(s + half + 1.5)]
    slip = trade.value("decide", "misread_share")
    want = np.diff([0.0, *below, 1.0]) * (1 - slip) + slip / 4
    assert got == pytest.approx(want, abs=1e-9)
    assert grade_chances(belief, np.array([-1.0, 2.0])).sum(axis=0) == pytest.approx(1.0)


def test_shared_noise_comes_near_the_exact_law():
    """Nine points of the noise that strips share, against the sum of both variances."""
    belief, strip = believed(), trade.value("decide", "strip_noise")
    share = np.exp(-0.5 * SHARED**2)
    nine = grade_chances(belief, np.array([0.3]), 0.0, SHARED) @ (share / share.sum())
    exact = grade_chances(belief, np.array([0.3]), strip)
    usual = np.s_[:, :, :, :, 1:4]  # noise 0.2 to 0.45
    assert np.abs(nine - exact)[usual].max() < 0.09
    assert np.abs((nine - exact) @ np.ones(5)).mean() < 0.02


def test_one_plate_moves_the_speed_the_right_way():
    start = believed()
    assert weigh(start, plate(0.0, "under")).mean > 0.3
    assert weigh(start, plate(0.0, "over")).mean < -0.3
    assert weigh(start, plate(0.0, "blank")).mean == weigh(start, plate(0.0, "under")).mean
    assert weigh(start, plate(0.0, "solarised")).mean < weigh(start, plate(0.0, "over")).mean
    assert weigh(start, plate(0.0, "right")).sd < start.sd


def test_doubtful_light_teaches_less():
    sure, vague = (weigh(believed(), plate(0.0, "right", light_sd=sd)) for sd in (0.0, 1.0))
    assert sure.sd < vague.sd
