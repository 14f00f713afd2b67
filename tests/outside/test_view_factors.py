"""View factors of lamp and plate against published values.

Sources
-------
- J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors, C-13, in the worked
  example of a heat-transfer program's manual (fchart.com, "Offset Parallel Rectangles"): two
  squares of 0.1 m, 0.05 m apart: 0.4153.
- Incropera et al., Fundamentals of Heat and Mass Transfer, figure of aligned parallel rectangles:
  two equal squares one side apart, 0.20 (read off the chart; 0.1998 in tables).
- R. Siegel and J. R. Howell, Thermal Radiation Heat Transfer: two equal discs one radius apart,
  (3 - sqrt 5)/2 = 0.381966.
"""

import numpy as np
import pytest

from argentry.physics.lights import lamp_view as view


@pytest.mark.parametrize(
    ("side", "distance", "published"), [(0.1, 0.05, 0.4153), (1.0, 1.0, 0.1998)]
)
def test_two_equal_squares(side, distance, published):
    found = view.rectangle_to_rectangle((side, side), (side, side), distance)
    assert found == pytest.approx(published, abs=5e-5)


def test_two_equal_discs():
    assert view.disc_to_disc(1.0, 1.0, 1.0) == pytest.approx((3.0 - np.sqrt(5.0)) / 2.0)


def test_a_bare_bulb_in_a_cube_sends_a_sixth_to_each_side():
    assert view.point_to_rectangle((2.0, 2.0), 1.0) == pytest.approx(1.0 / 6.0)
