"""The place of a command, and wall-clock times across clock changes."""

# ruff: noqa: DTZ001 - times without a zone are what is tested here

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.sky.place import happens_twice, resolve_place, to_local, to_utc, zone_note


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


# Places of the tz database's table of zones (zone1970.tab), longitudes from memory.
FITS = {
    "Europe/Madrid": -3.68, "Africa/El_Aaiun": -13.2, "Atlantic/Reykjavik": -21.85,
    "America/Argentina/Mendoza": -68.82, "America/Punta_Arenas": -70.92, "America/Nuuk": -51.73,
    "Asia/Urumqi": 87.58, "Asia/Shanghai": 121.47, "Asia/Kolkata": 88.37, "Asia/Kathmandu": 85.32,
    "Australia/Sydney": 151.22, "Pacific/Auckland": 174.77, "Pacific/Chatham": -176.55,
    "Pacific/Kiritimati": -157.33, "Pacific/Apia": -171.73, "Pacific/Tongatapu": -175.2,
    "Pacific/Pago_Pago": -170.7, "Asia/Kamchatka": 158.65, "Europe/Dublin": -6.25,
    "America/New_York": -74.01, "America/Los_Angeles": -118.24, "Africa/Johannesburg": 28.0,
}  # fmt: skip


@pytest.mark.parametrize(("zone", "longitude"), FITS.items())
def test_the_places_of_the_zones_fit(zone, longitude):
    assert zone_note(zone, longitude, 2026) == ""


@pytest.mark.parametrize(
    ("zone", "longitude", "hours"),
    [
        ("Asia/Shanghai", 75.98, 2.9),
        ("America/Dawson", -139.42, 2.3),
        ("America/Nome", -165.4, 2.0),
    ],
)
def test_a_rare_place_is_asked_to_be_checked(zone, longitude, hours):
    """Kashgar on Beijing's time; Dawson and Nome, the farthest of the table on land."""
    note = zone_note(zone, longitude, 2026)
    assert note.startswith("Check the time zone and the longitude: ")
    assert f"{hours} h ahead of the sun" in note


@pytest.mark.parametrize(
    "zone",
    ["America/New_York", "America/Los_Angeles", "Asia/Shanghai", "Asia/Kolkata", "Australia/Sydney",
     "Africa/Johannesburg", "America/Argentina/Mendoza", "America/Nuuk"],
)  # fmt: skip
def test_a_longitude_with_the_wrong_sign_is_told_loudly(zone):
    note = zone_note(zone, -FITS[zone], 2026)
    assert note.startswith("The sign of the longitude seems to be the wrong way round: ")
    assert ("° W it would fit" in note) is (FITS[zone] < 0)


def test_a_zone_of_another_part_of_the_world_does_not_fit():
    note = zone_note("Europe/Madrid", 139.7, 2026)
    assert note.startswith("The time zone does not fit the longitude: at 139.7° E ")
    assert "8.3 h behind the sun" in note


def test_daylight_saving_does_not_count():
    """In July Madrid's clock is two hours and a quarter ahead of the sun of its place."""
    for longitude in (-3.68, -9.2):
        assert zone_note("Europe/Madrid", longitude, 2026) == ""
    assert zone_note("Australia/Sydney", 122.0, 2026) == ""  # in January it would be too far
