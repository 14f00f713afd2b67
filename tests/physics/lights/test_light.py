import numpy as np
import pytest
from tests.series import light_series

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights import light
from argentry.physics.lights.sky import Atmosphere, SkyLight, clear_skies
from argentry.physics.lights.sun import sun_path

PLACE = {"latitude_deg": 50.0, "longitude_deg": 8.0, "elevation_m": 100.0}
DAY = np.datetime64("2026-06-21T00:00", "m") + np.arange(0, 1440, 30) * np.timedelta64(1, "m")
SKY = SkyLight(np.array([100.0]), np.array([20.0]))
HEIGHT = np.array([30.0])


def plane(name, **more):
    return light.on_plane(SKY, HEIGHT, name, albedo=0.2, **more)[0]


def test_planes_follow_their_formulas():
    level = 100 * 0.5 + 20
    assert plane("horizontal") == pytest.approx(level)
    assert plane("sun") == pytest.approx(100 + 0.75 * 20 + 0.25 * 0.2 * level)
    assert plane("shade") == pytest.approx(10 + 0.1 * level)
    assert plane("overcast") == pytest.approx((0.396 + 0.1) * 20)  # no sun, however free
    pane, view = trade.value("light", "window_pane_violet"), trade.value("light", "window_view")
    assert plane("window") == pytest.approx(pane * view * 20)


def test_a_hidden_sun_leaves_the_sky():
    assert plane("horizontal", sun_visible=False) == pytest.approx(20.0)
    assert plane("horizontal", sun_visible=False, view=0.5) == pytest.approx(10.0)


def test_unknown_plane_is_refused():
    with pytest.raises(BadInput, match="is not a plane; use one of sun"):
        plane("moon")


def test_full_shares_are_a_clear_sky():
    clear = light_series(DAY, **PLACE, atmosphere=Atmosphere())
    ones = np.ones(DAY.shape)
    same = light_series(DAY, **PLACE, atmosphere=Atmosphere(), beam_share=ones, global_share=ones)
    for name in ("exposure_w_m2", "development_w_m2", "ghi_w_m2", "illuminance_lux"):
        assert getattr(same, name) == pytest.approx(getattr(clear, name), rel=1e-9)


def test_an_ensemble_of_skies_keeps_its_rows():
    rng = np.random.default_rng(7)
    beam, level = rng.uniform(0, 1, (5, DAY.size)), rng.uniform(0.2, 1.1, (5, DAY.size))
    many = light_series(DAY, **PLACE, atmosphere=Atmosphere(), beam_share=beam, global_share=level)
    third = light_series(
        DAY, **PLACE, atmosphere=Atmosphere(), beam_share=beam[2], global_share=level[2]
    )
    assert many.exposure_w_m2.shape == (5, DAY.size)
    assert many.exposure_w_m2[2] == pytest.approx(third.exposure_w_m2)
    assert many.development_w_m2[2] == pytest.approx(third.development_w_m2)


def test_under_an_overcast_sky_no_sun_reaches_the_frame():
    air = {"atmosphere": Atmosphere(), "exposure_plane": "overcast", "development_plane": "sun"}
    dull = light_series(DAY, **PLACE, **air)
    level = np.full(DAY.shape, trade.value("light", "overcast_global_share"))
    given = {"beam_share": np.zeros(DAY.shape), "global_share": level}
    same = light_series(DAY, **PLACE, **air, **given)
    for name in ("exposure_w_m2", "development_w_m2", "ghi_w_m2"):
        assert getattr(dull, name) == pytest.approx(getattr(same, name), rel=1e-9)


def test_cloud_takes_less_violet_than_red():
    at_noon = np.array(["2026-06-21T11:30"], dtype="datetime64[m]")
    clear = light_series(at_noon, **PLACE, atmosphere=Atmosphere())
    dull = light_series(
        at_noon,
        **PLACE,
        atmosphere=Atmosphere(),
        exposure_plane="overcast",
        development_plane="overcast",
    )
    violet = dull.exposure_w_m2[0] / clear.exposure_w_m2[0]
    red = dull.development_w_m2[0] / clear.development_w_m2[0]
    assert red < violet < 0.3


def test_the_floor_of_diffuse_light_holds():
    dark = light.clouded(SKY, HEIGHT, 0.0, 0.0, violet=True)
    assert dark.beam_normal_w_m2[0] == 0.0
    assert dark.diffuse_horizontal_w_m2[0] == pytest.approx(2.0)


@pytest.mark.parametrize("height", [0.0, -2.0])
def test_at_the_horizon_the_beam_adds_nothing_to_level_ground(height):
    dim = light.clouded(SKY, np.array([height]), 0.0, 0.5, violet=False)
    assert dim.diffuse_horizontal_w_m2[0] == pytest.approx(0.5 * 20.0)


def test_cloud_exponent_is_held_beyond_its_ends():
    assert light.cloud_exponent(np.array([5.0, 15.0, 22.5, 30.0, 80.0])) == pytest.approx(
        [0.80, 0.80, 0.83, 0.86, 0.92]
    )


def test_a_skyline_takes_the_beam_and_part_of_the_sky():
    free = light_series(DAY, **PLACE, atmosphere=Atmosphere())
    walled = light_series(DAY, **PLACE, atmosphere=Atmosphere(), horizon=((0.0, 30.0),))
    hidden = (free.elevation_deg > 0) & (free.elevation_deg < 30)
    assert hidden.any()
    assert (walled.development_w_m2[hidden] < 0.25 * free.development_w_m2[hidden]).all()
    seen = free.elevation_deg > 30
    assert (walled.development_w_m2[seen] > 0.9 * free.development_w_m2[seen]).all()


def test_half_a_sky_is_refused():
    with pytest.raises(BadInput, match="only one of beam and global share"):
        light_series(DAY, **PLACE, atmosphere=Atmosphere(), beam_share=np.ones(DAY.shape))


def test_night_is_dark_everywhere():
    night = np.array(["2026-12-21T23:00"], dtype="datetime64[m]")
    for name in light.PLANES:
        series = light_series(night, **PLACE, atmosphere=Atmosphere(), exposure_plane=name)
        assert series.exposure_w_m2[0] == 0.0
        assert series.illuminance_lux[0] == 0.0


def test_development_light_outlasts_exposure_light_in_the_afternoon():
    series = light_series(DAY, **PLACE, atmosphere=Atmosphere())
    low = (series.elevation_deg > 8) & (series.elevation_deg < 12)
    assert low.any()
    exposure = series.exposure_w_m2[low] / series.exposure_w_m2.max()
    development = series.development_w_m2[low] / series.development_w_m2.max()
    assert (development > 2 * exposure).all()


def test_a_sun_half_a_degree_high_lights_a_level_plate():
    """Lambert's cosine law: the beam's share is the sine of its height."""
    beam = SkyLight(np.array([100.0]), np.array([0.0]))
    lit = light.on_plane(beam, np.array([0.5]), "horizontal", albedo=0.2)[0]
    assert lit == pytest.approx(100.0 * np.sin(np.radians(0.5)))


@pytest.mark.parametrize("height", [2.0, 0.4, 0.0])
def test_light_from_round_the_sun_is_stretched_no_more_than_at_one_degree(height):
    """Hay and Davies: what comes from round the sun falls as the beam does; half the sky else."""
    stretch = 1.0 / np.sin(np.radians(max(height, 1.0)))
    found = light.sky_on_tilt(
        np.array([0.3]), np.sin(np.radians([height])), cos_incidence=0.8, cos_tilt=0.5
    )
    assert found[0] == pytest.approx(0.3 * 0.8 * stretch + 0.7 * 0.75, rel=1e-3)


def test_a_plane_that_faces_the_sun_has_the_light_round_it_straight_on():
    round_sun = SkyLight(np.array([100.0]), np.array([20.0]), 0.004)
    found = light.on_plane(round_sun, HEIGHT, "sun", albedo=0.0)[0]
    assert found == pytest.approx(100.0 + 20.0 * (0.4 / 0.5 + 0.6 * 0.75))


@pytest.mark.parametrize("name", ["exposure_plane", "development_plane"])
def test_both_planes_are_looked_at_before_anything_is_computed(name):
    with pytest.raises(BadInput, match="plane"):
        light.light_under(DAY, None, {}, light.light_bands(), albedo=0.2, **{name: "moon"})


@pytest.mark.parametrize("share", [0.2, 0.7])
def test_light_under_cloud_is_the_share_of_it_and_in_the_violet_its_power(share):
    """Level light: 100 x sin 30 + 20 = 70; the violet by 0.86 there, the beam by its own share."""
    for violet, power in ((False, 1.0), (True, 0.86)):
        found = light.clouded(SKY, HEIGHT, 0.1, share, violet=violet)
        assert found.beam_normal_w_m2 == pytest.approx([10.0])
        assert found.diffuse_horizontal_w_m2 == pytest.approx([70.0 * share**power - 5.0])


def test_light_round_the_sun_is_at_most_all_of_the_skys():
    for given in (1.0, 1.7):
        found = light.sky_on_tilt(np.array([given]), np.array([0.5]), cos_incidence=1.0, cos_tilt=0)
        assert found[0] == pytest.approx(2.0)


def test_a_skyline_leaves_its_share_of_an_even_sky():
    """1 - sin^2 of 30 degrees: three quarters of the light on level ground."""
    dull = {"beam_share": np.zeros(DAY.shape), "global_share": np.full(DAY.shape, 0.3)}
    free, walled = (
        light_series(DAY, **PLACE, atmosphere=Atmosphere(), horizon=horizon, **dull)
        for horizon in ((), ((0.0, 30.0),))
    )
    assert walled.ghi_w_m2 == pytest.approx(0.75 * free.ghi_w_m2)


def test_a_window_of_a_known_pane_takes_what_that_pane_takes_and_only_there():
    """A grey pane of a quarter: both lights at the window by it, none in the open."""
    quarter = ((300.0, 800.0), (0.25, 0.25))
    asked = {"latitude_deg": 50.0, "longitude_deg": 8.0, "elevation_m": 100.0}
    planes = {"exposure_plane": "window", "development_plane": "window"}
    path = sun_path(DAY, **asked)
    bands, air = light.light_bands(), Atmosphere()
    clear = clear_skies(path.elevation_deg, path.distance_factor, bands, air)
    usual, grey, free, open_air = (
        light.light_under(DAY, path, clear, bands, albedo=0.2, **more)
        for more in (planes, planes | {"window": quarter}, {}, {"window": quarter})
    )
    for name, pane in (("exposure_w_m2", "violet"), ("development_w_m2", "visible")):
        scale = 0.25 / trade.value("light", f"window_pane_{pane}")
        assert getattr(grey, name) == pytest.approx(scale * getattr(usual, name))
        assert getattr(open_air, name) == pytest.approx(getattr(free, name))
