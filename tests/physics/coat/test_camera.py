"""A coat beside bare silver in a camera: what must hold whatever the camera."""

import numpy as np
import pytest

from argentry import trade
from argentry.physics.coat import colour
from argentry.physics.coat.camera import _channels, beside_silver, camera_doubt, camera_rgb

LIGHTS = ("D65", "A", "LED")


@pytest.mark.parametrize("name", LIGHTS)
def test_white_is_white_and_bare_silver_is_itself(name):
    light = colour.light(name)
    assert camera_rgb(np.ones(81), light) == pytest.approx(np.ones(3))
    assert beside_silver([0.0], light)[0] == pytest.approx(np.ones(3))


@pytest.mark.parametrize("name", LIGHTS)
def test_a_gold_keeps_red_and_loses_blue_and_a_blue_the_other_way(name):
    gold, blue = beside_silver([24.0, 46.0], colour.light(name))
    assert gold[0] > gold[1] > gold[2]
    assert gold[2] < 0.75 * gold[0]
    assert blue[2] > blue[0]


def test_in_daylight_a_camera_sees_about_what_the_eye_sees():
    day = colour.light("D65")
    smooth = 0.3 + 0.2 * np.cos(np.linspace(0, 3, 81) + np.array([[0.0], [1.0], [2.0]]))
    eye = colour.linear_srgb(colour.xyz(smooth, day), colour.white(day))
    assert camera_rgb(smooth, day) == pytest.approx(eye, abs=0.03)


def test_srgb_and_its_light_are_each_others_inverse():
    """IEC 61966-2-1: level 0.5 is 0.2140 of linear light, and white is D65."""
    assert colour.from_srgb(0.5) == pytest.approx(0.21404, abs=1e-5)
    assert colour.from_srgb([0.0, 0.04045, 1.0]) == pytest.approx([0.0, 0.0031308, 1.0], abs=1e-6)
    assert colour.xyz_of_linear(np.ones(3)) == pytest.approx([95.047, 100.0, 108.883], abs=0.01)


def test_a_channel_has_the_width_that_is_stated():
    """One standard deviation from its middle a normal curve is at exp(-1/2) of its height.

    Beside it stands the leak, which is the same everywhere.
    """
    leak = trade.value("seeing", "camera_leak")
    for i, name in enumerate(("red", "green", "blue")):
        middle, width = (
            trade.value("seeing", f"camera_{name}{end}") for end in ("_nm", "_width_nm")
        )
        seen = np.interp(middle + width, colour.WAVELENGTH_NM, _channels()[:, i])
        assert seen - leak == pytest.approx(np.exp(-0.5), abs=0.01)


def test_white_and_smooth_colours_come_as_near_to_srgb_as_three_by_three_can_bring_them():
    """Least squares by their normal equations, over the cosines that cover the visible."""
    nm = np.arange(380.0, 781.0, 5.0)
    day = colour.light("D65")
    sees = [
        day.power
        * (np.exp(-0.5 * ((nm - middle) / width) ** 2) + trade.value("seeing", "camera_leak"))
        for middle, width in (
            [trade.value("seeing", f"camera_{name}{end}") for end in ("_nm", "_width_nm")]
            for name in ("red", "green", "blue")
        )
    ]
    smooth = [np.ones(81)]
    for half_waves in range(1, 7):
        wave = np.cos(np.pi * half_waves * (nm - 380.0) / 400.0)
        smooth += [(1.0 + wave) / 2.0, (1.0 - wave) / 2.0]
    raw = np.array([[np.sum(s * k) / np.sum(k) for k in sees] for s in smooth])
    wanted = colour.linear_srgb(colour.xyz(np.array(smooth), day), colour.white(day))
    matrix = np.linalg.inv(raw.T @ raw) @ raw.T @ wanted
    matrix /= matrix.sum(axis=0)
    assert camera_rgb(np.array(smooth), day) == pytest.approx(raw @ matrix, abs=1e-9)


def test_cameras_differ_by_their_filters_and_not_on_bare_silver():
    by = {name: camera_doubt([0.0, 25.0, 45.0], colour.light(name)) for name in ("A", "D65")}
    for one in by.values():
        assert np.abs(one[0]).max() < 1e-9  # silver beside silver
        np.testing.assert_allclose(one, one.transpose(0, 2, 1))
        assert (np.linalg.eigvalsh(one) > -1e-12).all()
        blue, green = one[1, 2, 2], one[1, 1, 1]
        assert blue > 4.0 * green  # a gold has lost its blue, on the slope of the blue filter
        assert 0.05 < np.sqrt(blue) < 0.3
    # a lamp holds so much red that what a blue filter lets through of it counts
    assert by["A"][1, 2, 2] > by["D65"][1, 2, 2]
    assert by["A"][2, 0, 0] > by["D65"][2, 0, 0]


def test_a_camera_is_known_between_the_bands_of_its_scale_and_less_so_farther_off():
    nm, light = [0.0, 10.0, 25.0, 40.0, 41.0, 60.0, 120.0], colour.light("A")
    alone, known = camera_doubt(nm, light), camera_doubt(nm, light, known_nm=(10.0, 40.0))
    blue = np.sqrt(known[:, 2, 2])
    assert (blue[1:4] == 0.0).all()
    assert 0.0 < blue[4] < 0.5 * np.sqrt(alone[4, 2, 2])  # as the nearest band, nearly
    assert blue[5] > 2.0 * blue[4]
    assert blue[0] == pytest.approx(np.sqrt(alone[1, 2, 2]))  # silver is known, the band is not
