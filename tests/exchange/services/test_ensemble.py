"""Ensembles: each member a day of its own, on a sample in the documented shape."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from tests.weather_stub import sample

from argentry.errors import BadInput
from argentry.exchange.services import open_meteo
from argentry.exchange.services.asking import Ask
from argentry.sky.place import Place
from argentry.sky.sky_day import sky_day
from argentry.sky.weather.days import DAYS, hourly_sky, sky_days

ASK = Ask(48.14, 11.58, datetime(2026, 6, 20, 12, tzinfo=UTC), elevation_m=520.0)
PLACE = Place(
    latitude_deg=48.14, longitude_deg=11.58, elevation_m=520.0, time_zone="UTC", horizon=(),
    albedo=0.2, haze_aod=None, name="a valley",
)  # fmt: skip
MEMBERS = 51


def read(change=lambda hourly: None):
    data = json.loads(sample("open-meteo-ensemble", "changeable"))
    change(data["hourly"])
    return open_meteo.parse_ensemble(json.dumps(data).encode(), ASK)


@pytest.fixture(scope="module")
def day():
    times = np.datetime64("2026-06-21T02:00:30") + np.arange(0, 1080, 3) * np.timedelta64(60, "s")
    return sky_day(PLACE, times)


def light(days, day):
    """The light of each day, as a share of the clear one's."""
    return days.global_share @ day.global_w_m2 / day.global_w_m2.sum()


def alone(weather, at):
    """One member as a forecast of its own."""
    fields = {name: every[at : at + 1] for name, every in weather.members.items()}
    return replace(weather, members=fields, **{name: one[0] for name, one in fields.items()})


def test_the_question_goes_to_the_ensemble_and_names_its_model():
    url = open_meteo.request_ensemble(ASK).url
    assert url.startswith("https://ensemble-api.open-meteo.com/v1/ensemble?latitude=48.14&")
    assert "models=ecmwf_ifs025_ensemble" in url
    assert "timezone=UTC" in url


def test_the_control_is_the_first_of_its_members():
    weather = read()
    data = json.loads(sample("open-meteo-ensemble", "changeable"))["hourly"]
    assert {len(every) for every in weather.members.values()} == {MEMBERS}
    np.testing.assert_array_equal(weather.members["ghi_w_m2"][0], weather.ghi_w_m2)
    np.testing.assert_allclose(
        weather.members["ghi_w_m2"][17], data["shortwave_radiation_member17"]
    )
    cloud = np.array(data["cloud_cover_member17"]) / 100.0
    np.testing.assert_allclose(
        weather.members["cloud_share"][17][1:], (cloud[1:] + cloud[:-1]) / 2.0
    )


@pytest.mark.parametrize("wanted", [0.5, 0.7, 0.85])
def test_odds_are_those_of_a_count_over_the_members(day, wanted):
    """Enough light: by days drawn of 51 members together, and by each member counted by itself."""
    weather = read()
    each = [
        light(sky_days(alone(weather, at), day, 40, at), day) >= wanted for at in range(MEMBERS)
    ]
    many = light(sky_days(weather, day, 40 * MEMBERS, 1), day) >= wanted
    assert many.mean() == pytest.approx(np.mean(each), abs=0.02)
    # what a plan draws: 200 days, of which the share itself is known to 3.5 points at best
    few = light(sky_days(weather, day, DAYS, 1), day) >= wanted
    assert few.mean() == pytest.approx(np.mean(each), abs=0.04)


def test_a_morning_goes_with_its_own_afternoon(day):
    """Half the members clear all day, half overcast: a mean sky would be neither."""

    def split(hourly):
        for name in hourly:
            if name == "time":
                continue
            clear = name.endswith(("0", "2", "4", "6", "8"))
            if name.startswith("cloud"):
                hourly[name] = [0 if clear else 100] * len(hourly["time"])
            else:
                hourly[name] = [None] * len(hourly["time"])

    days = light(sky_days(read(split), day, DAYS, 1), day)
    assert ((days > 0.9) | (days < 0.5)).mean() > 0.95
    assert (days > 0.9).mean() == pytest.approx(25 / MEMBERS, abs=0.03)


def test_the_day_to_plan_with_is_the_middle_member(day):
    weather = read()
    likely = hourly_sky(weather, day)
    shares = np.sort(
        [
            hourly_sky(alone(weather, at), day).global_share @ day.global_w_m2
            for at in range(MEMBERS)
        ]
    )
    assert likely.global_share @ day.global_w_m2 == pytest.approx(shares[MEMBERS // 2])
    assert "of 51 members" in likely.note


def test_members_that_end_early_are_left_out_of_later_days(day):
    def short(hourly):
        for name in hourly:
            if name.endswith(("_member01", "_member02")):
                hourly[name][24:] = [None] * len(hourly[name][24:])

    days = sky_days(read(short), day, 98, 1)
    assert days.beam_share.shape == (98, day.times_utc.size)

    def gone(hourly):
        for name in hourly:
            if name != "time":
                hourly[name][24:] = [None] * len(hourly[name][24:])

    with pytest.raises(BadInput, match="no light or cloud for"):
        sky_days(read(gone), day, 98, 1)


def test_quantities_with_other_members_are_refused():
    with pytest.raises(BadInput, match="have 50 and 51 forecasts each"):
        read(lambda hourly: hourly.pop("cloud_cover_member50"))
