"""Whole weather years at a place: real ones from a file of many years, else drawn from a climate.

A day of a year is known at nodes an hour apart, each the mean about it. Real years are taken as
they were. Of a typical year, runs of days are put together from the days about each date; where
nothing is known but the latitude, cloud amounts are drawn, each day leaning on the one before.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights import cloud
from argentry.physics.lights.sky_ensemble import normal_share, sky_ensemble, wander
from argentry.records.weather import Weather
from argentry.sky.sky_day import haze_of, sky_day
from argentry.sky.weather.hours import (
    DAY,
    LIGHT,
    days_each_side,
    not_covered,
    shares_of,
    sky_with_file,
)
from argentry.sky.weather.usual import usual_cloud

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.arrays import Floats, Times, Whole
    from argentry.sky.place import Place

    Triple = tuple[Floats, Floats, Floats]

NODE_MINUTES = 60.0


@dataclass(frozen=True)
class Climate:
    """What weather years there are at a place.

    Attributes
    ----------
    weather : Weather or None
        A typical year or many measured years; None: the clouds usual at the latitude.
    years : tuple of int
        Calendar years in which the season begins, or the numbers of years that are drawn.
    real : bool
        True for years as they were.
    """

    weather: Weather | None
    years: tuple[int, ...]
    real: bool


def in_year(day: date, years_on: int) -> date:
    """Return the same day of another year; of 29 February, where there is none, the day before."""
    try:
        return day.replace(year=day.year + years_on)
    except ValueError:
        return day.replace(year=day.year + years_on, day=28)


def climate_of(weather: Weather | None, dates: Sequence[date], count: int) -> Climate:
    """Return the weather years of a place for a season of these dates.

    Parameters
    ----------
    weather : Weather or None
        As read.
    dates : sequence of date
        The season.
    count : int
        How many years are drawn, or at most taken: the newest.

    Raises
    ------
    BadInput
        For a forecast, or a file of measured hours that covers no such season whole.
    """
    if weather is None or weather.kind == "typical year":
        return Climate(weather, tuple(range(1, count + 1)), real=False)
    first, last = (weather.start_utc[at].astype("datetime64[D]").astype(date) for at in (0, -1))
    day = timedelta(days=1)
    years = tuple(
        year
        for year in range(first.year, last.year + 1)
        if first <= in_year(dates[0], year - dates[0].year) + day
        and last >= in_year(dates[-1], year - dates[0].year) - day
    )
    if weather.kind == "forecast" or not years:
        raise BadInput(
            "climate {source}".format(source=weather.source),
            "it holds {kind} hours from {first} to {last}, not one whole season",
            'give a typical year, or measured years with kind = "measured" that hold all dates',
            kind=weather.kind,
            first=first,
            last=last,
        )
    return Climate(weather, years[-count:], real=True)


def weather_on(weather: Weather, day: date) -> Weather:
    """Return a climate as the weather that a day may have.

    Of many measured years each day about the date is one that it may turn out as, like a forecast
    of an ensemble; a typical year is read by month and day as it is.

    Raises
    ------
    BadInput
        If the years hold no such day.
    """
    if weather.kind == "typical year":
        return weather
    step = np.timedelta64(round(weather.step_s), "s")
    first = np.datetime64(day - timedelta(days=1), "s")
    start = np.arange(first, first + 3 * DAY, step)
    years = np.unique(weather.start_utc.astype("datetime64[Y]").astype(np.int64)) + 1970
    each = days_each_side()
    found: list[Whole] = []
    for year in years.tolist():
        same = in_year(day, year - day.year) - day
        for by in range(-each, each + 1):
            begin = np.datetime64(day + same + timedelta(days=by - 1), "s")
            at = int(np.searchsorted(weather.start_utc, begin))
            rows = np.arange(at, at + start.size)
            if rows[-1] >= weather.start_utc.size:
                continue
            own = weather.start_utc[rows[[0, -1]]]
            if own[0] - begin < step and own[1] - own[0] == start[-1] - start[0]:
                found.append(rows)
    if not found:
        raise not_covered(weather, first + DAY)
    rows = np.stack(found)
    first = weather.start_utc[rows[0, 0]]
    start = start + (
        first - first.astype("datetime64[D]")
    )  # intervals need not begin with the hour
    members = {name: getattr(weather, name)[rows] for name in LIGHT}
    members = {name: each for name, each in members.items() if np.isfinite(each).any()}
    unknown = np.full(start.size, np.nan)
    fields: dict[str, Any] = {
        name: members[name][0] if name in members else unknown
        for name in (*LIGHT, "temperature_c", "relative_humidity_pct", "haze_aod")
    }
    return Weather(
        start,
        weather.step_s,
        **fields,
        kind="climate",
        source=weather.source,
        members=members,
    )


class YearSkies:
    """The skies of weather years at a place, at the nodes of a season's days.

    Parameters
    ----------
    climate : Climate
        What is known.
    place : Place
        Where.
    dates : sequence of date
        The season's n days.
    nodes : Times, shape (n, k)
        UTC, an hour apart.
    """

    def __init__(self, climate: Climate, place: Place, dates: Sequence[date], nodes: Times) -> None:
        self.climate, self.place, self.dates, self.nodes = climate, place, dates, nodes
        self._sun = sky_day(place, nodes.ravel(), ())
        self._typical: Triple | None = None
        weather = climate.weather
        if weather is None:
            means = [round(usual_cloud(place.latitude_deg, day), 2) for day in dates]
            self._levels = {mean: cloud.cloud_levels(mean) for mean in set(means)}
            self._means = np.array(means)
        elif not climate.real:
            self._typical = self._neighbours(weather)

    def _shape(self, values: Floats) -> Floats:
        return np.asarray(values.reshape(self.nodes.shape))

    def _neighbours(self, weather: Weather) -> Triple:
        """Return the shares of the days about each date, shape (days about, n, k) each."""
        times = self.nodes.ravel().astype("datetime64[s]")
        day, intervals = sky_with_file(weather, self.place, times)
        each = days_each_side()
        found = [
            shares_of(
                intervals,
                weather,
                np.asarray(times + by * np.timedelta64(86_400, "s")),
                day.path.elevation_deg,
            )[:3]
            for by in range(-each, each + 1)
        ]
        beam, whole, spread = (
            np.stack([self._shape(one[part]) for one in found]) for part in range(3)
        )
        return beam, whole, spread

    def of_year(self, year: int, seed: int) -> tuple[Floats, Floats]:
        """Return what is left of the clear beam and of all its light, shape (n, k) each [1].

        Parameters
        ----------
        year : int
            One of the climate's.
        seed : int
            The same seed and year give the same skies, whatever else is asked.

        Raises
        ------
        BadInput
            If a file of measured years has a gap in the bright hours of that year.
        """
        rng = np.random.default_rng([seed, year])
        haze_sd = trade.value("cloud", "haze_ln_sd")
        if self.climate.weather is None:
            beam, whole, spread = self._cloudy(rng)
        elif self._typical is not None:
            beam, whole, spread = self._spells(rng, self._typical)
        else:
            beam, whole, spread = self._as_it_was(year)
        if not np.any(spread > 0.0):
            haze_sd = 0.0  # the beam itself was measured, haze and all
        return sky_ensemble(
            beam,
            whole,
            self._shape(self._sun.path.elevation_deg),
            n=len(self.dates),
            seed=int(rng.integers(2**32)),
            step_minutes=NODE_MINUTES,
            hour_sd=spread,
            clear_diffuse_share=self._shape(self._sun.diffuse_share),
            haze_aod=haze_of(self.place),
            haze_ln_sd=haze_sd,
            minutes=False,
        )

    def _cloudy(self, rng: np.random.Generator) -> Triple:
        """Return a year of cloud amounts drawn about those usual at the latitude."""
        days, steps = self.nodes.shape
        part = trade.value("cloud", "forecast_day_part")
        memory = 60.0 * trade.value("cloud", "forecast_memory_h")
        keep = trade.value("cloud", "day_memory")
        daily: Floats = rng.standard_normal((days,))
        daily[1:] *= math.sqrt(1.0 - keep * keep)
        for at in range(1, days):
            daily[at] += keep * daily[at - 1]
        hourly = wander(rng, days, steps, NODE_MINUTES, memory).T
        level = normal_share(math.sqrt(part) * daily[:, None] + math.sqrt(1.0 - part) * hourly)
        share = np.empty_like(level)
        for mean, levels in self._levels.items():
            here = self._means == mean
            share[here] = np.interp(level[here], np.linspace(0.0, 1.0, len(levels)), levels)
        hours = cloud.from_cloud_share(share)
        return hours.beam_share, hours.global_share, hours.hour_sd

    def _spells(self, rng: np.random.Generator, typical: Triple) -> Triple:
        """Return a year of runs of days of a typical year's file, taken near their dates."""
        days, near = len(self.dates), len(typical[0])
        anew = rng.random(days) < 1.0 / trade.value("cloud", "spell_days")
        anew[0] = True
        last = np.maximum.accumulate(np.where(anew, np.arange(days), 0))
        chosen = rng.integers(near, size=days)[last]
        beam, whole, spread = (part[chosen, np.arange(days)] for part in typical)
        return beam, whole, spread

    def _as_it_was(self, year: int) -> Triple:
        weather = self.climate.weather
        assert weather is not None
        on = year - self.dates[0].year
        away = np.array([(in_year(day, on) - day).days for day in self.dates])
        times = (self.nodes + away[:, None] * np.timedelta64(86_400, "s")).ravel()
        day, intervals = sky_with_file(weather, self.place, times)
        times = times.astype("datetime64[s]")
        beam, whole, spread, _ = shares_of(intervals, weather, times, day.path.elevation_deg)
        return self._shape(beam), self._shape(whole), self._shape(spread)
