"""The weather of a day as its light was just read: the sky now, then what was expected."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np

from argentry import trade
from argentry.records.weather import Weather
from argentry.sky.weather.climate import usual_cloud

STEP_MINUTES = 15
SOURCE = "the light as it was read, then {after}"
USUAL = "the clouds usual at this season"


def weather_now(
    weather: Weather | None,
    latitude_deg: float,
    begin: datetime,
    end: datetime,
    read: datetime,
    share: float,
) -> Weather:
    """Return the weather of a day with what was just read of its light.

    The difference from what was expected fades, to a third in `light_memory`.

    Parameters
    ----------
    weather : Weather or None
        The forecast; None: the clouds usual at the season. One of irradiance alone stays as it is.
    latitude_deg : float
        Of the place. [deg]
    begin, end : datetime
        The day.
    read : datetime
        When the light was read.
    share : float
        Of the clear sky's light. [1]
    """
    if weather is not None and not np.isfinite(weather.cloud_share).any():
        return weather
    count = int((end - begin) / timedelta(minutes=STEP_MINUTES)) + 1
    first = np.datetime64(begin.astimezone(UTC).replace(tzinfo=None), "s")
    starts = first + np.arange(count) * np.timedelta64(60 * STEP_MINUTES, "s")
    usual = usual_cloud(latitude_deg, begin.date())
    expected, after = np.full(count, usual), USUAL
    if weather is not None:
        known = np.flatnonzero(np.isfinite(weather.cloud_share))
        at = np.searchsorted(weather.start_utc[known], starts, side="right") - 1
        expected, after = weather.cloud_share[known][np.maximum(at, 0)], weather.source
    memory = trade.value("bench", "light_memory")
    moment = np.datetime64(read.astimezone(UTC).replace(tzinfo=None), "s")
    since = (starts - moment) / np.timedelta64(60, "s")
    weight = np.where(since > -STEP_MINUTES, np.exp(-np.maximum(since, 0.0) / memory), 0.0)
    cloud = expected + weight * (_cloud_of(share) - expected)
    empty = np.full(count, np.nan)
    return Weather(
        start_utc=starts,
        step_s=60.0 * STEP_MINUTES,
        ghi_w_m2=empty, dni_w_m2=empty, dhi_w_m2=empty,
        cloud_share=np.clip(cloud, 0.0, 1.0),
        sunshine_share=empty, temperature_c=empty, relative_humidity_pct=empty, haze_aod=empty,
        kind="forecast",
        source=SOURCE.format(after=after),
    )  # fmt: skip


def _cloud_of(share: float) -> float:
    """Return the share of the sky under cloud that leaves a share of the global light [1]."""
    loss, power = trade.value("cloud", "kasten_loss"), trade.value("cloud", "kasten_power")
    return float(np.clip((1.0 - share) / loss, 0.0, 1.0) ** (1.0 / power))
