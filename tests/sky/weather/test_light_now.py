"""The weather of a day as its light was just read."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from argentry.physics.cloud import kasten_global_share
from argentry.sky.weather.climate import usual_cloud
from argentry.sky.weather.light_now import weather_now

BEGIN = datetime(2026, 6, 21, 0, 0, tzinfo=UTC)
NOON = BEGIN + timedelta(hours=12)
USUAL = usual_cloud(42.0, BEGIN.date())


def read(share, weather=None):
    return weather_now(weather, 42.0, BEGIN, BEGIN + timedelta(days=1), NOON, share)


def at(weather, moment):
    return float(weather.cloud_share[int((moment - BEGIN) / timedelta(minutes=15))])


@pytest.mark.parametrize("cloud", [0.0, 0.4, 0.8, 1.0])
def test_the_cloud_now_is_the_one_that_leaves_the_light_read(cloud):
    """By Kasten and Czeplak, Solar Energy 24 (1980) 177-189: 1 - 0.75 c^3.4 of the clear sky."""
    weather = read(float(kasten_global_share(cloud)))
    assert at(weather, NOON) == pytest.approx(cloud, abs=1e-9)


def test_it_fades_to_a_third_in_an_hour_and_says_nothing_of_the_morning():
    weather = read(0.25)  # overcast
    third = USUAL + np.exp(-1.0) * (1.0 - USUAL)
    assert at(weather, NOON + timedelta(hours=1)) == pytest.approx(third)
    assert at(weather, NOON + timedelta(hours=11)) == pytest.approx(USUAL, abs=1e-4)
    assert at(weather, NOON - timedelta(hours=1)) == pytest.approx(USUAL)
    assert (weather.kind, "usual at this season" in weather.source) == ("forecast", True)


def test_more_light_than_a_clear_sky_is_a_clear_sky():
    assert at(read(1.3), NOON) == 0.0


def test_a_forecast_of_clouds_is_what_it_fades_to():
    hours = BEGIN.replace(tzinfo=None) + np.arange(24) * timedelta(hours=1)
    flat = replace(
        read(1.0), start_utc=hours.astype("datetime64[s]"), step_s=3600.0,
        cloud_share=np.where(np.arange(24) < 18, 0.2, 0.9), source="forecast.csv",
    )  # fmt: skip
    weather = read(0.25, flat)
    assert at(weather, NOON) == pytest.approx(1.0)
    assert at(weather, NOON + timedelta(hours=1)) == pytest.approx(0.2 + np.exp(-1.0) * 0.8)
    assert at(weather, NOON + timedelta(hours=7)) == pytest.approx(0.9, abs=1e-3)
    assert "forecast.csv" in weather.source


def test_a_forecast_of_irradiance_alone_stays_as_it_is():
    weather = replace(read(1.0), cloud_share=np.full(97, np.nan))
    assert read(0.25, weather) is weather
