"""Which hour a TMY3 stamp names, held against the sun itself.

Sources: Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156 (2008): radiation is
what fell in the 60 minutes before the stamp. The two files are those that pvlib carries for its
own examples (Sand Point, Alaska; Greensboro, North Carolina); the sun is pvlib's NREL algorithm
(Reda and Andreas 2004). Each file holds the radiation outside the air (ETR, horizontal; ETRN, to
the sun), which depends on nothing but the hour: so it tells which hour is meant.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from argentry.keeping.weather import read_weather
from argentry.sky.weather.cover import clock_doubt, interval_at

pvlib = pytest.importorskip("pvlib")
FOLDER = Path(pvlib.__file__).parent / "data"
FILES = {"703165TY.csv": (55.317, -160.517), "723170TYA.CSV": (36.1, -79.95)}


@pytest.fixture(scope="module", params=sorted(FILES))
def typical(request):
    import pandas as pd

    raw = pd.read_csv(FOLDER / request.param, skiprows=1)
    return read_weather(FOLDER / request.param), raw, FILES[request.param]


def mean_cosine(start_utc, latitude, longitude):
    """Mean of the cosine of the zenith angle, cut at zero, over each hour (13 moments)."""
    import pandas as pd

    total = 0.0
    for part in (np.arange(13) + 0.5) / 13:
        moments = start_utc + np.timedelta64(round(3600 * part), "s")
        index = pd.DatetimeIndex(moments, tz="UTC")
        zenith = pvlib.solarposition.get_solarposition(index, latitude, longitude)["zenith"]
        total = total + np.maximum(np.cos(np.radians(zenith.to_numpy())), 0.0) / 13
    return total


def test_extraterrestrial_radiation_names_the_hour(typical):
    weather, raw, (latitude, longitude) = typical
    etr, etrn = raw["ETR (W/m^2)"].to_numpy(float), raw["ETRN (W/m^2)"].to_numpy(float)
    # One day a week; hours in which the sun is up all the time. The file's year is not 2001: its
    # declination differs a little.
    rows = np.flatnonzero((etrn > 1300) & (etr > 200) & (np.arange(etr.size) // 24 % 7 == 0))
    assert rows.size > 300
    right = mean_cosine(weather.start_utc[rows], latitude, longitude)
    ratio = etr[rows] / (etrn[rows] * right)
    assert np.abs(np.median(ratio) - 1) < 0.005
    assert np.quantile(np.abs(ratio - 1), 0.95) < 0.02
    for hours in (-1, 1):  # the neighbouring hour must not fit: else the check would prove nothing
        shifted = weather.start_utc[rows] + np.timedelta64(hours, "h")
        wrong = etr[rows] / (etrn[rows] * mean_cosine(shifted, latitude, longitude) + 1e-9)
        assert np.quantile(np.abs(wrong - 1), 0.5) > 0.08


def test_values_are_the_files_own(typical):
    weather, raw, _ = typical
    for field, column in (
        ("ghi_w_m2", "GHI (W/m^2)"),
        ("dni_w_m2", "DNI (W/m^2)"),
        ("dhi_w_m2", "DHI (W/m^2)"),
    ):
        np.testing.assert_array_equal(getattr(weather, field), raw[column])
    assert len(weather.start_utc) == 8760
    assert np.all(np.diff(weather.start_utc) == np.timedelta64(3600, "s"))


def test_an_hour_too_early_or_late_is_doubted_and_the_right_hour_is_not(typical):
    from dataclasses import replace

    weather, _, (latitude, longitude) = typical
    assert clock_doubt(weather, latitude, longitude) == ""
    for hours in (-1, 1):
        moved = replace(weather, start_utc=weather.start_utc + np.timedelta64(hours, "h"))
        assert "check its time zone" in clock_doubt(moved, latitude, longitude)


def test_a_day_of_any_year_finds_its_row(typical):
    weather, raw, _ = typical
    zone = {"-160.517": -9, "-79.95": -5}[str(typical[2][1])]
    local = np.datetime64("2031-03-14T12:30") - np.timedelta64(zone, "h")
    row = raw.loc[interval_at(weather, np.array([local]))[0]]
    assert row["Date (MM/DD/YYYY)"].startswith("03/14")
    assert row["Time (HH:MM)"] == "13:00"
