"""Exposure light against measured and handed-down facts of early photography.

Sources: H. E. Roscoe and T. E. Thorpe, Lisbon 1867, chloride paper, as summarised in a text on
agricultural climate: scattered "chemical" light exceeds the direct below 21 degrees, and equals it
on level ground near 45 degrees. Practical photography handbook in the public domain: winter noon
wants 2 to 4 times June's exposure; dull, without shadows, 4 times.
"""

import numpy as np
import pytest
from tests.series import light_series

from argentry.physics.lights import bands, sky

HEIGHTS = np.linspace(5.0, 80.0, 7501)
CHLORIDE = bands.Band("silver chloride", np.arange(330.0, 391.0), np.ones(61), 1.13)


def crossing(ratio):
    return HEIGHTS[np.argmin(np.abs(ratio - 1.0))]


def test_scattered_light_exceeds_the_beam_below_21_degrees():
    light = sky.clear_sky(HEIGHTS, np.ones(HEIGHTS.size), CHLORIDE, sky.Atmosphere())
    ratio = light.beam_normal_w_m2 / light.diffuse_horizontal_w_m2
    assert crossing(ratio) == pytest.approx(21.0, abs=4.0)


def test_level_ground_gets_as_much_from_both_near_45_degrees():
    light = sky.clear_sky(HEIGHTS, np.ones(HEIGHTS.size), CHLORIDE, sky.Atmosphere())
    beam = light.beam_normal_w_m2 * np.sin(np.radians(HEIGHTS))
    assert crossing(beam / light.diffuse_horizontal_w_m2) == pytest.approx(45.0, abs=4.0)


def noon(month, plane="sun"):
    series = light_series(
        np.array([f"2026-{month:02d}-21T12:00"], dtype="datetime64[m]"),
        latitude_deg=50.0,
        longitude_deg=0.0,
        elevation_m=0.0,
        atmosphere=sky.Atmosphere(),
        exposure_plane=plane,
    )
    return series.exposure_w_m2[0]


def test_winter_noon_wants_two_to_four_times_june():
    assert 2.0 < noon(6) / noon(12) < 4.0


def test_a_dull_day_wants_about_four_times():
    wall = 0.396 + 0.5 * 0.2  # of the light on level ground, see test_cie_sky and the albedo
    dull = noon(6, "overcast") / wall
    assert 2.5 < noon(6, "horizontal") / dull < 5.0
