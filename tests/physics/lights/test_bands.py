"""The bands: what plate, filter, lens and eye make of light by wavelength."""

import numpy as np
import pytest

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights import bands


def test_weights_integrate_a_straight_spectrum_exactly():
    grid = np.array([300.0, 310.0, 355.0, 400.0, 500.0])
    band = bands.Band("box", np.arange(320.0, 451.0), np.ones(131))
    straight = 3.0 + 0.02 * grid
    exact = 3.0 * 130 + 0.01 * (450.0**2 - 320.0**2)
    assert straight @ bands.band_weights(band, grid) == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("cut_on", [300.0, 800.0, float("nan")])
def test_impossible_filters_are_refused(cut_on):
    with pytest.raises(BadInput, match="out of range"):
        bands.development_band(cut_on)


def test_same_band_for_same_arguments():
    assert bands.exposure_band(0.8) is bands.exposure_band(0.8)


def test_two_threads_that_first_ask_for_a_band_mean_the_same_one():
    """Each is handed its own where both miss the cache: a sky made for one serves the other."""
    first = bands.broad_band()
    bands.broad_band.cache_clear()
    second = bands.broad_band()
    assert first is not second
    assert {first: "light"}[second] == "light"
    assert len({bands.broad_band(), bands.luminous_band()}) == 2
    other = bands.Band(first.name, first.wavelength_nm, 0.5 * first.weight)
    assert first != other
    assert first != "broadband"


def test_a_lux_behind_a_filter_is_the_eye_s_sum_over_the_plate_s():
    """The ratio of two sums over daylight, taken here nanometre by nanometre."""
    red = ((400.0, 600.0, 660.0, 700.0, 760.0), (0.0, 0.0, 0.8, 0.9, 0.9))
    nm = np.arange(440.0, 761.0)
    shines = bands.spectrum_at(nm, bands.daylight())
    eye, plate = bands.luminous_band(), bands.development_band(red)
    seen = np.interp(nm, eye.wavelength_nm, eye.weight) * np.interp(nm, *red) * shines
    makes = np.interp(nm, plate.wavelength_nm, plate.weight) * shines
    assert bands.lux_per_watt(red, None) == pytest.approx(seen.sum() / makes.sum(), rel=0.01)


def test_a_band_in_daylight_passes_the_light_s_own_share():
    """Half the band let through weighs by daylight there, taken here nanometre by nanometre."""
    band = bands.luminous_band()
    high = ((380.0, 549.0, 561.0, 780.0), (0.0, 0.0, 1.0, 1.0))
    nm = np.arange(band.wavelength_nm[0], band.wavelength_nm[-1] + 0.5)
    light = np.interp(nm, band.wavelength_nm, band.weight) * bands.spectrum_at(nm, bands.daylight())
    passed = (light * np.interp(nm, *high)).sum() / light.sum()
    assert bands.daylight_share(band, high) == pytest.approx(passed, rel=0.005)


@pytest.mark.parametrize("widths", [-6.0, -1.0, 0.0, 1.0, 3.0])
def test_edges_of_plate_and_filter_are_logistic_curves_of_their_stated_width(widths):
    """1 / (1 + e^x): 73 % one width inside, 27 % one width outside."""
    inside = 1.0 / (1.0 + np.exp(widths))
    edge, width = (trade.value("light", f"silver_iodide_edge{x}") for x in ("", "_width"))
    assert bands.plate_response(np.array([edge + widths * width])) == pytest.approx(inside)
    through = bands.filter_passes(
        np.array([600.0 - widths * trade.value("light", "filter_edge_width")]), 600.0, 0.8
    )
    assert through == pytest.approx(0.8 * inside)
    red = bands.development_band(480.0, 1.0)
    end, fade = (trade.value("light", f"development_end{x}") for x in ("", "_width"))
    weight = np.interp(end + widths * fade, red.wavelength_nm, red.weight)
    assert weight == pytest.approx(inside, abs=2e-3)


def test_a_lens_of_glass_lets_in_from_its_cut_to_the_full():
    start, full = (trade.value("light", f"lens_cut_{x}") for x in ("start", "full"))
    plate = bands.exposure_band(0.8)
    for share in (0.0, 0.25, 0.5, 1.0):
        at = start + share * (full - start)
        bare = float(bands.plate_response(np.array([at]))[0])
        found = np.interp(at, plate.wavelength_nm, plate.weight)
        assert found == pytest.approx(0.8 * share * bare, abs=0.01)
    assert plate.wavelength_nm[-1] == 480.0
    with pytest.raises(BadInput, match="lens transmission"):
        bands.exposure_band(1.0001)


def test_weights_hold_at_both_ends_and_for_a_band_told_unevenly():
    """The trapezoid rule on the band's own wavelengths, within the first cell of the grid too."""
    grid = np.array([300.0, 310.0, 355.0, 400.0, 500.0])
    nm, weight = np.array([301.0, 303.0, 308.0, 330.0, 360.0, 490.0]), np.array([2, 1, 3, 1, 2, 4])
    band = bands.Band("box", nm, weight.astype(float))
    for spectrum in (np.eye(5)[0], np.eye(5)[2], 3.0 + 0.02 * grid):
        there = np.interp(nm, grid, spectrum) * weight
        exact = np.sum(np.diff(nm) * (there[1:] + there[:-1]) / 2.0)
        assert spectrum @ bands.band_weights(band, grid) == pytest.approx(exact, rel=1e-12)
