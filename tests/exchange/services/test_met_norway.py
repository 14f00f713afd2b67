"""What MET Norway is asked and answers, on samples in its documented shape (fixtures/weather)."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import numpy as np
import pytest
from tests.weather_stub import sample

from argentry.errors import BadInput
from argentry.exchange.services import met_norway
from argentry.exchange.services.asking import Ask

ASK = Ask(48.14, 11.58, datetime(2026, 6, 20, 12, tzinfo=UTC), contact="josé@example.org")


def test_the_question_says_who_asks():
    request = met_norway.request(ASK)
    assert request.url.endswith("/weatherapi/locationforecast/2.0/complete?lat=48.14&lon=11.58")
    assert request.headers["User-Agent"].startswith("argentry/")
    assert request.headers["User-Agent"].endswith(" jos@example.org")


def test_an_instant_is_the_middle_of_its_hour():
    data = json.loads(sample("met-norway", "clear"))
    rows = data["properties"]["timeseries"]
    rows[30]["data"]["instant"]["details"]["cloud_area_fraction"] = 80.0
    weather = met_norway.parse(json.dumps(data).encode(), ASK)
    at = int(np.flatnonzero(weather.cloud_share)[0])
    assert weather.cloud_share[at] == pytest.approx(0.8)
    assert str(weather.start_utc[at]) == "2026-06-21T05:30:00"
    assert rows[30]["time"] == "2026-06-21T06:00:00Z"
    assert np.isnan(weather.ghi_w_m2).all()


def test_the_days_given_every_six_hours_are_kept_as_they_are():
    weather = met_norway.parse(sample("met-norway", "clear"), ASK)
    steps = np.diff(weather.start_utc).astype(int)
    assert set(steps.tolist()) == {3600, 6 * 3600}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda data: data.update(geometry=None), "km away"),
        (lambda data: data["geometry"].update(coordinates=[11.58, 60.0]), "km away"),
        (lambda data: data["properties"]["meta"]["units"].update(cloud_area_fraction="1"), "'1'"),
        (lambda data: data["properties"].pop("timeseries"), "no rows"),
    ],
)
def test_what_cannot_be_used_is_refused(change, says):
    data = json.loads(sample("met-norway", "clear"))
    change(data)
    with pytest.raises(BadInput, match=says):
        met_norway.parse(json.dumps(data).encode(), ASK)
