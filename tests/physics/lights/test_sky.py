import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights import bands, sky

ONE = np.ones(1)


def light(band, elevation, **air):
    return sky.clear_sky(np.array([elevation]), ONE, band, sky.Atmosphere(**air))


def test_no_beam_once_the_disc_is_down_and_no_light_at_night():
    down = sky.clear_sky(
        np.array([-20.0, -12.0, -0.31]), np.ones(3), bands.broad_band(), sky.Atmosphere()
    )
    assert not down.beam_normal_w_m2.any()
    assert not down.diffuse_horizontal_w_m2[:2].any()


def test_light_at_dusk_has_no_jump():
    """A minute of sunset moves the sun a quarter of a degree or less; light follows evenly."""
    height = np.arange(-12.0, 10.0, 0.02)
    for band in (bands.exposure_band(), bands.development_band(590.0), bands.luminous_band()):
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
    assert light(bands.exposure_band(), 90.0).beam_normal_w_m2[0] > 0.0


@given(low=st.floats(0.5, 89.0), more=st.floats(0.05, 20.0))
@settings(max_examples=60)
def test_a_higher_sun_gives_more_beam(low, more):
    high = min(low + more, 90.0)
    for band in (bands.exposure_band(), bands.development_band(590.0)):
        assert light(band, high).beam_normal_w_m2[0] > light(band, low).beam_normal_w_m2[0]


@given(aod=st.floats(0.0, 1.0), elevation=st.floats(5.0, 85.0))
@settings(max_examples=30)
def test_more_haze_dims_the_beam(aod, elevation):
    clear = light(bands.exposure_band(), elevation, aod500=0.0).beam_normal_w_m2[0]
    hazy = light(bands.exposure_band(), elevation, aod500=aod).beam_normal_w_m2[0]
    hazier = light(bands.exposure_band(), elevation, aod500=aod + 0.1).beam_normal_w_m2[0]
    assert hazier < hazy <= clear * (1 + 1e-9)


def test_snow_brightens_the_violet_sky_and_leaves_the_beam():
    grass, snow = (light(bands.exposure_band(), 30.0, albedo=a) for a in (0.2, 0.8))
    assert snow.beam_normal_w_m2[0] == grass.beam_normal_w_m2[0]
    assert 1.3 < snow.diffuse_horizontal_w_m2[0] / grass.diffuse_horizontal_w_m2[0] < 1.5


def test_heights_give_more_violet_beam_and_less_sky():
    sea, hill = (
        light(bands.exposure_band(), 30.0),
        light(bands.exposure_band(), 30.0, pressure_pa=7.1e4),
    )
    assert hill.beam_normal_w_m2[0] > 1.2 * sea.beam_normal_w_m2[0]
    assert hill.diffuse_horizontal_w_m2[0] < 0.95 * sea.diffuse_horizontal_w_m2[0]


def test_violet_sky_is_raised_only_where_asked():
    plain = light(bands.exposure_band(violet_correction=False), 40.0)
    raised = light(bands.exposure_band(), 40.0)
    factor = trade.value("light", "violet_diffuse_factor")
    assert raised.beam_normal_w_m2 == pytest.approx(plain.beam_normal_w_m2)
    assert raised.diffuse_horizontal_w_m2 == pytest.approx(factor * plain.diffuse_horizontal_w_m2)


def test_lens_and_filter_transmission_scale_the_light():
    half, full = light(bands.exposure_band(0.45), 40.0), light(bands.exposure_band(0.9), 40.0)
    assert full.beam_normal_w_m2 == pytest.approx(2 * half.beam_normal_w_m2)
    deep, pale = (
        light(bands.development_band(640.0), 40.0),
        light(bands.development_band(590.0), 40.0),
    )
    assert deep.beam_normal_w_m2[0] < 0.65 * pale.beam_normal_w_m2[0]


def test_bands_fade_where_they_should():
    plate = bands.exposure_band()
    at = dict(zip(plate.wavelength_nm, plate.weight, strict=True))
    assert at[340.0] == 0.0
    assert at[430.0] == pytest.approx(0.45)  # half response times 0.9
    assert at[450.0] < 1e-3
    red = bands.development_band(590.0, 0.9)
    at = dict(zip(red.wavelength_nm, red.weight, strict=True))
    assert at[590.0] == pytest.approx(0.45)
    assert at[700.0] == pytest.approx(0.45)
    assert at[560.0] < 1e-4


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


def test_interpolation_passes_through_its_nodes_and_is_exact_for_polynomials():
    count = 6  # Chebyshev points of the first kind, rising
    nodes = np.cos((2 * np.arange(count)[::-1] + 1) * np.pi / (2 * count))
    assert sky._lagrange(nodes, nodes) == pytest.approx(np.eye(count), abs=1e-12)
    at = np.append(np.linspace(-1.0, 1.0, 9), nodes[2])
    values = nodes**5 - 2.0 * nodes**2
    assert sky._lagrange(nodes, at) @ values == pytest.approx(at**5 - 2.0 * at**2, abs=1e-12)


def test_twilight_joins_the_day_where_it_is_told_to():
    assert sky._twilight()[-1] == 1.0


def test_every_whole_degree_stands_on_the_fine_grid_of_heights():
    fine, _ = sky._heights()
    degrees = np.arange(-12.0, 91.0)
    nearest = fine[np.abs(fine[:, None] - degrees).argmin(axis=0)]
    assert nearest == pytest.approx(degrees, abs=1e-9)
    assert len(fine) == 25 * 102 + 1
