import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics import sky

ONE = np.ones(1)


def light(band, elevation, **air):
    return sky.clear_sky(np.array([elevation]), ONE, band, sky.Atmosphere(**air))


def test_no_beam_once_the_disc_is_down_and_no_light_at_night():
    down = sky.clear_sky(
        np.array([-20.0, -12.0, -0.31]), np.ones(3), sky.broad_band(), sky.Atmosphere()
    )
    assert not down.beam_normal_w_m2.any()
    assert not down.diffuse_horizontal_w_m2[:2].any()


def test_light_at_dusk_has_no_jump():
    """A minute of sunset moves the sun a quarter of a degree or less; light follows evenly."""
    height = np.arange(-12.0, 10.0, 0.02)
    for band in (sky.exposure_band(), sky.development_band(590.0), sky.luminous_band()):
        found = sky.clear_sky(height, np.ones_like(height), band, sky.Atmosphere())
        most = found.diffuse_horizontal_w_m2.max()
        assert (np.diff(found.diffuse_horizontal_w_m2) >= 0.0).all()
        assert np.diff(found.diffuse_horizontal_w_m2).max() < 0.01 * most
        assert found.diffuse_horizontal_w_m2[0] < 1e-5 * most
        assert (np.diff(found.beam_normal_w_m2) >= 0.0).all()
        assert np.diff(found.beam_normal_w_m2).max() < 0.01 * found.beam_normal_w_m2.max()


def test_half_the_disc_stands_over_the_horizon_when_its_middle_is_at_it():
    radius = trade.value("light", "sun_radius")
    assert sky.disc_in_sight(np.array([-radius, 0.0, radius, 9.0])) == pytest.approx([0, 0.5, 1, 1])
    # a segment of a circle half a radius from its middle: 1/3 - sqrt(3)/(4 pi)
    assert sky.disc_in_sight(np.array([-radius / 2]))[0] == pytest.approx(0.1955, abs=1e-4)


def test_the_sun_straight_overhead_is_within_the_table():
    assert light(sky.exposure_band(), 90.0).beam_normal_w_m2[0] > 0.0


@given(low=st.floats(0.5, 89.0), more=st.floats(0.05, 20.0))
@settings(max_examples=60)
def test_a_higher_sun_gives_more_beam(low, more):
    high = min(low + more, 90.0)
    for band in (sky.exposure_band(), sky.development_band(590.0)):
        assert light(band, high).beam_normal_w_m2[0] > light(band, low).beam_normal_w_m2[0]


@given(aod=st.floats(0.0, 1.0), elevation=st.floats(5.0, 85.0))
@settings(max_examples=30)
def test_more_haze_dims_the_beam(aod, elevation):
    clear = light(sky.exposure_band(), elevation, aod500=0.0).beam_normal_w_m2[0]
    hazy = light(sky.exposure_band(), elevation, aod500=aod).beam_normal_w_m2[0]
    hazier = light(sky.exposure_band(), elevation, aod500=aod + 0.1).beam_normal_w_m2[0]
    assert hazier < hazy <= clear * (1 + 1e-9)


def test_snow_brightens_the_violet_sky_and_leaves_the_beam():
    grass, snow = (light(sky.exposure_band(), 30.0, albedo=a) for a in (0.2, 0.8))
    assert snow.beam_normal_w_m2[0] == grass.beam_normal_w_m2[0]
    assert 1.3 < snow.diffuse_horizontal_w_m2[0] / grass.diffuse_horizontal_w_m2[0] < 1.5


def test_heights_give_more_violet_beam_and_less_sky():
    sea, hill = (
        light(sky.exposure_band(), 30.0),
        light(sky.exposure_band(), 30.0, pressure_pa=7.1e4),
    )
    assert hill.beam_normal_w_m2[0] > 1.2 * sea.beam_normal_w_m2[0]
    assert hill.diffuse_horizontal_w_m2[0] < 0.95 * sea.diffuse_horizontal_w_m2[0]


def test_violet_sky_is_raised_only_where_asked():
    plain = light(sky.exposure_band(violet_correction=False), 40.0)
    raised = light(sky.exposure_band(), 40.0)
    factor = trade.value("light", "violet_diffuse_factor")
    assert raised.beam_normal_w_m2 == pytest.approx(plain.beam_normal_w_m2)
    assert raised.diffuse_horizontal_w_m2 == pytest.approx(factor * plain.diffuse_horizontal_w_m2)


def test_lens_and_filter_transmission_scale_the_light():
    half, full = light(sky.exposure_band(0.45), 40.0), light(sky.exposure_band(0.9), 40.0)
    assert full.beam_normal_w_m2 == pytest.approx(2 * half.beam_normal_w_m2)
    deep, pale = light(sky.development_band(640.0), 40.0), light(sky.development_band(590.0), 40.0)
    assert deep.beam_normal_w_m2[0] < 0.65 * pale.beam_normal_w_m2[0]


def test_bands_fade_where_they_should():
    plate = sky.exposure_band()
    at = dict(zip(plate.wavelength_nm, plate.weight, strict=True))
    assert at[340.0] == 0.0
    assert at[430.0] == pytest.approx(0.45)  # half response times 0.9
    assert at[450.0] < 1e-3
    red = sky.development_band(590.0, 0.9)
    at = dict(zip(red.wavelength_nm, red.weight, strict=True))
    assert at[590.0] == pytest.approx(0.45)
    assert at[700.0] == pytest.approx(0.45)
    assert at[560.0] < 1e-4


def test_weights_integrate_a_straight_spectrum_exactly():
    grid = np.array([300.0, 310.0, 355.0, 400.0, 500.0])
    band = sky.Band("box", np.arange(320.0, 451.0), np.ones(131))
    straight = 3.0 + 0.02 * grid
    exact = 3.0 * 130 + 0.01 * (450.0**2 - 320.0**2)
    assert straight @ sky.band_weights(band, grid) == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize(
    "air",
    [
        {"aod500": -0.1},
        {"aod500": 2.0},
        {"aod500": float("nan")},
        {"albedo": 1.5},
        {"pressure_pa": 1013.25},
    ],
)
def test_impossible_air_is_refused(air):
    with pytest.raises(BadInput, match="out of range"):
        sky.Atmosphere(**air)


@pytest.mark.parametrize("cut_on", [300.0, 800.0, float("nan")])
def test_impossible_filters_are_refused(cut_on):
    with pytest.raises(BadInput, match="out of range"):
        sky.development_band(cut_on)


def test_interpolation_passes_through_its_nodes_and_is_exact_for_polynomials():
    count = 6  # Chebyshev points of the first kind, rising
    nodes = np.cos((2 * np.arange(count)[::-1] + 1) * np.pi / (2 * count))
    assert sky._lagrange(nodes, nodes) == pytest.approx(np.eye(count), abs=1e-12)
    at = np.append(np.linspace(-1.0, 1.0, 9), nodes[2])
    values = nodes**5 - 2.0 * nodes**2
    assert sky._lagrange(nodes, at) @ values == pytest.approx(at**5 - 2.0 * at**2, abs=1e-12)


def test_same_band_for_same_arguments():
    assert sky.exposure_band(0.8) is sky.exposure_band(0.8)


def test_two_threads_that_first_ask_for_a_band_mean_the_same_one():
    """Each is handed its own where both miss the cache: a sky made for one serves the other."""
    first = sky.broad_band()
    sky.broad_band.cache_clear()
    second = sky.broad_band()
    assert first is not second
    assert {first: "light"}[second] == "light"
    assert len({sky.broad_band(), sky.luminous_band()}) == 2
    other = sky.Band(first.name, first.wavelength_nm, 0.5 * first.weight)
    assert first != other
    assert first != "broadband"


def test_twilight_joins_the_day_where_it_is_told_to():
    assert sky._twilight()[-1] == 1.0


def test_a_lux_behind_a_filter_is_the_eye_s_sum_over_the_plate_s():
    """The ratio of two sums over daylight, taken here nanometre by nanometre."""
    red = ((400.0, 600.0, 660.0, 700.0, 760.0), (0.0, 0.0, 0.8, 0.9, 0.9))
    nm = np.arange(440.0, 761.0)
    shines = sky.spectrum_at(nm, sky.daylight())
    eye, plate = sky.luminous_band(), sky.development_band(red)
    seen = np.interp(nm, eye.wavelength_nm, eye.weight) * np.interp(nm, *red) * shines
    makes = np.interp(nm, plate.wavelength_nm, plate.weight) * shines
    assert sky.lux_per_watt(red, None) == pytest.approx(seen.sum() / makes.sum(), rel=0.01)


def test_a_band_in_daylight_passes_the_light_s_own_share():
    """Half the band let through weighs by daylight there, taken here nanometre by nanometre."""
    band = sky.luminous_band()
    high = ((380.0, 549.0, 561.0, 780.0), (0.0, 0.0, 1.0, 1.0))
    nm = np.arange(band.wavelength_nm[0], band.wavelength_nm[-1] + 0.5)
    light = np.interp(nm, band.wavelength_nm, band.weight) * sky.spectrum_at(nm, sky.daylight())
    passed = (light * np.interp(nm, *high)).sum() / light.sum()
    assert sky.daylight_share(band, high) == pytest.approx(passed, rel=0.005)


@pytest.mark.parametrize("widths", [-6.0, -1.0, 0.0, 1.0, 3.0])
def test_edges_of_plate_and_filter_are_logistic_curves_of_their_stated_width(widths):
    """1 / (1 + e^x): 73 % one width inside, 27 % one width outside."""
    inside = 1.0 / (1.0 + np.exp(widths))
    edge, width = (trade.value("light", f"silver_iodide_edge{x}") for x in ("", "_width"))
    assert sky.plate_response(np.array([edge + widths * width])) == pytest.approx(inside)
    through = sky.filter_passes(
        np.array([600.0 - widths * trade.value("light", "filter_edge_width")]), 600.0, 0.8
    )
    assert through == pytest.approx(0.8 * inside)
    red = sky.development_band(480.0, 1.0)
    end, fade = (trade.value("light", f"development_end{x}") for x in ("", "_width"))
    weight = np.interp(end + widths * fade, red.wavelength_nm, red.weight)
    assert weight == pytest.approx(inside, abs=2e-3)


def test_a_lens_of_glass_lets_in_from_its_cut_to_the_full():
    start, full = (trade.value("light", f"lens_cut_{x}") for x in ("start", "full"))
    plate = sky.exposure_band(0.8)
    for share in (0.0, 0.25, 0.5, 1.0):
        at = start + share * (full - start)
        bare = float(sky.plate_response(np.array([at]))[0])
        found = np.interp(at, plate.wavelength_nm, plate.weight)
        assert found == pytest.approx(0.8 * share * bare, abs=0.01)
    assert plate.wavelength_nm[-1] == 480.0
    with pytest.raises(BadInput, match="lens transmission"):
        sky.exposure_band(1.0001)


def test_weights_hold_at_both_ends_and_for_a_band_told_unevenly():
    """The trapezoid rule on the band's own wavelengths, within the first cell of the grid too."""
    grid = np.array([300.0, 310.0, 355.0, 400.0, 500.0])
    nm, weight = np.array([301.0, 303.0, 308.0, 330.0, 360.0, 490.0]), np.array([2, 1, 3, 1, 2, 4])
    band = sky.Band("box", nm, weight.astype(float))
    for spectrum in (np.eye(5)[0], np.eye(5)[2], 3.0 + 0.02 * grid):
        there = np.interp(nm, grid, spectrum) * weight
        exact = np.sum(np.diff(nm) * (there[1:] + there[:-1]) / 2.0)
        assert spectrum @ sky.band_weights(band, grid) == pytest.approx(exact, rel=1e-12)


def test_every_whole_degree_stands_on_the_fine_grid_of_heights():
    fine, _ = sky._heights()
    degrees = np.arange(-12.0, 91.0)
    nearest = fine[np.abs(fine[:, None] - degrees).argmin(axis=0)]
    assert nearest == pytest.approx(degrees, abs=1e-9)
    assert len(fine) == 25 * 102 + 1
