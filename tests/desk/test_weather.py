from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from argentry.desk.weather import read_weather, weather_summary
from argentry.errors import BadInput
from argentry.records.weather import Weather
from argentry.sky.weather_cover import clock_doubt, interval_at, need_cover

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
ORRAGA = (42.0, -1.0)


def weather(start, count, step_s=3600, kind="forecast"):
    starts = np.datetime64(start, "s") + np.arange(count) * np.timedelta64(step_s, "s")
    rows = np.arange(count, dtype=float)
    return Weather(starts, float(step_s), *[rows] * 8, kind=kind, source="sky.csv (CSV)")


@pytest.fixture(scope="module")
def forecast():
    return read_weather(EXAMPLES / "forecast.csv")


def test_samples_tell_the_same_in_three_forms(forecast):
    as_json = read_weather(EXAMPLES / "forecast.json")
    mapped = read_weather(EXAMPLES / "other-columns.csv")
    for other in (as_json, mapped):
        np.testing.assert_array_equal(other.start_utc, forecast.start_utc)
        assert other.step_s == forecast.step_s == 3600
        np.testing.assert_allclose(other.ghi_w_m2, forecast.ghi_w_m2, atol=0.02)
        np.testing.assert_allclose(other.temperature_c, forecast.temperature_c)
        np.testing.assert_allclose(other.cloud_share, forecast.cloud_share, atol=0.006)
    np.testing.assert_allclose(mapped.sunshine_share, forecast.sunshine_share)
    assert np.isnan(as_json.dni_w_m2).all()
    explicit = read_weather(EXAMPLES / "other-columns.csv", EXAMPLES / "other-columns.toml")
    np.testing.assert_array_equal(explicit.ghi_w_m2, mapped.ghi_w_m2)


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


def test_samples_of_the_docs_are_right(tmp_path):
    page = (ROOT / "docs" / "weather.md").read_text(encoding="utf-8")
    blocks = dict(re.findall(r"```(csv|json|toml)\n(.*?)```", page, flags=re.DOTALL))
    (tmp_path / "a.csv").write_text(blocks["csv"], encoding="utf-8")
    (tmp_path / "b.json").write_text(blocks["json"], encoding="utf-8")
    (tmp_path / "m.toml").write_text(blocks["toml"], encoding="utf-8")
    csv = read_weather(tmp_path / "a.csv")
    assert str(csv.start_utc[0]) == "2026-06-21T10:00:00"
    np.testing.assert_equal(csv.ghi_w_m2, [879, 936, 899, np.nan])
    np.testing.assert_allclose(csv.sunshine_share, [0.6, 0.6, 28 / 60, np.nan])
    as_json = read_weather(tmp_path / "b.json")
    np.testing.assert_allclose(as_json.cloud_share, [0.375, 0.375, 0.5])
    mapped = read_weather(EXAMPLES / "other-columns.csv", tmp_path / "m.toml")
    assert mapped.step_s == 3600


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
    with pytest.raises(BadInput, match=r"forecast\.csv .*says nothing of 2026-06-25T10:00 UTC"):
        need_cover(forecast, outside)


def test_summary(forecast):
    summary = weather_summary(forecast, *ORRAGA)
    assert summary.from_utc == "2026-06-20T22:00Z"
    assert summary.to_utc == "2026-06-22T22:00Z"
    assert summary.intervals == 48
    assert "haze" not in summary.known
    assert summary.known["cloud"] == 1
