"""The place of a command, and wall-clock times across clock changes."""

# ruff: noqa: DTZ001 - times without a zone are what is tested here

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.sky.place import happens_twice, resolve_place, to_local, to_utc


def test_coordinates_name_a_place_at_sea_level_by_utc():
    place = resolve_place(None, 40.0, -3.7)
    assert (place.latitude_deg, place.longitude_deg) == (40.0, -3.7)
    assert place.elevation_m == 0.0
    assert place.time_zone == "UTC"
    assert place.horizon == ()
    assert place.haze_aod is None


@pytest.mark.parametrize(
    ("options", "word"),
    [
        ({}, "--lat and --lon"),
        ({"lat": 40.0}, "--lon"),
        ({"lon": 40.0}, "--lat"),
        ({"lat": 91.0, "lon": 0.0}, "--lat"),
        ({"lat": 0.0, "lon": -181.0}, "--lon"),
        ({"lat": float("nan"), "lon": 0.0}, "--lat"),
        ({"lat": 40.0, "lon": 0.0, "elevation_m": 9000.0}, "--elevation-m"),
        ({"lat": 40.0, "lon": 0.0, "tz": "Moon/Base"}, "--tz"),
        ({"lat": 40.0, "lon": 0.0, "tz": "../etc"}, "--tz"),
        ({"lat": 40.0, "lon": 0.0, "tz": "Europe"}, "--tz"),
        ({"lat": 40.0, "lon": 0.0, "haze": -0.1}, "--haze"),
    ],
)
def test_impossible_places_are_named(options, word):
    with pytest.raises(BadInput, match=word):
        resolve_place(None, **options)


def test_a_time_the_clocks_skip_is_refused():
    with pytest.raises(BadInput, match="does not exist in Europe/Madrid"):
        to_utc("--at", datetime(2026, 3, 29, 2, 30), "Europe/Madrid")
    with pytest.raises(BadInput, match="03:30"):
        to_utc("--at", datetime(2026, 3, 8, 2, 30), "America/New_York")


def test_a_time_that_happens_twice_is_the_first():
    wall = datetime(2026, 10, 25, 2, 30)
    assert happens_twice(wall, "Europe/Madrid")
    assert not happens_twice(wall - timedelta(hours=2), "Europe/Madrid")
    assert to_utc("--at", wall, "Europe/Madrid") == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


def test_an_offset_overrules_the_zone():
    when = datetime(2026, 6, 21, 13, 20, tzinfo=timezone(timedelta(hours=2)))
    assert to_utc("--at", when, "America/New_York") == datetime(2026, 6, 21, 11, 20, tzinfo=UTC)
    assert not happens_twice(when, "America/New_York")


def test_absurd_years_are_refused():
    with pytest.raises(BadInput, match="year 1839"):
        to_utc("--at", datetime(1839, 8, 19, 12, 0), "UTC")


@given(st.datetimes(datetime(2000, 1, 1), datetime(2049, 12, 31)))
def test_there_and_back(when):
    place = resolve_place(None, 40.0, -3.7, tz="Europe/Madrid")
    try:
        utc = to_utc("--at", when, place.time_zone)
    except BadInput:
        assert when.month == 3
        return
    assert to_local(utc, place).replace(tzinfo=None) == when
