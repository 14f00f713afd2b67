"""Warming of one lump against a textbook example.

Source: Y. A. Çengel, Heat and Mass Transfer, example 4-1 (thermocouple bead: 1 mm sphere, density
8500 kg/m3, heat 320 J/(kg K), 210 W/(m2 K)): 0.462 per second, 99 % of the way in 10 s.
"""

import math

import pytest

from argentry.physics.room.warming import warm_seconds


def test_thermocouple_bead_as_a_plate_of_the_same_volume_per_surface():
    """A plate has half its thickness as volume per surface, a sphere a sixth of its diameter."""
    thickness_mm = 2.0 * 1.0 / 6.0
    film = 210.0 * (8960.0 * 385.0) / (8500.0 * 320.0) / 10.0  # ten times slower, to be in range
    seconds = warm_seconds(thickness_mm, 0.0, 99.0, 100.0, film)
    assert seconds / 10.0 == pytest.approx(10.0, abs=0.1)
    assert seconds / 10.0 == pytest.approx(math.log(100.0) / 0.4632, rel=1e-3)
