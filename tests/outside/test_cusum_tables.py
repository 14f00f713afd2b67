"""Run lengths of cumulative-sum charts against the tabulated ones.

Source: D. C. Montgomery, Introduction to Statistical Quality Control, table of average run lengths
of the two-sided tabular chart with k = 1/2 (after Lucas and Crosier 1982), and NIST/SEMATECH
e-Handbook of Statistical Methods, 6.3.2.3; the numbers are recalled, each to the digits printed.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from argentry.learn.causes.drift_charts import cusum, run_length, two_sided

# shift in standard deviations: run length at h = 4, at h = 5
MONTGOMERY = {
    0.0: (168, 465),
    0.25: (74.2, 139),
    0.5: (26.6, 38.0),
    0.75: (13.3, 17.0),
    1.0: (8.38, 10.4),
    1.5: (4.75, 5.75),
    2.0: (3.34, 4.01),
    2.5: (2.62, 3.11),
    3.0: (2.19, 2.57),
    4.0: (1.71, 2.01),
}


@pytest.mark.parametrize("shift", MONTGOMERY)
@pytest.mark.parametrize(("place", "limit"), [(0, 4.0), (1, 5.0)])
def test_two_sided_run_lengths(shift, place, limit):
    both = two_sided(run_length(0.5, limit, shift), run_length(0.5, limit, -shift))
    assert both == pytest.approx(MONTGOMERY[shift][place], rel=0.005)


@pytest.mark.parametrize("shift", [0.0, 0.25, 1.0, 2.0])
def test_siegmund_formula(shift):
    # D. Siegmund, Sequential Analysis, 1985: (exp(-2 d b) + 2 d b - 1) / (2 d^2), b = h + 1.166
    # (recalled); an approximation good to a few per cent
    drift, height = shift - 0.5, 5.0 + 1.166
    wanted = (math.exp(-2 * drift * height) + 2 * drift * height - 1) / (2 * drift**2)
    assert run_length(0.5, 5.0, shift) == pytest.approx(wanted, rel=0.05)


def test_worked_example_of_twenty_subgroups():
    # NIST/SEMATECH e-Handbook 6.3.2.3: target 325, K = 0.3175, H = 4.1959, first signal at group 14
    # with a sum of 4.94 (data and answer recalled)
    means = [
        *(324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225),
        *(324.600, 324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775),
        *(326.875, 328.350),
    ]
    above, below = cusum(np.array(means) - 325.0, 0.3175)
    assert int(np.argmax(above > 4.1959)) + 1 == 14
    assert above[13] == pytest.approx(4.94, abs=0.005)
    assert below.max() < 4.1959
