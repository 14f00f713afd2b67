"""What Open-Meteo is asked and answers, on samples in its documented shape (fixtures/weather)."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
from tests.weather_stub import sample

from argentry.errors import BadInput
from argentry.exchange.services import open_meteo
from argentry.exchange.services.asking import Ask

ASK = Ask(48.14, 11.58, datetime(2026, 6, 20, 12, 20, tzinfo=UTC))


def changed(**values):
    data = json.loads(sample("open-meteo", "clear"))
    return json.dumps({**data, **values}).encode()


def test_the_question_names_the_place_to_two_decimals_and_asks_for_utc():
    request = open_meteo.request(Ask(48.14, 11.58, ASK.now, contact="me@example.org"))
    asked = parse_qs(urlsplit(request.url).query)
    assert urlsplit(request.url)[:3] == ("https", "api.open-meteo.com", "/v1/forecast")
    assert (asked["latitude"], asked["longitude"]) == (["48.14"], ["11.58"])
    assert asked["timezone"] == ["UTC"]
    assert len(asked["hourly"][0].split(",")) <= 10  # more count as several questions
    assert int(asked["forecast_days"][0]) + int(asked["past_days"][0]) <= 14
    assert "example.org" not in str(request)


def test_means_lie_before_their_time_and_instants_at_it():
    weather = open_meteo.parse(sample("open-meteo", "clear"), ASK)
    data = json.loads(sample("open-meteo", "clear"))["hourly"]
    at = data["time"].index("2026-06-21T11:00")
    assert str(weather.start_utc[at]) == "2026-06-21T10:00:00"
    assert weather.ghi_w_m2[at] == data["shortwave_radiation"][at]
    assert weather.sunshine_share[at] == 1.0
    temperature = data["temperature_2m"]
    assert weather.temperature_c[at] == pytest.approx((temperature[at - 1] + temperature[at]) / 2)
    assert (weather.source, weather.kind) == ("Open-Meteo", "forecast")
    assert "CC BY 4.0" in weather.credit


def test_an_instant_of_cloud_reaches_into_the_hours_on_both_sides():
    data = json.loads(sample("open-meteo", "clear"))
    cloud = [0] * 96
    cloud[30] = 100
    data["hourly"]["cloud_cover"] = cloud
    weather = open_meteo.parse(json.dumps(data).encode(), ASK)
    np.testing.assert_allclose(weather.cloud_share[29:33], [0.0, 0.5, 0.5, 0.0])


def test_nulls_stay_unknown_and_their_neighbours_known():
    data = json.loads(sample("open-meteo", "clear"))
    for name in ("shortwave_radiation", "cloud_cover"):
        data["hourly"][name][30] = None
    weather = open_meteo.parse(json.dumps(data).encode(), ASK)
    assert np.flatnonzero(np.isnan(weather.ghi_w_m2)).tolist() == [30]
    assert np.isfinite(weather.cloud_share).all()


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b'{"error": true, "reason": "Data is missing"}', "Data is missing"),
        (sample("open-meteo", "clear")[:900], "cut short"),
        (b"<html>hello</html>", "not JSON"),
        (changed(latitude=52.5), "km away"),
        (changed(longitude=None), "km away"),
        (changed(utc_offset_seconds=7200), "2 h off UTC"),
        (changed(utc_offset_seconds=None), "does not say how far"),
        (changed(utc_offset_seconds="summer"), "utc_offset_seconds is 'summer'"),
        (changed(hourly_units={"shortwave_radiation": "MJ/m²"}), "'MJ/m²'"),
        (changed(hourly={"time": []}), "no rows"),
        (changed(hourly=None), "no rows"),
        (b"[1]", "neither objects nor lists"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_sentence(body, says):
    with pytest.raises(BadInput, match=says) as refused:
        open_meteo.parse(body, ASK)
    assert str(refused.value).startswith("Open-Meteo: ")


def test_the_hour_that_comes_twice_in_autumn_is_two_hours():
    ask = Ask(48.14, 11.58, datetime(2026, 10, 24, tzinfo=UTC))
    weather = open_meteo.parse(sample("open-meteo", "clocks-back"), ask)
    assert np.unique(np.diff(weather.start_utc)).size == 1


def test_a_polar_night_is_dark_and_no_mistake():
    ask = Ask(69.65, 18.96, datetime(2026, 12, 20, tzinfo=UTC))
    weather = open_meteo.parse(sample("open-meteo", "polar-night"), ask)
    assert weather.ghi_w_m2.max() == 0.0
