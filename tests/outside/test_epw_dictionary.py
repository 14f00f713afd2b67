"""EPW as its own dictionary has it.

Source: EnergyPlus documentation, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data
Dictionary":
hour 1 is 00:01 to 01:00; radiation is what was received in the minutes before the time shown;
temperature, humidity and cloud are readings at the time indicated; values at or above 9999
(radiation), 99.9 (dry bulb), 999 (humidity), 99 (sky cover) are missing; sky cover is in tenths.
"""

from __future__ import annotations

import numpy as np
import pytest

from argentry.keeping.weather import read_weather

# year, month, day, hour, minute, flags, dry bulb, dew point, humidity, pressure, ETR, ETRN,
# infrared, global, direct, diffuse, 3 illuminances, zenith luminance, wind direction and speed,
# total and opaque sky cover, visibility, ceiling, 2 present weather, water, aerosol, snow, days,
# albedo, 2 rain
ROWS = """\
2001,6,21,12,60,f,20.0,9.0,40,98000,1200,1325,300,800,700,150,0,0,0,0,90,1,4,4,9,9,9,9,9,.1,0,0,0,0,0
2001,6,21,13,60,f,22.0,9.0,44,98000,1250,1325,300,820,710,155,0,0,0,0,90,1,6,6,9,9,9,9,9,.1,0,0,0,0,0
2001,6,21,14,60,f,99.9,9,999,98000,0,0,300,9999,9999,9999,0,0,0,0,9,1,99,9,9,9,9,9,9,0,0,0,0,0,0
"""
HEAD = "LOCATION,Orraga,-,INV,INVENTED,999999,42.0,-1.0,1.0,350.0\n" + "X,0\n" * 6
HEAD += "DATA PERIODS,1,1,Data,Sunday,6/21,6/21\n"


@pytest.fixture
def june(tmp_path):
    path = tmp_path / "orraga.epw"
    path.write_text(HEAD + ROWS, encoding="utf-8")
    return read_weather(path)


def test_hour_12_is_11_to_12_standard_time(june):
    assert [str(moment) for moment in june.start_utc] == [
        "2001-06-21T10:00:00",
        "2001-06-21T11:00:00",
        "2001-06-21T12:00:00",
    ]


def test_columns_are_where_the_dictionary_has_them(june):
    np.testing.assert_equal(june.ghi_w_m2, [800, 820, np.nan])
    np.testing.assert_equal(june.dni_w_m2, [700, 710, np.nan])
    np.testing.assert_equal(june.dhi_w_m2, [150, 155, np.nan])


def test_readings_at_the_end_of_the_hour_become_the_mean_of_its_ends(june):
    np.testing.assert_allclose(june.temperature_c, [20, 21, 22])
    np.testing.assert_allclose(june.cloud_share, [0.4, 0.5, 0.6])
    np.testing.assert_allclose(june.relative_humidity_pct, [40, 42, 44])
