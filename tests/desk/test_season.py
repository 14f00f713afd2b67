"""A season asked for in words; one process, many, or a cluster say the same."""

import os
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from types import ModuleType

import numpy as np
import pytest
from tests.day.season.test_years import studio
from tests.edges import is_taken_within

from argentry.desk import season as seasons
from argentry.desk.season import coming_year, read_place, season, season_dates
from argentry.errors import BadInput
from argentry.records.plain import plain
from argentry.records.weather import Weather
from argentry.sky.place import HIGHEST_M, LOWEST_M

MAY = (date(2026, 5, 1), date(2026, 5, 24))


@pytest.fixture(scope="module")
def alone():
    places = [(studio(), None), (studio(-52.0, "Etc/GMT"), None)]
    return places, season(places, *MAY, years=6, processes=1)


def test_processes_say_the_same_as_one_and_tell_how_far_they_are(alone):
    places, one = alone
    told = []
    two = season(places, *MAY, years=6, processes=2, progress=lambda *done: told.append(done))
    assert plain(two) == plain(one)
    assert told[-1][0] == told[-1][1] == len(told)


def test_a_place_by_itself_is_the_same_as_beside_others(alone):
    places, both = alone
    one = season(places[:1], *MAY, years=6)
    assert plain(one.places[0]) == plain(both.places[0])
    assert both.places[0].plates.low > both.places[1].plates.low, "May is autumn in the south"


class Client:
    """What of a Dask client is used: an address, a way in, an executor that is futures' own."""

    asked = None

    def __init__(self, address, timeout):
        if address == "tcp://nowhere:1":
            raise OSError("no answer")
        Client.asked = (address, timeout)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def get_executor(self):
        return ThreadPoolExecutor(2)


def test_a_cluster_says_the_same_as_one_process(alone, monkeypatch):
    places, one = alone
    library = ModuleType("distributed")
    library.Client = Client
    monkeypatch.setitem(sys.modules, "distributed", library)
    there = season(places, *MAY, years=6, cluster="tcp://invented:8786")
    assert Client.asked[0] == "tcp://invented:8786"
    assert plain(there) == plain(one)
    with pytest.raises(BadInput, match=r"--dask: no cluster answers at 'tcp://nowhere:1'"):
        season(places, *MAY, years=6, cluster="tcp://nowhere:1")


def test_without_the_library_a_cluster_is_refused_in_a_sentence(alone, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BadInput, match=r"distributed is not installed.*argentry\[cluster\]"):
        season(alone[0], *MAY, years=2, cluster="tcp://invented:8786")


def test_the_season_tells_its_days_weeks_and_years(alone):
    _, both = alone
    here = both.places[0]
    assert [day.date for day in here.days] == list(season_dates(*MAY))
    assert [week.first for week in here.weeks] == [
        date(2026, 5, 4),
        date(2026, 5, 11),
        date(2026, 5, 18),
    ]
    assert [year.year for year in here.years] == [1, 2, 3, 4, 5, 6]
    assert sum(day.plates.middle for day in here.days) == pytest.approx(here.plates.middle, abs=6)
    assert here.plates.low <= min(year.plates for year in here.years) + 5
    assert here.plates.high <= max(year.plates for year in here.years)
    assert here.hours[0] == "08:00"
    assert all(len(day.exposure_odds) == len(here.hours) for day in here.days)
    assert here.workshop_weeks[0] in {week.first for week in here.weeks}
    assert any("are drawn" in note for note in here.notes)


def test_a_place_is_read_with_its_zone_height_and_climate():
    one = read_place("Lima, lat=-12.05, lon=-77.04, zone=America/Lima, height=150 m, climate=l.epw")
    assert (one.site.name, one.site.latitude_deg, one.site.elevation_m) == ("Lima", -12.05, 150.0)
    assert one.site.time_zone == "America/Lima"
    assert str(one.climate) == "l.epw"
    by_sun = read_place("Tokyo, lat=35.7, lon=139.7")
    assert by_sun.site.time_zone == "Etc/GMT-9", "nine hours ahead of UTC, as such zones are signed"
    assert read_place(", lat=1, lon=2").site.name == "1.00, 2.00"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Lima", "does not say lat"),
        ("Lima, lat=12", "does not say lon"),
        ("Lima, lat=twelve, lon=3", "'twelve' is not a number"),
        ("Lima, lat=95, lon=3", "95"),
        ("Lima, lat=nan, lon=3", "nan"),
        ("Lima, lat=1, lon=3, zone=Mars/One", "not a known time zone"),
        ("Lima, lat=1, lon=3, height=9000 m", "9000"),
        ("Lima, lat=1, lon=3, colour=red", "'colour=red' is not something that can be said"),
        ("", "does not say lat"),
    ],
)
def test_a_place_that_cannot_be_read_is_refused(text, said):
    with pytest.raises(BadInput, match=said):
        read_place(text)


def test_a_season_has_a_day_and_at_most_a_years(alone):
    with pytest.raises(BadInput, match="ends before it begins"):
        season_dates(date(2026, 5, 2), date(2026, 5, 1))
    assert season_dates(date(2026, 5, 1), date(2026, 5, 1)) == (date(2026, 5, 1),)
    assert len(season_dates(date(2026, 1, 1), date(2027, 1, 1))) == 366
    with pytest.raises(BadInput, match="the season has 367 days"):
        season_dates(date(2026, 1, 1), date(2027, 1, 2))
    for years in (0, 101):
        with pytest.raises(BadInput, match="--years"):
            season(alone[0], *MAY, years=years)
    with pytest.raises(BadInput, match="--processes"):
        season(alone[0], *MAY, years=2, processes=0)
    with pytest.raises(BadInput, match="25 places"):
        season(alone[0][:1] * 25, *MAY)


def test_the_coming_year_begins_with_this_month_by_the_studios_clock():
    late = datetime(2026, 6, 30, 23, 30, tzinfo=UTC)
    assert coming_year(studio(), late) == (date(2026, 7, 1), date(2027, 6, 30))
    assert coming_year(studio(), late, date(2028, 2, 29)) == (date(2028, 2, 29), date(2029, 2, 27))


def test_what_is_wrong_with_a_climate_comes_out_of_a_process_in_its_sentence():
    start = np.arange(
        np.datetime64("2001-01-01"), np.datetime64("2002-01-01"), np.timedelta64(3600, "s")
    ).astype("datetime64[s]")
    none = np.full(start.shape, np.nan)
    share = np.where(start.astype("datetime64[M]") == np.datetime64("2001-05"), np.nan, 0.5)
    parts = [none, none, none, share, none, none, none, none]
    gap = Weather(start, 3600.0, *parts, kind="typical year", source="gap.csv")
    with pytest.raises(BadInput, match=r"gap\.csv: it has no light or cloud for 2026-05") as found:
        season([(studio(), gap)], *MAY, years=2, processes=2)
    assert found.value.right.startswith("name a file that covers the day")


def test_a_climate_file_of_another_place_is_told():
    start = np.arange(
        np.datetime64("2001-01-01"), np.datetime64("2002-01-01"), np.timedelta64(3600, "s")
    ).astype("datetime64[s]")
    none = np.full(start.shape, np.nan)
    hour = (start - start.astype("datetime64[D]")).astype(np.int64) / 3600.0
    for noon, told in ((12.0, False), (20.0, True)):
        sun = np.where(np.abs(hour + 0.5 - noon) < 3.0, 200.0, 0.0)
        parts = [sun, none, none, none, none, none, none, none]
        far = Weather(start, 3600.0, *parts, kind="typical year", source="far.csv")
        found = season([(studio(), far)], *MAY, years=1)
        assert any("page Learned" in note for note in found.notes), "a phone has no command line"
        notes = found.places[0].notes
        assert any("far.csv" in note for note in notes) == told, notes


def test_a_year_that_no_calendar_has_is_refused():
    with pytest.raises(
        BadInput, match="--from: the year 9999 is out of range; use a year 1950 to 2150"
    ):
        coming_year(studio(), datetime(2026, 6, 30, tzinfo=UTC), date(9999, 1, 1))
    now = datetime(2026, 6, 30, tzinfo=UTC)
    is_taken_within(lambda year: coming_year(studio(), now, date(year, 3, 1)), 1950, 2150, step=1)


def test_a_place_lies_on_the_earth():
    def placed(lat=1, lon=3, height=0):
        return read_place(f"Lima, lat={lat}, lon={lon}, height={height} m, zone=UTC")

    is_taken_within(lambda lat: placed(lat=lat), -90.0, 90.0)
    is_taken_within(lambda lon: placed(lon=lon), -180.0, 180.0)
    is_taken_within(lambda height: placed(height=height), LOWEST_M, HIGHEST_M, step=1)


def test_few_years_are_gone_through_by_one_process(monkeypatch):
    def none(processes, cluster):
        raise AssertionError(processes)

    monkeypatch.setattr(seasons, "_workers", none)
    monkeypatch.setattr(seasons, "ALONE", 2)
    season([(studio(), None)], *MAY, years=2)
    with pytest.raises(AssertionError, match=str(os.cpu_count())):
        season([(studio(), None)], *MAY, years=3)


def test_so_many_processes_may_work():
    def begun(processes):
        with seasons._workers(processes, None) as pool:
            assert pool._max_workers == processes

    is_taken_within(begun, 1, 256, step=1)


def test_one_process_does_a_small_season(monkeypatch):
    monkeypatch.setattr(seasons, "ProcessPoolExecutor", None)
    season([(studio(), None)], *MAY, years=2)
