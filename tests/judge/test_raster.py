"""A screen's raster is told by its colours, and lines and grain of a plate are none."""

import numpy as np

from argentry.judge.raster import has_raster


def test_only_a_fine_wave_whose_colours_are_out_of_step_is_a_raster():
    x = np.arange(200)
    rng = np.random.default_rng(2)
    plate = 0.1 * np.exp(0.03 * rng.normal(size=(160, 200, 3)))
    wave = 0.1 * np.cos(2 * np.pi * x[:, None] / 4.3 + np.array([0.0, 2.1, 4.2]))
    assert not has_raster(plate)
    alike = wave[:, :1] * [1.0, 0.8, 0.5]  # lines of a buff on a plate of a warm tone
    assert not has_raster(plate * (1.0 + alike))
    assert has_raster(plate * (1.0 + wave))
    slow = 0.1 * np.cos(2 * np.pi * x[:, None] / 40.0 + np.array([0.0, 2.1, 4.2]))
    assert not has_raster(plate * (1.0 + slow))  # a tint of the picture
    assert not has_raster(np.full((160, 200, 3), 0.1))
