"""A grey scale tells what share of white a level stands for."""

import numpy as np
import pytest

from argentry.judge.grey_scale import grey_scale
from argentry.physics.coat import colour

# Neutrals of the 24-patch colour chart: printed densities, and sRGB values of the chart's makers
# for D65 (white .05 to black .05), as colour-science lists the densities; values from memory.
PRINTED = (0.05, 0.23, 0.44, 0.70, 1.05, 1.50)
SRGB = (243, 200, 160, 122, 85, 52)


def strip(levels, each=40):
    return np.repeat(np.repeat(np.array(levels)[None, :], each, axis=1), each, axis=0)


def test_the_neutrals_of_a_colour_chart_are_read_at_their_printed_densities():
    levels = colour.from_srgb(np.array(SRGB) / 255.0)
    # the chart's own colours give its densities back, as the linear luminance is the right one
    assert -np.log10(levels) == pytest.approx(PRINTED, abs=0.06)
    picture = strip(levels * 0.8)  # a camera that exposed a little less
    scale = grey_scale(picture, (20.0, 20.0, 220.0, 20.0), PRINTED)
    for level, density in zip(levels, PRINTED, strict=True):
        share, dark = scale.read(0.8 * level)
        assert -share == pytest.approx(density, abs=1e-3)
        assert not dark
    share, dark = scale.read(0.001)
    assert dark
    assert share == pytest.approx(-1.5, abs=1e-3)  # nothing is extrapolated


def test_a_tone_curve_is_undone():
    levels = 10.0 ** -np.array(PRINTED)
    bent = strip(0.9 * levels**1.3)
    scale = grey_scale(bent, (20.0, 20.0, 220.0, 20.0), PRINTED)
    between = 10.0**-0.57
    assert scale.read(0.9 * between**1.3)[0] == pytest.approx(-0.57, abs=0.01)


def test_a_scale_laid_the_other_way_is_not_even():
    picture = strip((10.0 ** -np.array(PRINTED))[::-1])
    assert isinstance(grey_scale(picture, (20.0, 20.0, 220.0, 20.0), PRINTED), str)
