"""Forecasts of one day side by side."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta

import pytest
from tests.weather_stub import sample

from argentry.desk.forecasts import compare
from argentry.exchange.services import kept
from argentry.keeping.forecast import consent
from argentry.keeping.forecast.outlook import differing, outlook_of
from argentry.keeping.studio import load_studio

NOW = datetime(2026, 6, 20, 12, 20, tzinfo=UTC)
DAY = date(2026, 6, 21)


def put(folder, key, change=lambda data: None):
    """Keep a sample as if it had just come."""
    data = json.loads(sample(key, "clear"))
    change(data)
    hour, body = timedelta(hours=1), json.dumps(data)
    ask = consent.ask_of(load_studio(folder), key, NOW)
    place = (ask.latitude_deg, ask.longitude_deg, ask.elevation_m)
    kept.keep(folder, kept.Kept(key, *place, "", NOW, NOW + hour, "", "", "", body))


@pytest.fixture
def three(folder):
    for key in ("bright-sky", "met-norway", "open-meteo"):
        consent.agree(folder, key, "me@example.org")
        put(folder, key)
    return folder


def test_the_same_clear_day_of_three_services_is_the_same_day(three):
    """Within 10 points, or the sheet says so: here within 10, and it says nothing."""
    found = compare(three, load_studio(three), DAY, NOW)
    *rows, season = found.forecasts
    assert [row.service for row in rows] == ["open-meteo", "met-norway", "bright-sky"]
    assert found.used == "open-meteo"
    shares, odds = (
        [getattr(row, name) for row in rows] for name in ("clear_light_share", "light_odds")
    )
    assert max(shares) - min(shares) <= 0.1
    assert max(odds) - min(odds) <= 0.1
    assert found.said == ()
    assert season.clear_light_share is None
    assert outlook_of(three, load_studio(three), DAY, NOW).said == ()


def test_forecasts_that_differ_are_told_on_the_sheet(three):
    def overcast(data):
        for row in data["properties"]["timeseries"]:
            row["data"]["instant"]["details"]["cloud_area_fraction"] = 100.0

    put(three, "met-norway", overcast)
    (said,) = outlook_of(three, load_studio(three), DAY, NOW).said
    assert said.startswith("The forecasts differ: Open-Meteo, used here, leaves ")
    assert "MET Norway 25 %." in said  # Kasten and Czeplak 1980: 1 - 0.75 under a full cover
    assert compare(three, load_studio(three), DAY, NOW).said == (said,)


def test_a_day_that_one_leaves_open(three):
    found = compare(three, load_studio(three), date(2026, 6, 24), NOW)
    assert {row.why_not for row in found.forecasts[:-1]} == {"it does not cover this day"}
    assert found.used == "none"


def test_one_forecast_differs_from_nobody():
    assert differing("open-meteo", {"open-meteo": 0.5}) == ()
    assert differing("none", {}) == ()
    assert differing("open-meteo", {"open-meteo": 0.5, "met-norway": 0.59}) == ()
