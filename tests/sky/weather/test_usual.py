"""The clouds that are usual at a place: by latitude and season, and by hours that are known."""

from datetime import date

import numpy as np
import pytest

from argentry.sky.weather.usual import (
    DAYS_OF_LATITUDE,
    LEAST,
    MOST,
    cloudier_by_hours,
    cloudier_than_usual,
    usual_cloud,
)

JULY, JANUARY = date(2026, 7, 20), date(2026, 1, 20)
HOURS = np.arange("2025-01-01", "2026-01-01", dtype="datetime64[h]")
OF_SUMMER = (np.datetime64("2025-06-05") <= HOURS) & (np.datetime64("2025-09-04") > HOURS)


def test_the_cold_half_of_a_year_is_as_far_off_on_the_other_side_of_the_earth():
    north = [usual_cloud(40.0, day) for day in (JANUARY, JULY)]
    south = [usual_cloud(-40.0, day) for day in (JANUARY, JULY)]
    assert north[0] - north[1] == pytest.approx(south[1] - south[0])
    assert north[0] > north[1]


def test_no_place_is_surer_than_these():
    assert [usual_cloud(40.0, JULY, more) for more in (-2.0, 2.0)] == [LEAST, MOST]


def test_twenty_days_count_as_much_as_the_latitude():
    assert cloudier_than_usual(0.9, 0.5, DAYS_OF_LATITUDE) == pytest.approx(0.2)


def test_hours_within_a_season_of_the_day_count_alone():
    share = np.where(OF_SUMMER, 0.9, 0.1)
    days = [date(2025, 6, 5).toordinal() + n for n in range(91)]
    usual = np.mean([usual_cloud(40.0, date.fromordinal(n)) for n in days])
    assert cloudier_by_hours(HOURS, share, 40.0, JULY) == pytest.approx(0.9 - usual)
    assert cloudier_by_hours(HOURS, share, 40.0, JANUARY) < 0.0


def test_hours_that_are_not_known_say_nothing():
    known = np.where(OF_SUMMER, np.nan, 0.1)
    assert cloudier_by_hours(HOURS, known, 40.0, JULY) == 0.0
