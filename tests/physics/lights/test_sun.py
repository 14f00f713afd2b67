from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights import sun


def hours(start, count, minutes=60):
    return np.datetime64(start, "m") + np.arange(count) * np.timedelta64(minutes, "m")


def test_many_times_agree_with_one_by_one():
    times = hours("2026-02-01T00:00", 2000, 7)
    together = sun.sun_path(times, 50.0, 8.0)
    for index in (0, 1, 333, 1999):
        alone = sun.sun_path(times[index : index + 1], 50.0, 8.0)
        assert together.elevation_deg[index] == pytest.approx(alone.elevation_deg[0], abs=3e-4)
        assert together.azimuth_deg[index] == pytest.approx(alone.azimuth_deg[0], abs=3e-3)
        assert together.distance_factor[index] == pytest.approx(alone.distance_factor[0], abs=1e-6)


def test_order_of_times_does_not_matter():
    times = hours("2026-05-01T00:00", 500)
    shuffled = np.random.default_rng(1).permutation(500)
    assert np.allclose(
        sun.sun_path(times, 10.0, 0.0).elevation_deg[shuffled],
        sun.sun_path(times[shuffled], 10.0, 0.0).elevation_deg,
        rtol=0,
        atol=1e-9,
    )


def test_no_times_give_no_sun():
    assert sun.sun_path(np.array([], dtype="datetime64[s]"), 0.0, 0.0).elevation_deg.size == 0


@given(
    latitude=st.floats(-90, 90),
    longitude=st.floats(-180, 180),
    minute=st.integers(0, 50 * 525_600),
)
def test_angles_stay_in_their_ranges(latitude, longitude, minute):
    when = np.datetime64("2000-01-01T00:00", "m") + np.timedelta64(minute, "m")
    path = sun.sun_path(np.array([when]), latitude, longitude)
    assert -90.0 <= path.elevation_deg[0] <= 90.1
    assert 0.0 <= path.azimuth_deg[0] <= 360.0
    assert 0.96 < path.distance_factor[0] < 1.04


@pytest.mark.parametrize(("latitude", "longitude"), [(91, 0), (0, 181), (float("nan"), 0)])
def test_impossible_places_are_refused(latitude, longitude):
    with pytest.raises(BadInput, match="out of range"):
        sun.sun_path(hours("2026-01-01", 1), latitude, longitude)


@pytest.mark.parametrize("count", [2, 3, 4, 5, 60, 400])
def test_few_times_close_together_agree_with_one_by_one(count):
    times = hours("2026-03-20T10:01", count, 1)
    together = sun.sun_path(times, 45.0, 5.0)
    for index in (0, count - 1):
        alone = sun.sun_path(times[index : index + 1], 45.0, 5.0)
        assert together.elevation_deg[index] == pytest.approx(alone.elevation_deg[0], abs=1e-5)
        assert together.azimuth_deg[index] == pytest.approx(alone.azimuth_deg[0], abs=1e-5)


def test_thin_air_lifts_the_sun_less():
    low = np.array([0.0])
    assert sun.refraction_deg(low, 3000.0)[0] < 0.75 * sun.refraction_deg(low)[0]
    assert sun.refraction_deg(np.array([-4.6]))[0] == 0.0


def test_skyline_is_straight_between_points_and_wraps():
    horizon = ((90.0, 10.0), (270.0, 30.0))
    heights = sun.horizon_elevation_deg(np.array([90.0, 180.0, 0.0, 360.0, 300.0]), horizon)
    assert heights == pytest.approx([10.0, 20.0, 20.0, 20.0, 30.0 - 20.0 / 6.0])
    assert sun.horizon_elevation_deg(np.array([12.0]), ()) == pytest.approx([0.0])


def test_sky_view_of_even_skylines():
    # 1 - sin^2 h; figures in the table of even skylines at 10, 20, 30 and 45 degrees.
    for height, share in ((10, 0.970), (20, 0.883), (30, 0.750), (45, 0.500)):
        assert sun.sky_view([(0.0, float(height))]) == pytest.approx(share, abs=6e-4)
    assert sun.sky_view(()) == 1.0


def test_a_hill_delays_sunrise_and_hastens_sunset():
    free = sun.sun_times(date(2026, 3, 20), 45.0, 7.0)
    walled = sun.sun_times(date(2026, 3, 20), 45.0, 7.0, horizon=[(0.0, 15.0)])
    assert walled[0] - free[0] > np.timedelta64(80, "m")
    assert free[1] - walled[1] > np.timedelta64(80, "m")


def test_polar_day_and_night_have_no_sunrise():
    assert sun.sun_times(date(2026, 6, 21), 75.0, 20.0) == (None, None)
    assert sun.sun_times(date(2026, 12, 21), 75.0, 20.0) == (None, None)


def test_sunrise_belongs_to_the_date_at_the_place():
    rise, fall = sun.sun_times(date(2026, 1, 10), -36.85, 174.76)  # far east: yesterday in UTC
    assert rise.astype("datetime64[D]") == np.datetime64("2026-01-09")
    assert fall.astype("datetime64[D]") == np.datetime64("2026-01-10")


def test_the_lift_below_the_horizon_fades_evenly_to_nothing():
    floor, end = sun.REFRACTION_FLOOR_DEG, sun.REFRACTION_ENDS_DEG
    heights = np.array([floor + 1e-9, floor, 0.5 * (floor + end), end + 1e-9, end, end - 1.0])
    lift = sun.refraction_deg(heights)
    assert lift[1] == pytest.approx(lift[0], rel=1e-6)
    assert lift[2] == pytest.approx(0.5 * lift[1])
    assert lift[3:] == pytest.approx([0.0, 0.0, 0.0], abs=1e-6)


def test_a_day_at_a_place_is_24_hours_round_its_own_noon():
    start, end = sun.solar_day(date(2026, 6, 21), 15.0)
    assert (start, end) == (
        np.datetime64("2026-06-20T23:00:00"),
        np.datetime64("2026-06-21T23:00:00"),
    )


@pytest.mark.parametrize("metres", [0.0, 3000.0])
def test_the_lift_is_that_of_the_published_formula_in_thin_air_too(metres):
    """NREL/TP-560-34302, equation 42, at 12 °C; the standard atmosphere holds 70.1 kPa at 3 km."""
    true = np.linspace(-1.49, 90.0, 400)
    pressure = {0.0: 1013.25, 3000.0: 701.09}[metres]
    tangent = np.tan(np.radians(true + 10.3 / (true + 5.11)))
    expected = pressure / 1010.0 * 283.0 / 285.0 * 1.02 / (60.0 * tangent)
    assert sun.refraction_deg(true, metres) == pytest.approx(expected, rel=2e-5, abs=1e-7)


def test_the_tilt_of_the_earth_wanes_as_published():
    """IAU 2006: 23.43928 degrees in 2000, 0.01300 less in a century; the sun's highest."""
    for year, tilt in ((2000, 23.43928), (2050, 23.43278)):
        days = (np.datetime64(f"{year}-06-21T00", "h") - sun.NOON_2000).astype(float) / sun.DAY_MS
        highest = max(float(sun._slow(days + np.array([at]))[0][0]) for at in np.arange(-2, 2, 0.1))
        assert np.degrees(np.arcsin(highest)) == pytest.approx(tilt, abs=1.5e-3)


def test_few_times_are_computed_one_by_one_and_many_between_knots():
    """Twice as many times as knots of six hours are worth the knots."""
    for count, alone in ((9, True), (10, False)):  # a day: five knots
        days = np.linspace(0.0, 1.0, count)
        straight, found = sun._slow(days), sun._slow_at(days)
        assert all((a == b).all() for a, b in zip(straight, found, strict=True)) is alone
        for a, b in zip(straight, found, strict=True):
            assert b == pytest.approx(a, abs=2e-4)


@pytest.mark.parametrize(("latitude", "longitude"), [(50.0, 8.0), (-34.0, 151.2), (5.0, -70.0)])
@pytest.mark.parametrize("horizon", [(), ((90.0, 4.0), (270.0, 9.0))])
def test_first_and_last_sight_are_the_seconds_at_which_the_edge_crosses(
    latitude, longitude, horizon
):
    told = sun.sun_times(date(2026, 10, 3), latitude, longitude, 300.0, horizon)
    for moment, rising in zip(told, (True, False), strict=True):
        around = moment + np.array([-2, 2]) * np.timedelta64(1, "s")
        path = sun.sun_path(around, latitude, longitude, 300.0)
        edge = path.elevation_deg + 0.26667 - sun.horizon_elevation_deg(path.azimuth_deg, horizon)
        assert (edge > 0.0).tolist() == [not rising, rising]


def test_a_sun_whose_edge_only_touches_the_horizon_is_not_seen():
    # the Almanac's edge: its middle 0.2666 degrees below; a hair more and it is seen
    times = np.datetime64("2026-12-21T11:59", "s") + np.arange(3) * np.timedelta64(60, "s")
    radius = trade.value("light", "sun_radius")
    for highest, seen in ((-radius, False), (1e-6 - radius, True)):
        height = np.array([-1.0, highest, -1.0])
        path = sun.SunPath(height, np.full(3, 180.0), np.ones(3))
        told = sun.first_and_last_sight(times, path)
        assert [moment is not None for moment in told] == [seen, seen]


def test_a_sun_that_sets_in_the_last_minute_of_its_day_sets():
    """End of the midnight sun: the edge touches the horizon at 24 h of the place's own day."""
    rise, fall = sun.sun_times(date(2026, 7, 1), 66.0568, 0.0)
    assert rise is None
    assert np.datetime64("2026-07-01T23:59") < fall <= np.datetime64("2026-07-02T00:00")


@pytest.mark.parametrize(
    ("longitude", "seconds"), [(0.0, 0), (15.0, 3600), (-7.5, -1800), (0.003, 1), (0.0015, 0)]
)
def test_the_day_of_a_place_begins_by_its_own_sun(longitude, seconds):
    start, end = sun.solar_day(date(2026, 6, 21), longitude)
    assert (np.datetime64("2026-06-21T00:00:00") - start).astype(int) == seconds
    assert (end - start).astype(int) == 86_400


def test_ground_that_falls_away_takes_nothing_from_the_sky():
    assert sun.sky_view([(0.0, -10.0)]) == 1.0
    assert sun.sky_view([(0.0, -10.0), (180.0, 30.0)]) > sun.sky_view([(0.0, 0.0), (180.0, 30.0)])


@pytest.mark.parametrize("latitude", [0.0, 33.0, 62.0])
def test_at_the_other_side_of_the_earth_the_sun_stands_as_deep_as_here_high(latitude):
    times = hours("2026-08-09T00:13", 24)
    here = sun.sun_path(times, latitude, 10.0).elevation_deg
    there = sun.sun_path(times, -latitude, -170.0)
    high = here > 5.0
    lift = sun.refraction_deg(here[high] - sun.refraction_deg(here[high]))
    assert there.elevation_deg[high] == pytest.approx(lift - here[high], abs=1e-4)


def test_sky_view_of_a_peak_is_its_integral():
    peak = [(355.0, 0.0), (359.0, 80.0), (3.0, 0.0)]
    azimuth = np.arange(0.005, 360.0, 0.01)
    height = np.interp((azimuth - 355.0) % 360.0, [0.0, 4.0, 8.0, 360.0], [0.0, 80.0, 0.0, 0.0])
    shut = np.mean(np.sin(np.radians(height)) ** 2)
    assert sun.sky_view(peak) == pytest.approx(1.0 - shut, abs=1e-4)


def test_a_tower_that_hides_the_sun_at_noon_ends_no_day():
    tower = ((170.0, 0.0), (180.0, 80.0), (190.0, 0.0))
    free = sun.sun_times(date(2026, 3, 20), 45.0, 7.0)
    assert sun.sun_times(date(2026, 3, 20), 45.0, 7.0, horizon=tower) == free
