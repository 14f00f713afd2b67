"""Weather years: as they were, of a typical year's days, or drawn; each the same by itself."""

from datetime import date, timedelta

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.physics.lights.sky_ensemble import normal_level
from argentry.records.weather import Weather
from argentry.sky.place import Place
from argentry.sky.sky_day import sky_day
from argentry.sky.weather.days import hourly_sky, sky_days
from argentry.sky.weather.years import YearSkies, climate_of, in_year, weather_on

PLACE = Place(47.0, 8.0, 500.0, "UTC", (), 0.2, None, "an invented place")
HOUR = np.timedelta64(3600, "s")


def span(first, days):
    return tuple(first + timedelta(days=at) for at in range(days))


def nodes(dates):
    starts = np.array([np.datetime64(f"{day}T07:00:00") for day in dates])
    return starts[:, None] + np.arange(11) * HOUR


def hours(first, last, kind, cloud):
    start = np.arange(np.datetime64(first), np.datetime64(last), HOUR).astype("datetime64[s]")
    none = np.full(len(start), np.nan)
    share = np.broadcast_to(cloud, start.shape).astype(float)
    parts = [none, none, none, share, none, none, none, none]
    return Weather(start, 3600.0, *parts, kind=kind, source="invented.csv")


def drawn(dates, years, climate=None):
    skies = YearSkies(climate or climate_of(None, dates, 50), PLACE, dates, nodes(dates))
    return [skies.of_year(year, 7) for year in years]


def test_a_year_is_the_same_whichever_others_are_asked_for():
    dates = span(date(2026, 3, 1), 20)
    (alone,) = drawn(dates, [3])
    _, after = drawn(dates, [1, 3])
    assert np.array_equal(alone[0], after[0])
    assert np.array_equal(alone[1], after[1])
    (other,) = drawn(dates, [4])
    assert not np.array_equal(alone[0], other[0])


def test_drawn_days_lean_on_the_day_before_as_published():
    """Graham, Hollands and Huget 1988: 0.29 between the clearness of a day and the next."""
    dates = span(date(2026, 4, 1), 120)
    light = np.array([whole.mean(axis=1) for _, whole in drawn(dates, range(1, 41))])
    rank = light.ravel().argsort().argsort().reshape(light.shape)
    normal = normal_level((rank + 0.5) / rank.size)
    got = np.corrcoef(normal[:, 1:].ravel(), normal[:, :-1].ravel())[0, 1]
    assert got == pytest.approx(0.29, abs=0.04)
    two = np.corrcoef(normal[:, 2:].ravel(), normal[:, :-2].ravel())[0, 1]
    assert two < got - 0.08


def test_drawn_years_have_the_clouds_of_the_latitude():
    dates = span(date(2026, 6, 1), 30)
    north = np.mean([whole for _, whole in drawn(dates, range(1, 21))])
    darker = Place(**{**vars(PLACE), "latitude_deg": 60.0})
    skies = YearSkies(climate_of(None, dates, 20), darker, dates, nodes(dates))
    far = np.mean([skies.of_year(year, 7)[1] for year in range(1, 21)])
    assert 0.6 < far < north - 0.05 < 0.9


def test_measured_years_are_taken_as_they_were():
    rng = np.random.default_rng(1)
    count = 366 + 365
    cloud = np.repeat(rng.random(count), 24)
    weather = hours("2024-01-01", "2026-01-01", "measured", cloud)
    dates = span(date(2026, 5, 1), 5)
    climate = climate_of(weather, dates, 20)
    assert climate.real
    assert climate.years == (2024, 2025)
    times = nodes(span(date(2024, 5, 1), 5)).ravel()
    likely = hourly_sky(weather, sky_day(PLACE, times))
    # the cloud amount is known, what it lets through is drawn about its mean
    clear = np.array(
        [YearSkies(climate, PLACE, dates, nodes(dates)).of_year(2024, s)[1] for s in range(60)]
    ).mean(axis=0)
    assert np.corrcoef(clear.ravel(), likely.global_share)[0, 1] > 0.97


def test_measured_light_is_not_drawn_about():
    weather = hours("2024-01-01", "2026-01-01", "measured", np.nan)
    object.__setattr__(weather, "ghi_w_m2", np.full(weather.start_utc.shape, 250.0))
    object.__setattr__(weather, "dni_w_m2", np.full(weather.start_utc.shape, 300.0))
    dates = span(date(2026, 6, 1), 3)
    skies = YearSkies(climate_of(weather, dates, 20), PLACE, dates, nodes(dates))
    one, other = (skies.of_year(2025, seed) for seed in (1, 2))
    assert np.array_equal(one[1], other[1])


def test_a_gap_in_the_bright_hours_of_a_year_is_refused():
    weather = hours("2024-01-01", "2026-01-01", "measured", 0.5)
    day = (weather.start_utc >= np.datetime64("2025-06-02")) & (
        weather.start_utc < np.datetime64("2025-06-03")
    )
    weather.cloud_share[day] = np.nan
    dates = span(date(2026, 6, 1), 3)
    skies = YearSkies(climate_of(weather, dates, 20), PLACE, dates, nodes(dates))
    skies.of_year(2024, 1)
    with pytest.raises(BadInput, match="no light or cloud"):
        skies.of_year(2025, 1)


def test_days_of_a_typical_year_come_in_runs_from_near_their_dates():
    number = np.repeat(np.arange(365), 24) / 400.0
    weather = hours("2001-01-01", "2002-01-01", "typical year", np.nan)
    # light that tells the day it was taken from
    object.__setattr__(weather, "ghi_w_m2", 350.0 + 300.0 * number)
    object.__setattr__(weather, "dni_w_m2", 50.0 + 200.0 * number)
    dates = span(date(2026, 6, 1), 100)
    skies = YearSkies(climate_of(weather, dates, 20), PLACE, dates, nodes(dates))
    typical = skies._typical[1]
    year = skies.of_year(5, 1)[1]
    near = np.abs(typical - year[None]).sum(axis=2)
    offset = near.argmin(axis=0)
    assert np.allclose(near.min(axis=0), 0.0, atol=1e-9)
    runs = 1 + np.count_nonzero(np.diff(offset))
    assert 100 / 12 < runs < 100 / 2.5, "runs of about five days"
    assert len(set(offset.tolist())) > 5


def test_a_forecast_is_not_a_climate():
    dates = span(date(2026, 6, 1), 3)
    with pytest.raises(BadInput, match="not one whole season"):
        climate_of(hours("2026-06-01", "2026-06-10", "forecast", 0.5), dates, 20)
    with pytest.raises(BadInput, match="measured hours from 2026-06-05"):
        climate_of(hours("2026-06-05", "2026-06-05T12", "measured", 0.5), dates, 20)


def test_only_the_newest_years_are_taken_and_a_season_may_pass_new_year():
    weather = hours("2020-01-01", "2026-01-01", "measured", 0.5)
    assert climate_of(weather, span(date(2026, 6, 1), 3), 2).years == (2024, 2025)
    winter = span(date(2026, 12, 1), 60)
    assert climate_of(weather, winter, 20).years == (2020, 2021, 2022, 2023, 2024)


def test_29_february_is_the_28th_of_other_years():
    assert in_year(date(2028, 2, 29), 1) == date(2029, 2, 28)
    assert in_year(date(2028, 2, 29), 4) == date(2032, 2, 29)


def test_a_day_without_a_forecast_has_the_days_about_it_in_every_measured_year():
    rng = np.random.default_rng(2)
    weather = hours("2023-01-01", "2026-01-01", "measured", np.repeat(rng.random(1096), 24))
    found = weather_on(weather, date(2027, 6, 10))
    assert found.kind == "climate"
    shares = found.members["cloud_share"]
    assert shares.shape == (45, 72), "15 days about the date in each of three years"
    first = np.flatnonzero(weather.start_utc == np.datetime64("2024-06-10"))[0]
    same = weather.cloud_share[first : first + 24]
    assert any(np.array_equal(one[24:48], same) for one in shares)
    assert str(found.start_utc[24]) == "2027-06-10T00:00:00"
    times = np.datetime64("2027-06-10T07:00:00") + np.arange(600) * np.timedelta64(60, "s")
    drawn = sky_days(found, sky_day(PLACE, times), 200, 1)
    assert drawn.global_share.shape == (200, 600)
    assert np.ptp(drawn.global_share.mean(axis=1)) > 0.2, "days unlike each other"


def test_the_ends_of_measured_years_and_a_leap_day_are_had_where_they_are_whole():
    weather = hours("2023-01-01", "2025-01-01", "measured", 0.5)
    assert weather_on(weather, date(2028, 2, 29)).members["cloud_share"].shape[0] == 30
    # of 2 January the days before 2 January 2023 are not in the file, nor those before them
    assert weather_on(weather, date(2027, 1, 2)).members["cloud_share"].shape[0] == 8 + 15
    with pytest.raises(BadInput, match="no light or cloud for 2027-06-10"):
        weather_on(hours("2023-01-01", "2023-01-20", "measured", 0.5), date(2027, 6, 10))


def test_a_typical_year_is_its_own_climate_of_a_day():
    weather = hours("2001-01-01", "2002-01-01", "typical year", 0.5)
    assert weather_on(weather, date(2027, 6, 10)) is weather
