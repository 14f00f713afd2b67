"""The light of a season against published figures: day lengths, and NREL's typical years.

Day length: FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), equations 24, 25 and 34, of
the sun's middle without refraction. Irradiation: the hours of the typical meteorological years of
Greensboro and Sand Point (NREL TMY3, Wilcox and Marion 2008), as pvlib carries them.
"""

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from tests.day.season.test_years import studio

from argentry.day.season.years import SeasonAsked, season_years, span_of
from argentry.exchange.weather.file import read_weather_file
from argentry.records import studio as rec
from argentry.sky.place import resolve_place
from argentry.sky.sky_day import sky_day
from argentry.sky.weather.years import climate_of

pvlib = pytest.importorskip("pvlib")
YEAR = span_of(date(2026, 1, 1), date(2026, 12, 31))
MONTH = np.array([day.month for day in YEAR])
INLAND, COAST = 1.18, 1.29  # light of the shipped climate over that of the stations
FILES = {"723170TYA.CSV": (36.1, -79.95, 273.0), "703165TY.csv": (55.317, -160.517, 7.0)}


def fao_hours(latitude_deg, day_of_year):
    declination = 0.409 * math.sin(2.0 * math.pi * day_of_year / 365.0 - 1.39)
    return 24.0 / math.pi * math.acos(-math.tan(math.radians(latitude_deg)) * math.tan(declination))


@pytest.mark.parametrize("latitude", [52.0, 43.0, 0.0, -33.0])
def test_days_are_as_long_as_the_published_equation_says(latitude):
    made = studio(latitude, "UTC")
    place = resolve_place(replace(made, site=replace(made.site, longitude_deg=0.0)))
    for month in (1, 3, 6, 9, 12):
        start = np.datetime64(f"2026-{month:02d}-15T00:00:00")
        day = sky_day(place, start + np.arange(1440) * np.timedelta64(60, "s"), ())
        hours = day.over_skyline.sum() / 60.0
        number = date(2026, month, 15).timetuple().tm_yday
        # refraction lifts the sun by half a degree: minutes at the equator, more at 52 degrees
        assert -0.05 < hours - fao_hours(latitude, number) < 0.3, (latitude, month)


@pytest.fixture(scope="module", params=FILES)
def station(request):
    path = Path(pvlib.__file__).parent / "data" / request.param
    latitude, longitude, height = FILES[request.param]
    site = rec.Site("station", latitude, longitude, height, "UTC")
    made = studio(site=site, hours=rec.Hours("00:00", "24:00"))
    return made, read_weather_file(path)


def monthly(asked, years):
    found = season_years(asked, years)
    return np.array([found.level_kwh_m2[:, m == MONTH].sum(axis=1).mean() for m in range(1, 13)])


def test_irradiation_of_years_drawn_from_a_typical_year_is_that_of_the_year(station):
    made, weather = station
    hours = weather.start_utc.astype("datetime64[M]").astype(int) % 12 + 1
    theirs = np.array([np.nansum(weather.ghi_w_m2[hours == m]) / 1000.0 for m in range(1, 13)])
    asked = SeasonAsked(made, climate_of(weather, YEAR, 4), YEAR, 1)
    ours = monthly(asked, asked.climate.years)
    assert ours.sum() == pytest.approx(theirs.sum(), rel=0.03)
    # a month borrows days of its neighbours
    assert np.abs(ours / theirs - 1.0).max() < 0.13
    assert np.corrcoef(ours, theirs)[0, 1] > 0.99


def test_the_clouds_usual_at_a_latitude_are_too_bright_by_a_quarter(station):
    """How far the shipped climate is off where nothing is known: as docs/season.md says."""
    made, weather = station
    theirs = np.nansum(weather.ghi_w_m2) / 1000.0
    asked = SeasonAsked(made, climate_of(None, YEAR, 2), YEAR, 1)
    ours = monthly(asked, asked.climate.years).sum()
    inland = made.site.latitude_deg < 40.0
    assert ours / theirs == pytest.approx(INLAND if inland else COAST, abs=0.04)


def test_days_lean_on_the_day_before_in_the_typical_year_too():
    """Months of a typical year are real ones, so their days follow each other as days do."""
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    weather = read_weather_file(path)
    place = resolve_place(studio(36.1, "UTC"))
    clear = sky_day(
        replace(place, longitude_deg=-79.95), weather.start_utc + np.timedelta64(1800, "s"), ()
    )
    daily = weather.ghi_w_m2.reshape(-1, 24).sum(axis=1) / clear.global_w_m2.reshape(-1, 24).sum(
        axis=1
    )
    rank = daily.argsort().argsort()
    got = np.corrcoef(rank[1:], rank[:-1])[0, 1]
    assert 0.1 < got < 0.45
