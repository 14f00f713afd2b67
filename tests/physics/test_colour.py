"""Colour of a reflectance spectrum."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics import colour

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
