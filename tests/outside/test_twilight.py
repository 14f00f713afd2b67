"""Daylight near the horizon and at dusk, on level ground under a clear sky.

Sources: Glossary of Meteorology (American Meteorological Society), "civil twilight": 585 to 410 lx
when the sun sets (its middle 50' below the horizon before refraction), 3.5 to 2 lx when its middle
is 6 degrees below; "nautical twilight": 0.008 lx at 12 degrees. P. K. Seidelmann (ed.), Explanatory
Supplement to the Astronomical Almanac, 1992: 4.5 klx at 5 degrees. ASTM G173-03 for the red sky.
"""

from importlib import util
from pathlib import Path

import numpy as np
import pytest
from tests.series import light_series

from argentry.physics.lights import bands, sky
from argentry.physics.lights.light import light_bands, light_under
from argentry.physics.lights.sun import SunPath, refraction_deg

AIR = sky.Atmosphere()


def lux_on(plane, true_height, **shares):
    """Return a lux meter's reading with the sun at heights before refraction."""
    true = np.atleast_1d(np.asarray(true_height, dtype=float))
    path = SunPath(true + refraction_deg(true), np.full(true.shape, 180.0), np.ones(true.shape))
    bands = light_bands()
    clear = sky.clear_skies(path.elevation_deg, path.distance_factor, bands, AIR)
    times = np.zeros(true.shape, dtype="datetime64[m]")
    return light_under(
        times, path, clear, bands, albedo=AIR.albedo, exposure_plane=plane, **shares
    ).illuminance_lux


@pytest.mark.parametrize(
    ("height", "low", "high"),
    [(-50 / 60, 410, 585), (-6.0, 2.0, 4.0), (-11.9, 0.005, 0.012), (5.0, 4000, 5500)],
)
def test_level_daylight_is_the_published(height, low, high):
    assert low < lux_on("horizontal", height)[0] < high


def test_a_plane_towards_the_sun_has_no_jump_at_the_horizon():
    """Before, its light rose from nothing to 155 lx within one step of the sun's middle."""
    minutes = np.datetime64("2026-03-20T05:30", "m") + np.arange(90) * np.timedelta64(1, "m")
    series = light_series(
        minutes, latitude_deg=50.0, longitude_deg=8.0, elevation_m=0.0, atmosphere=AIR
    )
    lux = series.illuminance_lux
    rising = np.diff(lux)
    assert (rising > 0.0).all()
    # each minute of the dawn adds no more than a third of what there is already
    assert (rising[lux[:-1] > 1.0] < 0.45 * lux[:-1][lux[:-1] > 1.0]).all()


def test_an_overcast_wall_does_not_see_a_free_sun():
    """Under a broken sky its light is what cloud and sky scatter, with or without the beam."""
    one = np.ones(1)
    free = lux_on("overcast", 40.0, beam_share=0.9 * one, global_share=one)
    bands = light_bands()
    height = np.array([40.0]) + refraction_deg(np.array([40.0]))
    clear = sky.clear_sky(height, one, bands[3], AIR)
    level = clear.beam_normal_w_m2 * np.sin(np.radians(height)) + clear.diffuse_horizontal_w_m2
    scattered = level - 0.9 * clear.beam_normal_w_m2 * np.sin(np.radians(height))
    assert free == pytest.approx((0.396 + 0.1) * scattered)
    assert free < 0.35 * (0.396 + 0.1) * level


@pytest.fixture(scope="module")
def around_sun():
    path = Path(__file__).resolve().parents[2] / "builders/sky_around_sun.py"
    spec = util.spec_from_file_location("sky_around_sun", path)
    module = util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_facts_are_what_the_builder_derives(around_sun):
    from argentry import trade

    for key, value in around_sun.expected().items():
        assert trade.value("light", key) == value


@pytest.mark.parametrize("band", [bands.development_band(590.0), bands.luminous_band()])
def test_the_sky_on_the_standards_tilt(around_sun, band):
    """Before, the red sky's light there was 25 % low and that of a lux meter 9 %."""
    assert around_sun.on_the_tilt(band) == pytest.approx(around_sun.standard(band), rel=0.01)
