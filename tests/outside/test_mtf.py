"""Blur, acuity and contrast against textbook identities.

Sources
-------
- Full width at half height of a normal curve: 2 sqrt(2 ln 2) sigma = 2.3548 sigma (any handbook).
- Transform of a normal curve (J. W. Goodman, Introduction to Fourier Optics): contrast is one half
  at sigma = 0.1874/v; of an even drift: sinc, one half at v d = 0.6034.
- One minute of arc at 250 mm: 0.0727 mm; common print criterion 5 line pairs/mm.
"""

import numpy as np
import pytest

from argentry.physics.picture import stillness


def test_full_width_of_a_normal_curve():
    assert stillness.blur_width_mm(1.0, 1.0) == pytest.approx(2.3548, abs=1e-4)


def test_half_contrast_of_a_normal_blur():
    assert stillness.contrast(1.0, 0.1874) == pytest.approx(0.5, abs=1e-3)


def test_one_minute_of_arc_at_reading_distance():
    assert stillness.finest_width_mm("eye") == pytest.approx(250.0 * np.pi / (180 * 60), rel=1e-6)
    assert stillness.finest_width_mm("eye") == pytest.approx(0.0727, abs=5e-5)


@pytest.mark.parametrize(("scale", "budget"), [(1 / 6, 0.51), (1 / 8, 0.68), (1 / 12, 1.02)])
def test_budget_for_five_line_pairs(scale, budget):
    # 0.2 mm full width over 2.3548 m, by hand
    assert stillness.stillness_budget_mm(scale) == pytest.approx(budget, abs=0.005)
