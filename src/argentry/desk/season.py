"""A season at one or more places: asked for in words, worked out by one process or many."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from argentry.arrays import Whole
from argentry.day.season.told import climate_words, season_place
from argentry.day.season.years import SeasonAsked, SeasonYears, joined, season_years, span_of
from argentry.errors import BadInput, check_range
from argentry.keeping.studio import load_studio
from argentry.keeping.weather import climate_of_studio, read_climate
from argentry.needs.numbers import studio_now
from argentry.records.answers.season import Season
from argentry.records.decision import OwnNumbers
from argentry.records.studio import Site, Studio
from argentry.records.units import Units, read
from argentry.records.weather import Weather
from argentry.sky.place import HIGHEST_M, LOWEST_M, check_zone
from argentry.sky.weather.years import climate_of, in_year
from argentry.zones import check_year

YEARS, MOST_YEARS, SEED = 20, 100, 1
MOST_PLACES = 24
LONGEST = 366  # days
ALONE = 40  # weather years of a place that one process does sooner than others are begun
DASK = "--dask"
NO_DASK = "the library distributed is not installed"
GET_DASK = 'install it with: pip install "argentry[cluster]"'
NO_CLUSTER = "no cluster answers at {address!r}"
START_CLUSTER = "start its scheduler, or give the address that it printed, as tcp://host:8786"
BEGINS = "the season ends before it begins"
TOO_LONG = "the season has {days} days"
AT = "--at"
A_PLACE = (
    'write it as "Lima, lat=-12.05, lon=-77.04"; zone=America/Lima, height=150 m and climate=FILE '
    "may follow"
)
NOT_A_PLACE = "{given!r} is not something that can be said of a place"
NO_PLACE = "{given!r} does not say {key}"
ONLY_GAPS = "it has gaps in the bright hours of every year"
RULE = (
    "Plates are counted by a plain rule with the steps' usual lengths; the plan of a day finds at "
    "times one more."
)
ODDS = (
    "These are odds of light and hours alone: how many plates then come out good stands on the "
    "page Learned, and argentry odds says it."
)
OF_PLACE = ("lat", "lon", "zone", "height", "climate")


@dataclass(frozen=True)
class PlaceAsked:
    """A place beside the studio's own.

    Attributes
    ----------
    site : Site
        Where.
    climate : Path or None
        A file of its weather.
    """

    site: Site
    climate: Path | None


def read_place(text: str) -> PlaceAsked:
    """Read ``Lima, lat=-12.05, lon=-77.04, zone=America/Lima, height=150 m, climate=lima.epw``.

    Raises
    ------
    BadInput
        If it cannot be read, or a value is impossible.
    """
    name, *parts = (part.strip() for part in text.split(","))
    said: dict[str, str] = {}
    for part in parts:
        key, mark, value = (one.strip() for one in part.partition("="))
        if not mark or key not in OF_PLACE or not value:
            raise BadInput(AT, NOT_A_PLACE, A_PLACE, given=part)
        said[key] = value
    for key in ("lat", "lon"):
        if key not in said:
            raise BadInput(AT, NO_PLACE, A_PLACE, given=text, key=key)
    lat, lon = (_degrees(said[key], most) for key, most in (("lat", 90.0), ("lon", 180.0)))
    height = read(AT, said.get("height", "0 m"), "m", Units(), named=True)
    check_range("--at height", height, LOWEST_M, HIGHEST_M, "m")
    # without a zone the clock is the sun's to the hour; the sign of such zones is turned round
    zone = said.get("zone", f"Etc/GMT{-round(lon / 15.0):+d}")
    site = Site(
        name=name or "{lat:.2f}, {lon:.2f}".format(lat=lat, lon=lon),
        latitude_deg=lat,
        longitude_deg=lon,
        elevation_m=height,
        time_zone=check_zone("--at zone", zone),
    )
    return PlaceAsked(site, Path(said["climate"]) if "climate" in said else None)


def _degrees(text: str, most: float) -> float:
    try:
        value = float(text)
    except ValueError:
        raise BadInput(AT, "{text!r} is not a number", A_PLACE, text=text) from None
    return check_range(AT, value, -most, most, "deg")


def season_dates(first: date, last: date) -> tuple[date, ...]:
    """Return the days of a season.

    Raises
    ------
    BadInput
        If it has none, or more than a year has.
    """
    days = (last - first).days + 1
    if days < 1:
        raise BadInput("--until", BEGINS, "give a day after {first}", first=first)
    if days > LONGEST:
        raise BadInput("--until", TOO_LONG, "give at most {most}", days=days, most=LONGEST)
    return span_of(first, last)


def season_of_studio(
    folder: Path,
    first: date,
    last: date,
    *,
    climate: Path | None = None,
    mapping: Path | None = None,
    beside: Sequence[PlaceAsked] = (),
    learned: OwnNumbers | None = None,
    as_written: bool = False,
    **how: Any,
) -> Season:
    """Return a season at a studio, and the same days at other places beside it.

    Parameters
    ----------
    folder : Path
        The studio folder.
    first, last : date
        Its days.
    climate : Path or None
        A file of the studio's weather; None: that of its studio file, if it names one.
    mapping : Path or None
        What the columns of `climate` mean.
    beside : sequence of PlaceAsked
        Other places, with the studio's hours, instruments and numbers.
    learned : OwnNumbers or None
        What its plates have taught.
    as_written : bool
        True when that is left out because it was asked for.
    **how
        As of `season`.

    Raises
    ------
    BadInput
        If a file cannot be read or holds no climate, or a number is out of range.
    """
    studio = studio_now(load_studio(folder), learned, as_written=as_written).studio
    assert studio is not None
    own = climate_of_studio(folder, studio) if climate is None else read_climate(climate, mapping)
    places: list[tuple[Studio, Weather | None]] = [(studio, own)]
    for one in beside:
        weather = None if one.climate is None else read_climate(one.climate)
        places.append((replace(studio, site=one.site), weather))
    return season(places, first, last, **how)


def season(
    places: Sequence[tuple[Studio, Weather | None]],
    first: date,
    last: date,
    *,
    years: int = YEARS,
    seed: int = SEED,
    processes: int | None = None,
    cluster: str | None = None,
    progress: Callable[[int, int], None] = lambda _done, _of: None,
) -> Season:
    """Return a season at places side by side.

    Parameters
    ----------
    places : sequence of (Studio, Weather or None)
        Each with a studio whose site it is, and its climate; None: the clouds usual there.
    first, last : date
        Its days.
    years : int
        Weather years: how many are drawn, or at most taken from a file.
    seed : int
        The same seed gives the same season, in however many processes.
    processes : int or None
        How many; None: as many as there are cores, where it is worth it.
    cluster : str or None
        Address of a Dask scheduler that does the work instead.
    progress : callable
        Is told how many parts of the work are done, of how many.

    Raises
    ------
    BadInput
        If a number is out of range, a file holds no such season, or the cluster cannot be had.
    """
    check_range("--years", float(years), 1.0, float(MOST_YEARS), "years")
    if len(places) > MOST_PLACES:
        raise BadInput(
            AT, "{count} places", "give at most {most}", count=len(places), most=MOST_PLACES
        )
    dates = season_dates(first, last)
    asked = [
        SeasonAsked(studio, climate_of(weather, dates, years), dates, seed)
        for studio, weather in places
    ]
    work = [(at, part) for at, one in enumerate(asked) for part in _parts(one, len(asked))]
    if processes is None:
        processes = 1 if len(asked) * years <= ALONE else os.cpu_count() or 1
    found: dict[int, Any] = {}
    if cluster is None and processes == 1:
        for done, (at, part) in enumerate(work, 1):
            found[done - 1] = season_years(asked[at], part)
            progress(done, len(work))
    else:
        with _workers(processes, cluster) as workers:
            pending = {
                workers.submit(season_years, asked[at], part): index
                for index, (at, part) in enumerate(work)
            }
            for done, ready in enumerate(as_completed(pending), 1):
                found[pending[ready]] = ready.result()
                progress(done, len(work))
    told = []
    for at, one in enumerate(asked):
        parts = [found[index] for index, (place, _) in enumerate(work) if place == at]
        told.append(season_place(one, _whole(one, parts)))
    studio = places[0][0]
    return Season(studio.name, studio.invented, first, last, tuple(told), (RULE, ODDS))


def plates_by_year(
    studio: Studio, weather: Weather | None, dates: tuple[date, ...]
) -> tuple[Whole, str]:
    """Return how many plates the days of a season hold, and where its weather years come from.

    Parameters
    ----------
    studio : Studio
        With its site.
    weather : Weather or None
        Its climate; None: the clouds usual there.
    dates : tuple of date
        At most a year.

    Returns
    -------
    tuple of (Whole, str)
        Plates of each weather year and day, by the plain rule of a season; (years, days).

    Raises
    ------
    BadInput
        If a file holds no such season.
    """
    asked = SeasonAsked(studio, climate_of(weather, dates, YEARS), dates, SEED)
    found = _whole(asked, [season_years(asked, asked.climate.years)])
    return found.plates, climate_words(asked)


def _whole(asked: SeasonAsked, parts: Sequence[SeasonYears]) -> SeasonYears:
    """Return the parts of a season as one; refuse a climate that has gaps in every year."""
    whole = joined(parts)
    if not whole.years:
        assert asked.climate.weather is not None
        where = "climate {source}".format(source=asked.climate.weather.source)
        raise BadInput(where, ONLY_GAPS, "give a file without them")
    return whole


def _parts(one: SeasonAsked, places: int) -> list[tuple[int, ...]]:
    """Return a place's weather years in parts: whole where there are places enough to share."""
    years = one.climate.years
    size = len(years) if places > 1 else max(1, -(-len(years) // (2 * (os.cpu_count() or 1))))
    return [years[at : at + size] for at in range(0, len(years), size)]


@contextmanager
def _workers(processes: int, cluster: str | None) -> Iterator[Executor]:
    """Yield what does work elsewhere: processes of this machine, or a cluster."""
    if cluster is None:
        check_range("--processes", float(processes), 1.0, 256.0, "processes")
        with ProcessPoolExecutor(processes) as pool:
            yield pool
        return
    try:
        from distributed import Client
    except ImportError:
        raise BadInput(DASK, NO_DASK, GET_DASK) from None
    try:
        client = Client(cluster, timeout="10s")
    except (OSError, ValueError):
        raise BadInput(DASK, NO_CLUSTER, START_CLUSTER, address=cluster[:80]) from None
    with client:
        yield client.get_executor()


def coming_year(studio: Studio, now: datetime, first: date | None = None) -> tuple[date, date]:
    """Return the first day of a season and the last of the year from then on.

    Parameters
    ----------
    studio : Studio
        Whose clock counts.
    now : datetime
        The moment.
    first : date or None
        None: the first of this month.

    Raises
    ------
    BadInput
        If the year is absurd.
    """
    if first is not None:
        check_year("--from", first)
    else:
        first = now.astimezone(ZoneInfo(studio.site.time_zone)).date().replace(day=1)
    return first, in_year(first, 1) - timedelta(days=1)
