"""The light of the day around a moment."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from argentry.sky.place import resolve_place
from argentry.sky.sunlight import sunlight

MADRID = resolve_place(None, 40.4, -3.7, 650.0, "Europe/Madrid")


def test_the_series_is_one_day_and_the_moment_lies_on_its_grid():
    when = datetime(2026, 6, 21, 11, 20, 17, tzinfo=UTC)
    day = sunlight("--at", MADRID, when)
    assert day.start_utc + timedelta(minutes=day.start_index) == when
    assert 14 * 60 < len(day.over_skyline) < 16 * 60
    assert np.all(day.series.elevation_deg > 0.0)
    assert day.seconds_left == pytest.approx((day.last_index - day.start_index) * 60.0)
    assert day.at(float(day.start_index)) == datetime(2026, 6, 21, 11, 20, tzinfo=UTC)
    assert day.at(float("nan")) is None


def test_a_zone_of_the_moment_changes_nothing():
    when = datetime(2026, 6, 21, 11, 20, tzinfo=UTC)
    same = when.astimezone(datetime.fromisoformat("2026-06-21T13:20+02:00").tzinfo)
    first, second = (sunlight("--at", MADRID, w) for w in (when, same))
    np.testing.assert_array_equal(first.series.exposure_w_m2, second.series.exposure_w_m2)


def test_a_tower_that_hides_the_sun_for_a_while_does_not_end_the_day():
    from dataclasses import replace

    tower = replace(MADRID, horizon=((239.0, 0.0), (240.0, 80.0), (250.0, 80.0), (251.0, 0.0)))
    when = datetime(2026, 6, 21, 9, 0, tzinfo=UTC)
    free, behind = (sunlight("--at", place, when) for place in (MADRID, tower))
    assert behind.last_index == free.last_index
    assert not behind.over_skyline.all()
    assert behind.series.development_w_m2.sum() < free.series.development_w_m2.sum()


def test_the_polar_day_ends_with_the_clock_not_the_sun():
    north = resolve_place(None, 78.2, 15.6, 0.0, "UTC")
    day = sunlight("--at", north, datetime(2026, 6, 21, 12, 0, tzinfo=UTC))
    assert day.seconds_left == pytest.approx(24 * 3600.0)
