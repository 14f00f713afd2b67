"""The sun against NREL's solar position algorithm.

Sources: I. Reda and A. Andreas, NREL/TP-560-34302 (2008), worked example of appendix A.5;
sunrise and sunset of Golden, Colorado, from the agency's own calculator as carried by pvlib's
tests; pvlib 0.16 `spa_python` as an independent implementation; Greenwich values by the same.
"""

from datetime import date

import numpy as np
import pytest

from argentry.physics.lights.sun import sun_path, sun_times
from argentry.physics.room.air import pressure_at_elevation_pa


def at(text, latitude, longitude, height=0.0):
    return sun_path(np.array([text], dtype="datetime64[s]"), latitude, longitude, height)


def test_worked_example_of_the_report():
    # 17 October 2003, 12:30:30, seven hours behind UTC: zenith 50.11162, azimuth 194.34024.
    path = at("2003-10-17T19:30:30", 39.742476, -105.1786, 1830.14)
    assert path.elevation_deg[0] == pytest.approx(90 - 50.11162, abs=0.01)
    assert path.azimuth_deg[0] == pytest.approx(194.34024, abs=0.01)


def test_incidence_of_the_worked_example():
    # The same, on a surface tilted 30 degrees and turned 10 degrees east of south: 25.18700.
    path = at("2003-10-17T19:30:30", 39.742476, -105.1786, 1830.14)
    height, direction = np.radians(path.elevation_deg[0]), np.radians(path.azimuth_deg[0])
    tilt, facing = np.radians(30.0), np.radians(170.0)
    cosine = np.sin(height) * np.cos(tilt) + np.cos(height) * np.sin(tilt) * np.cos(
        direction - facing
    )
    assert np.degrees(np.arccos(cosine)) == pytest.approx(25.18700, abs=0.01)


@pytest.mark.parametrize(
    ("day", "rise", "fall"),
    [
        (date(2015, 1, 2), "2015-01-02T14:21:55", "2015-01-02T23:47:43"),
        (date(2015, 8, 2), "2015-08-02T12:00:27", "2015-08-03T02:13:58"),
    ],
)
def test_sunrise_and_sunset_of_golden_colorado(day, rise, fall):
    # The calculator takes 34' of refraction at any height; ours comes from NREL's formula.
    ours = sun_times(day, 39.742, -105.18)
    for found, wanted in zip(ours, (rise, fall), strict=True):
        assert abs(found - np.datetime64(wanted)) < np.timedelta64(45, "s")


@pytest.mark.parametrize(
    ("moment", "elevation", "azimuth"),
    [
        ("2026-06-21T12:00:00", 61.966, 179.113),
        ("2026-12-21T12:00:00", 15.142, 180.460),
        ("2026-03-20T12:00:00", 38.472, 177.626),
    ],
)
def test_greenwich_at_noon(moment, elevation, azimuth):
    path = at(moment, 51.4779, 0.0)
    assert path.elevation_deg[0] == pytest.approx(elevation, abs=0.01)
    assert path.azimuth_deg[0] == pytest.approx(azimuth, abs=0.015)


@pytest.mark.parametrize(
    ("latitude", "longitude", "height"),
    [(0, -78, 2800), (50, 8, 100), (65, 25, 0), (-35, 149, 600)],
)
def test_within_two_hundredths_of_a_degree_from_2000_to_2050(latitude, longitude, height):
    import pandas as pd
    import pvlib

    start = np.datetime64("2000-01-01T00:17", "m")
    times = start + np.arange(0, 51 * 525_960, 1447) * np.timedelta64(1, "m")
    reference = pvlib.solarposition.spa_python(
        pd.DatetimeIndex(times, tz="UTC"),
        latitude,
        longitude,
        height,
        pressure=float(pressure_at_elevation_pa(height)),
        temperature=12,
    )
    path = sun_path(times, latitude, longitude, height)
    up = reference["apparent_elevation"].to_numpy() > 3.0
    assert up.sum() > 6000
    lift = path.elevation_deg - reference["apparent_elevation"].to_numpy()
    turn = (path.azimuth_deg - reference["azimuth"].to_numpy() + 180.0) % 360.0 - 180.0
    assert np.abs(lift[up]).max() < 0.02
    assert np.abs(turn * np.cos(np.radians(path.elevation_deg)))[up].max() < 0.02


def test_distance_factor_is_largest_in_early_january():
    # Earth's orbit: perihelion 0.98329 au near 3 January, aphelion 1.0167 au near 4 July
    # (Astronomical Almanac, recalled).
    january, july = at("2026-01-03T12:00:00", 0, 0), at("2026-07-04T12:00:00", 0, 0)
    assert january.distance_factor[0] == pytest.approx(1 / 0.98329**2, abs=2e-4)
    assert july.distance_factor[0] == pytest.approx(1 / 1.0167**2, abs=2e-4)
