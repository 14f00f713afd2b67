"""The page of weather services, against a service on this machine."""

from __future__ import annotations

import pytest
from tests.weather_stub import Stub, point_to, running, sample

from argentry.keeping.studio import load_studio


@pytest.fixture
def stub(studio_dir):
    with running(Stub(body=sample("open-meteo", "clear"))) as made:
        point_to(
            made,
            studio_dir,
            ("latitude_deg = 45.0", "latitude_deg = 48.1371"),
            ("longitude_deg = 5.0", "longitude_deg = 11.5849"),
        )
        yield made


def test_what_is_sent_stands_above_the_yes(host, stub, studio_dir):
    text = host.get("/weather").text
    assert text.count("to two decimals, latitude 48.14, longitude 11.58") == 4
    assert "48.137" not in text
    assert "non-commercial use only" in text
    assert "nothing leaves the house" in text
    refused = host.form("/weather/agree", service="open-meteo")
    assert refused.status_code == 422
    assert "not ticked" in refused.text
    assert host.form("/weather/fetch", service="open-meteo").status_code == 422
    assert load_studio(studio_dir).weather.asked == ""
    assert stub.asked == []


def test_yes_fetch_and_no_more(host, stub, studio_dir):
    assert host.form("/weather/agree", service="open-meteo", yes="yes").status_code == 303
    assert load_studio(studio_dir).weather.asked == "open-meteo"
    assert host.form("/weather/fetch", service="open-meteo").status_code == 303
    text = host.get("/weather").text
    assert "Open-Meteo – used for plans" in text
    assert "0 min old" in text
    assert "Weather data by Open-Meteo.com, CC BY 4.0." in text
    assert len(stub.asked) == 1
    refused = host.form("/weather/agree", service="met-norway", yes="yes")
    assert "must be told a contact" in refused.text
    host.form("/weather/agree", service="none")
    assert load_studio(studio_dir).weather.source == "none"


def test_a_failure_is_told_and_stays_on_the_page(host, stub):
    host.form("/weather/agree", service="open-meteo", yes="yes")
    stub.says(429)
    assert "asked too often" in host.form("/weather/fetch", service="open-meteo").text
    assert "asked too often" in host.get("/weather").text


def test_a_tablet_may_not_decide_what_leaves_the_house(tablet):
    assert tablet.get("/weather").status_code == 403
    assert tablet.form("/weather/agree", service="open-meteo", yes="yes").status_code == 403
    assert 'href="/weather"' not in tablet.get("/plates").text
