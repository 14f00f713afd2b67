"""Colour of a reflectance spectrum."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.coat import colour

DAYLIGHT = colour.light("D65")
level = st.floats(0, 1)
lab_values = st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))


@given(level)
def test_a_grey_card_is_grey_in_every_light(reflectance):
    for name in colour.LIGHTS:
        light = colour.light(name)
        spectrum = np.full(81, reflectance)
        white = colour.white(light)
        lab = colour.lab(colour.xyz(spectrum, light), white)
        assert lab[1:] == pytest.approx([0, 0], abs=1e-9)
        red, green, blue = colour.srgb(colour.xyz(spectrum, light), white)
        assert red == pytest.approx(green, abs=2e-4)
        assert green == pytest.approx(blue, abs=2e-4)


def test_white_and_black():
    white = colour.white(DAYLIGHT)
    assert colour.lab(white, white) == pytest.approx([100, 0, 0])
    assert colour.hex_colour(colour.srgb(white, white)) == "#FFFFFF"
    assert colour.hex_colour(colour.srgb(np.zeros(3), white)) == "#000000"
    # IEC 61966-2-1: a line of slope 12.92 up to 0.0031308, a power above
    assert colour.srgb(0.002 * white, white) == pytest.approx([0.02584] * 3, abs=1e-5)
    assert colour.srgb(0.2140411 * white, white) == pytest.approx([0.5] * 3, abs=1e-5)


@given(lab_values, lab_values)
def test_difference_is_symmetric_and_never_below_zero(first, second):
    there = float(colour.delta_e_2000(first, second))
    assert there >= 0
    assert there == pytest.approx(float(colour.delta_e_2000(second, first)), abs=1e-9)
    assert float(colour.delta_e_2000(first, first)) == 0


def test_a_lamp_given_as_daylight_is_daylight():
    lamp = colour.lamp("mine.csv", colour.WAVELENGTH_NM, DAYLIGHT.power)
    assert colour.white(lamp) == pytest.approx(colour.white(DAYLIGHT), abs=0.2)


def test_a_narrow_line_of_a_lamp_is_not_lost():
    at = np.arange(380.0, 781.0)
    flat = np.ones(at.size)
    line = flat.copy()
    line[at == 437] = 101  # between two points of the 5 nm grid
    gained = colour.lamp("mine.csv", at, line).power - colour.lamp("mine.csv", at, flat).power
    assert gained.sum() * 5 == pytest.approx(100)


@pytest.mark.parametrize(
    ("at", "power", "words"),
    [
        ([400, 700], [1, 1], "gap of 300 nm"),
        (np.arange(420, 781, 5), np.ones(73), "run from 420"),
        (np.arange(380, 781, 5)[::-1], np.ones(81), "not in rising order"),
        (np.arange(380, 781, 5), -np.ones(81), "below zero"),
        (np.arange(380, 781, 5), np.zeros(81), "dark"),
        ([400], [1], "too few"),
        (np.arange(380, 781, 5), np.full(81, np.nan), "too few numbers"),
    ],
)
def test_a_lamp_that_cannot_be_is_refused(at, power, words):
    with pytest.raises(BadInput, match=words):
        colour.lamp("mine.csv", at, power)


def test_an_unknown_light_is_refused():
    with pytest.raises(BadInput, match="D65, A, LED"):
        colour.light("F2")


def test_the_grid_of_every_colour_cannot_be_changed():
    with pytest.raises(ValueError, match="read-only"):
        colour.WAVELENGTH_NM[0] = 1.0


def test_a_grey_pane_changes_no_colour_and_a_deep_orange_one_leaves_none():
    grey = colour.behind(DAYLIGHT, "pane", ((300.0, 900.0), (0.4, 0.4)))
    assert grey.power == pytest.approx(0.4 * DAYLIGHT.power)
    assert grey.name == "D65 behind pane"
    for kept, refused in ((0.03, False), (0.003, True)):
        blue = ((300.0, 519.9, 520.1, 900.0), (kept, kept, 1.0, 1.0))
        share = colour.white(colour.Light("", DAYLIGHT.power * np.interp(
            colour.WAVELENGTH_NM, *blue)))[2] / colour.white(DAYLIGHT)[2]  # fmt: skip
        assert (share < 0.02) == refused
        if refused:
            assert share > 0.01
            with pytest.raises(BadInput, match="takes a whole part"):
                colour.behind(DAYLIGHT, "pane", blue)
        else:
            colour.behind(DAYLIGHT, "pane", blue)
    with pytest.raises(BadInput, match="takes a whole part"):
        colour.behind(DAYLIGHT, "pane", ((300.0, 900.0), (0.0, 0.0)))


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([400.0, 420.0, *np.arange(440.0, 701.0, 20.0)], None),
        ([400.1, *np.arange(420.0, 701.0, 20.0)], "run from"),
        ([*np.arange(400.0, 681.0, 20.0), 699.9], "run from"),
        ([*np.arange(400.0, 681.0, 20.0), 700.1], "gap of 20.1 nm"),
        ([*np.arange(400.0, 701.0, 20.0), 700.0], "rising order"),
    ],
)
def test_a_lamp_is_taken_to_the_last_of_what_it_must_cover(rows, words):
    if words is None:
        found = colour.lamp("mine.csv", rows, np.ones(len(rows)))
        inside = (colour.WAVELENGTH_NM > 402.5) & (colour.WAVELENGTH_NM < 697.5)
        assert found.power[inside] == pytest.approx(1.0)
        assert found.power[colour.WAVELENGTH_NM < 397.5] == pytest.approx(0.0)
        assert found.power[colour.WAVELENGTH_NM > 702.5] == pytest.approx(0.0)
    else:
        with pytest.raises(BadInput, match=words):
            colour.lamp("mine.csv", rows, np.ones(len(rows)))


def test_a_lamp_is_even_to_both_ends_and_seen_at_the_very_last():
    rows = np.arange(370.0, 791.0, 10.0)
    assert colour.lamp("mine.csv", rows, np.full(rows.size, 3.0)).power == pytest.approx(3.0)
    for only in (380.0, 780.0):
        assert colour.lamp("mine.csv", rows, 1.0 * (rows == only)).power.max() > 0.0
        with pytest.raises(BadInput, match="dark"):
            colour.lamp("mine.csv", rows, 1.0 * (np.abs(rows - 580.0) == 210.0))


def test_pictures_are_taken_to_light_by_the_curve_of_srgb():
    """IEC 61966-2-1: 188 of 255 is 0.5028 of full light; red alone has Y = 21.26."""
    assert colour.from_srgb_bytes(np.array([0, 188, 255], dtype=np.uint8)) == pytest.approx(
        [0.0, 0.50289, 1.0], abs=1e-5
    )
    assert colour.xyz_of_linear([0.5, 0.0, 0.0]) == pytest.approx([20.62, 10.63, 0.967], abs=0.01)
