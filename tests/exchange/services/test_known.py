"""Each service's clear day, through its reader and the light that plans are made with."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from tests.weather_stub import sample

from argentry.exchange.services.asking import Ask
from argentry.exchange.services.known import SERVICES
from argentry.physics.lights.sun import solar_day
from argentry.sky.place import Place
from argentry.sky.sky_day import sky_day
from argentry.sky.weather.days import sky_days

ASK = Ask(48.14, 11.58, datetime(2026, 6, 20, 12, tzinfo=UTC), elevation_m=520.0)
DAY = datetime(2026, 6, 21, tzinfo=UTC).date()
PLACE = Place(
    latitude_deg=48.14, longitude_deg=11.58, elevation_m=520.0, time_zone="UTC", horizon=(),
    albedo=0.2, haze_aod=None, name="a valley",
)  # fmt: skip
HOUR_S = 3600.0


def noon_s():
    """The sun's noon of the day: the middle between its two midnights."""
    first, last = solar_day(DAY, ASK.longitude_deg)
    ends = (edge.astype("datetime64[s]").astype(float) for edge in (first, last))
    return float(sum(ends)) / 2.0


def balance_s(times_s, light):
    """The time about which the light of a day balances: noon on a clear one."""
    return float(np.sum(times_s * light) / np.sum(light))


@pytest.fixture(scope="module")
def whole_day():
    times = np.datetime64("2026-06-21T00:00:30") + np.arange(1440) * np.timedelta64(60, "s")
    return sky_day(PLACE, times)


@pytest.mark.parametrize("key", ["open-meteo", "bright-sky"])
def test_the_light_of_a_clear_day_is_highest_at_solar_noon(key):
    weather = SERVICES[key].parse(sample(key, "clear"), ASK)
    of_day = weather.start_utc.astype("datetime64[D]") == np.datetime64(DAY)
    middle = weather.start_utc[of_day].astype("datetime64[s]").astype(float) + HOUR_S / 2
    assert abs(balance_s(middle, weather.ghi_w_m2[of_day]) - noon_s()) < 300.0


@pytest.mark.parametrize("key", ["bright-sky", "met-norway", "open-meteo"])
def test_so_is_the_light_that_the_day_is_planned_with(key, whole_day):
    weather = SERVICES[key].parse(sample(key, "clear"), ASK)
    days = sky_days(weather, whole_day, 3, 1)
    seconds = whole_day.times_utc.astype("datetime64[s]").astype(float)
    light = days.middle_global * whole_day.global_w_m2
    assert abs(balance_s(seconds, light) - noon_s()) < 300.0


@pytest.mark.parametrize("key", ["open-meteo", "bright-sky"])
def test_the_light_model_gives_back_the_sum_of_the_day(key, whole_day):
    weather = SERVICES[key].parse(sample(key, "clear"), ASK)
    of_day = weather.start_utc.astype("datetime64[D]") == np.datetime64(DAY)
    given = float(weather.ghi_w_m2[of_day].sum()) * HOUR_S
    days = sky_days(weather, whole_day, 3, 1)
    planned = float(np.sum(days.middle_global * whole_day.global_w_m2)) * 60.0
    assert planned == pytest.approx(given, rel=0.01)


def test_a_cloudless_hour_by_cloud_alone_is_the_clear_sky(whole_day):
    """MET Norway gives no irradiance: its clear day is the model's own."""
    weather = SERVICES["met-norway"].parse(sample("met-norway", "clear"), ASK)
    days = sky_days(weather, whole_day, 3, 1)
    planned = float(np.sum(days.middle_global * whole_day.global_w_m2))
    assert planned == pytest.approx(float(whole_day.global_w_m2.sum()), rel=0.01)
