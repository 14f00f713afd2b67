from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from argentry.keeping.weather import read_weather, weather_summary

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
ORRAGA = (42.0, -1.0)


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


def test_summary(forecast):
    summary = weather_summary(forecast, *ORRAGA)
    assert summary.from_utc == "2026-06-20T22:00Z"
    assert summary.to_utc == "2026-06-22T22:00Z"
    assert summary.intervals == 48
    assert "haze" not in summary.known
    assert summary.known["cloud"] == 1
