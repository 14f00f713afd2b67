"""Which hours a weather file covers."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.keeping.weather import read_weather
from argentry.records.weather import Weather
from argentry.sky.weather.cover import clock_doubt, interval_at, need_cover

ROOT = Path(__file__).parents[3]


EXAMPLES = ROOT / "examples"


ORRAGA = (42.0, -1.0)


def weather(start, count, step_s=3600, kind="forecast"):
    starts = np.datetime64(start, "s") + np.arange(count) * np.timedelta64(step_s, "s")
    rows = np.arange(count, dtype=float)
    return Weather(starts, float(step_s), *[rows] * 8, kind=kind, source="sky.csv (CSV)")


@pytest.fixture(scope="module")
def forecast():
    return read_weather(EXAMPLES / "forecast.csv")


def test_samples_are_marked_invented_and_fit_their_place(forecast):
    for name in ("forecast.csv", "forecast.json", "other-columns.toml"):
        assert "invented" in (EXAMPLES / name).read_text(encoding="utf-8").lower()
    assert clock_doubt(forecast, *ORRAGA) == ""


@pytest.mark.parametrize("hours", [-2, 2])
def test_a_wrong_clock_is_doubted(forecast, hours):
    moved = replace(forecast, start_utc=forecast.start_utc + np.timedelta64(hours, "h"))
    assert "when the sun is down here" in clock_doubt(moved, *ORRAGA)


def test_no_irradiance_no_doubt():
    dark = weather("2026-06-21T00:00", 24)
    nothing = np.full(24, np.nan)
    assert clock_doubt(replace(dark, ghi_w_m2=nothing, dni_w_m2=nothing), *ORRAGA) == ""


def test_interval_at_edges():
    day = weather("2026-06-21T06:00", 3)
    times = np.array(
        ["2026-06-21T05:59:59", "2026-06-21T06:00", "2026-06-21T08:59:59", "2026-06-21T09:00"],
        dtype="datetime64[s]",
    )
    np.testing.assert_array_equal(interval_at(day, times), [-1, 0, 2, -1])
    gap = replace(day, start_utc=day.start_utc + np.array([0, 0, 7200], dtype="timedelta64[s]"))
    assert interval_at(gap, np.array(["2026-06-21T08:30"], dtype="datetime64[s]"))[0] == -1


@pytest.mark.parametrize("zone", [-9, 0, 5])
def test_typical_year_by_month_day_and_hour(zone):
    start = np.datetime64("2001-01-01T00:00") - np.timedelta64(zone, "h")
    year = weather(start, 8760, kind="typical year")
    for date, row in (
        ("2026-01-01T00:30", 0),
        ("2026-12-31T23:30", 8759),
        ("2028-02-28T12:00", 58 * 24 + 12),
        ("2028-03-01T00:00", 59 * 24),
        ("2028-12-31T23:00", 8759),
    ):
        utc = np.datetime64(date) - np.timedelta64(zone, "h")
        assert interval_at(year, np.array([utc]))[0] == row, date


def test_leap_day_of_a_typical_year_takes_the_day_before():
    year = weather("2001-01-01T00:00", 8760, kind="typical year")
    leap = interval_at(year, np.array(["2028-02-29T12:00"], dtype="datetime64[s]"))
    assert leap[0] == 58 * 24 + 12


def test_part_of_a_typical_year_says_nothing_of_the_rest():
    june = weather("2001-06-01T00:00", 30 * 24, kind="typical year")
    times = np.array(["2026-06-30T23:30", "2026-07-01T00:30", "2026-05-31T23:30"], "datetime64[s]")
    np.testing.assert_array_equal(interval_at(june, times), [719, -1, -1])


def test_need_cover(forecast):
    inside = np.array(["2026-06-21T10:00"], dtype="datetime64[s]")
    assert need_cover(forecast, inside)[0] == 12
    outside = np.array(["2026-06-21T10:00", "2026-06-25T10:00"], dtype="datetime64[s]")
    with pytest.raises(BadInput, match=r"forecast\.csv .*says nothing about 2026-06-25T10:00 UTC"):
        need_cover(forecast, outside)
