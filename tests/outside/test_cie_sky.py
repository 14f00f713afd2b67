"""The overcast sky against ISO 15469:2004 / CIE S 011 and the trade's overcast figures.

Source: the standard's overcast sky, L = Lz (1 + 2 sin g) / 3, integrated here by quadrature; its
closed forms are 7 pi/9 for level ground and 3 : 1 zenith to horizon.
"""

import numpy as np
import pytest

from argentry import trade
from argentry.physics.lights.light import on_plane
from argentry.physics.lights.sky import SkyLight

STEP = np.radians(0.25)
HEIGHTS = np.arange(STEP / 2, np.pi / 2, STEP)
LUMINANCE = (1 + 2 * np.sin(HEIGHTS)) / 3


def level():
    return 2 * np.pi * np.sum(LUMINANCE * np.sin(HEIGHTS) * np.cos(HEIGHTS)) * STEP


def upright():
    # Round the half of the sky a wall sees, the cosine of direction integrates to 2.
    return 2 * np.sum(LUMINANCE * np.cos(HEIGHTS) ** 2) * STEP


def test_closed_form_on_level_ground():
    assert level() == pytest.approx(7 * np.pi / 9, rel=1e-4)
    assert level() == pytest.approx(2.4435, rel=1e-4)


def test_wall_over_level_ground():
    assert upright() / level() == pytest.approx(
        trade.value("light", "sky_vertical_overcast"), abs=5e-4
    )


def test_our_overcast_wall_over_a_black_ground():
    sky = SkyLight(np.array([0.0]), np.array([level()]))
    wall = on_plane(sky, np.array([40.0]), "overcast", albedo=0.0)
    assert wall[0] == pytest.approx(upright(), rel=2e-3)


def test_even_sky_gives_a_wall_half():
    sky = SkyLight(np.array([0.0]), np.array([1.0]))
    wall = on_plane(sky, np.array([40.0]), "shade", albedo=0.0)
    assert wall[0] == 0.5
