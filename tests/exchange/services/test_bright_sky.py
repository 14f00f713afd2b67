"""What Bright Sky is asked and answers, on samples in its documented shape (fixtures/weather)."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import numpy as np
import pytest
from tests.weather_stub import sample

from argentry.errors import BadInput
from argentry.exchange.services import bright_sky
from argentry.exchange.services.asking import Ask

ASK = Ask(48.14, 11.58, datetime(2026, 6, 20, 12, tzinfo=UTC), elevation_m=520.0)


def read(change=lambda data: None):
    data = json.loads(sample("bright-sky", "clear"))
    change(data)
    return bright_sky.parse(json.dumps(data).encode(), ASK)


def test_the_question_names_days_in_utc():
    url = bright_sky.request(ASK).url
    assert "lat=48.14&lon=11.58&date=2026-06-19&last_date=2026-06-30&tz=UTC" in url


def test_a_sum_in_kilowatt_hours_is_the_mean_of_the_hour_before():
    weather = read()
    rows = json.loads(sample("bright-sky", "clear"))["weather"]
    assert weather.ghi_w_m2[35] == pytest.approx(1000.0 * rows[35]["solar"])
    assert str(weather.start_utc[35]) == "2026-06-21T10:00:00"
    assert weather.sunshine_share[35] == 1.0
    assert weather.kind == "forecast"


def test_hours_that_were_only_observed_are_no_forecast():
    assert (
        read(lambda data: [row.update(source_id=1) for row in data["weather"]]).kind == "measured"
    )


def test_values_of_a_station_too_far_or_too_high_are_left_out():
    def far(data):
        data["sources"][2]["distance"] = 80_000.0  # the one that fills in the light

    weather = read(far)
    assert np.isnan(weather.ghi_w_m2[:12]).all()
    assert np.isfinite(weather.ghi_w_m2[12:]).all()
    assert np.isfinite(weather.cloud_share).all()

    def high(data):
        data["sources"][1]["height"] = 1500.0  # the forecast's

    assert np.isnan(read(high).cloud_share[14:]).all()


def test_with_no_station_near_the_answer_is_refused():
    def far(data):
        for source in data["sources"]:
            source["distance"] = 120_000.0

    with pytest.raises(BadInput, match="nearest station is 120 km away"):
        read(far)
    with pytest.raises(BadInput, match="names no station"):
        read(lambda data: data.update(sources=[]))
    with pytest.raises(BadInput, match="no station"):
        bright_sky.parse(b'{"title": "no sources"}', ASK)
