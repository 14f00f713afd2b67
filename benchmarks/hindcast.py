"""Printed odds held against a real year of hours: forecasts made of it by noise of known size.

The years are NREL's typical ones of Greensboro and of Sand Point as they come with pvlib (Wilcox
and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008): hours as they were, each
month of another year.
"""

from __future__ import annotations

import math
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from argentry.day.setting import DaySetting
    from argentry.records.studio import Studio
    from argentry.records.weather import Weather

    Floats = NDArray[np.float64]

# files that come with pvlib, their places, and by how many hours their standard time is behind
GREENSBORO = ("723170TYA.CSV", (36.1, -79.95, 273.0), "America/New_York", 5)
SAND_POINT = ("703165TY.csv", (55.317, -160.517, 7.0), "America/Anchorage", 9)
YEAR, SEED = 2026, 4
PLATE_SPEED = 0.0003  # ISO, the trade's starting value
FIXED = 1.0  # of the usual miss: what a forecast of unknown record is taken for
# how far forecasts miss over what is usual a day ahead, and what is known of that
SIZES = (0.6, 1.5)
GROUPS = 5  # of odds, by their size
DAYS = 300
TRIES = 200  # of what would have come
SHARES = (0.4, 0.5, 0.6, 0.7, 0.8)  # of a clear day's light
KNOWN, FIXED_WAY, CLIMATE = "known size", "fixed spread", "climate"
LIT = slice(12, 21)  # hours of a forecast with the sun well up
WAYS = (KNOWN, FIXED_WAY, CLIMATE)


class Record:
    """How much cloudier forecasts said the place is than its latitude, before a day."""

    def __init__(self, studio: Studio) -> None:
        self.latitude_deg = studio.site.latitude_deg
        self.told: list[float] = []
        self.usual: list[float] = []

    def known(self, made: Weather, day: date) -> Weather:
        """Return a forecast with what those before it said of the place, and remember it."""
        from argentry.sky.weather.usual import cloudier_than_usual, usual_cloud

        cloudier = 0.0
        if self.told:
            cloudier = cloudier_than_usual(
                float(np.mean(self.told)), float(np.mean(self.usual)), len(self.told)
            )
        self.told.append(float(made.cloud_share[LIT].mean()))
        self.usual.append(usual_cloud(self.latitude_deg, day))
        return replace(made, cloudier=cloudier)


class Told(NamedTuple):
    """Odds as they were printed, by the way they were made, and whether it came so.

    `alike` is what would have come if the odds of known size were right, (TRIES, n): one of the
    days behind them taken as the truth, the same for all odds of a day.
    """

    odds: dict[str, Floats]
    came: Floats
    alike: Floats


def year_as_it_was(there: tuple[Any, ...] = GREENSBORO) -> Weather:
    """Return the hours of the file as measured hours of one calendar year."""
    from argentry.keeping.weather import read_weather

    name, _, _, behind = there
    typical = read_weather(Path(str(files("pvlib"))) / "data" / name, None)
    offset = np.timedelta64(behind, "h")
    local = typical.start_utc - offset
    months = local.astype("datetime64[M]")
    into = local - months.astype("datetime64[s]")
    here = np.datetime64(f"{YEAR}-01", "M") + (months.astype(int) % 12)
    start = here.astype("datetime64[s]") + into + offset
    order = np.argsort(start)
    rows = {
        column: getattr(typical, column)[order]
        for column in (
            "ghi_w_m2", "dni_w_m2", "dhi_w_m2", "cloud_share", "sunshine_share", "temperature_c",
            "relative_humidity_pct", "haze_aod",
        )
    }  # fmt: skip
    return replace(typical, start_utc=start[order], kind="measured", source=name, **rows)


def studio_there(there: tuple[Any, ...] = GREENSBORO) -> Studio:
    """Return the invented studio, moved to the place of the file."""
    from argentry.demo.studio import invented_studio
    from argentry.records.studio import Site

    name, place, zone, _ = there
    site = Site(name, *place, zone)
    return replace(invented_studio(PLATE_SPEED), site=site)


def noon(studio: Studio, day: date) -> np.datetime64:
    """Return the full hour nearest to solar noon, UTC."""
    after = round(12.0 - studio.site.longitude_deg / 15.0)
    return np.datetime64(f"{day}", "s") + np.timedelta64(after, "h")


def forecast_of(truth: Weather, studio: Studio, day: date, size: float, lasts: float) -> Weather:
    """Return a forecast of a day: its clouds as they were, and a miss of a size drawn about them.

    Parameters
    ----------
    truth : Weather
        What came.
    studio : Studio
        Where.
    day : date
        The date.
    size : float
        Of the miss, over the usual one a day ahead. [1]
    lasts : float
        Share of its variance that lasts the whole day; the rest goes by the hour. [1]
    """
    from argentry import trade
    from argentry.physics.lights.cloud import okta_at_beam
    from argentry.sky.place import resolve_place
    from argentry.sky.weather.hours import sky_with_file
    from argentry.sky.weather.skill import miss_okta

    near = np.abs(truth.start_utc - noon(studio, day)) <= np.timedelta64(16, "h")
    hours = truth.start_utc[near]
    middles = hours + np.timedelta64(1800, "s")
    _, intervals = sky_with_file(truth, resolve_place(studio), middles)
    known = intervals.known
    seconds = middles.astype(np.int64).astype(np.float64)
    okta = np.interp(
        seconds,
        intervals.middle_s[known],
        okta_at_beam(np.clip(intervals.shares.beam_share[known], 0.0, 1.0)),
    )
    rng = np.random.default_rng([SEED, day.toordinal()])
    keep = math.exp(-1.0 / trade.value("cloud", "forecast_memory_h"))
    walk = rng.standard_normal(hours.size)
    for at in range(1, hours.size):
        walk[at] = keep * walk[at - 1] + math.sqrt(1.0 - keep**2) * walk[at]
    miss = math.sqrt(lasts) * rng.standard_normal() + math.sqrt(1.0 - lasts) * walk
    told = np.clip(okta + size * float(miss_okta(24.0)) * miss, 0.0, 8.0)
    nothing = np.full(hours.size, np.nan)
    light = dict.fromkeys(
        ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "sunshine_share", "haze_aod"), nothing
    )
    more = {name: getattr(truth, name)[near] for name in ("temperature_c", "relative_humidity_pct")}
    return replace(
        truth,
        start_utc=hours,
        kind="forecast",
        cloud_share=told / 8.0,
        widened=size,
        **light,
        **more,
    )


def setting(studio: Studio, day: date, weather: Weather | None) -> DaySetting:
    """Return a day as it is planned under some weather; None: the season's clouds."""
    from argentry.day.setting import setting_of
    from argentry.records.weather import Outlook

    return setting_of(
        studio, day, outlook=Outlook(weather, usual=True), haze=None, learned=None,
        as_written=False, now=None, seed=1,
    )  # fmt: skip


def outcomes(day: DaySetting) -> Floats:
    """Return of each day that may come, at each full hour: light for an exposure, ripe by the end.

    Their means are the odds that the sheet prints of each hour, (draws, 2 x hours).
    """
    from argentry.day.tables import end_tables, take_out_minutes
    from argentry.plan.tasks import blocks_of

    tables = end_tables(day.lit, 1)
    first = -day.clock.begin.minute % 60
    deadline = day.clock.minutes - take_out_minutes(blocks_of(day.tasks))
    each = []
    for minute in range(first, day.clock.minutes, 60):
        ripe = np.any([table[:, minute] <= deadline for table in tables.ripe], axis=0)
        each += [np.isfinite(tables.exposures[:, minute]), ripe]
    return np.array(each, dtype=np.float64).T


def forecasts_of(truth: Weather, studio: Studio, dates: list[date], lasts: float) -> list[Weather]:
    """Return a forecast of each day, with what those before it said of the place."""
    record, made = Record(studio), []
    for number, day in enumerate(dates):
        size = SIZES[number % len(SIZES)]
        made.append(record.known(forecast_of(truth, studio, day, size, lasts), day))
    return made


class HourlyAsked(NamedTuple):
    """One day of the hindcast of printed odds."""

    number: int
    day: date
    made: Weather
    truth: Weather
    studio: Studio


def _hourly(asked: HourlyAsked) -> tuple[dict[str, Floats], Floats, Floats]:
    """Return a day's printed odds by way, what came, and what would have come were they right."""
    number, day, made, truth, studio = asked
    under = {KNOWN: made, FIXED_WAY: replace(made, widened=FIXED), CLIMATE: None}
    drawn = {way: outcomes(setting(studio, day, weather)) for way, weather in under.items()}
    real = outcomes(setting(studio, day, truth))
    return (
        {way: rows.mean(axis=0) for way, rows in drawn.items()},
        real[number % len(real)],
        drawn[KNOWN][_tries(number, len(drawn[KNOWN]))],
    )


def _tries(number: int, draws: int) -> NDArray[np.int64]:
    return np.random.default_rng([SEED, number]).integers(0, draws, TRIES)


def hindcast(truth: Weather, studio: Studio, dates: list[date], lasts: float) -> Told:
    """Return the printed odds of many days, and what came; over the machine's processors."""
    made = forecasts_of(truth, studio, dates, lasts)
    asked = [
        HourlyAsked(number, day, one, _near(truth, studio, day), studio)
        for number, (day, one) in enumerate(zip(dates, made, strict=True))
    ]
    with ProcessPoolExecutor() as pool:
        odds, came, alike = zip(*pool.map(_hourly, asked, chunksize=10), strict=True)
    return Told(
        {way: np.concatenate([one[way] for one in odds]) for way in WAYS},
        np.concatenate(came),
        np.concatenate(alike, axis=1),
    )


def _near(truth: Weather, studio: Studio, day: date) -> Weather:
    """Return the hours about a day, which is all that it is planned by."""
    near = np.abs(truth.start_utc - noon(studio, day)) <= np.timedelta64(36, "h")
    names = [name for name, value in vars(truth).items() if isinstance(value, np.ndarray)]
    return replace(truth, **{name: getattr(truth, name)[near] for name in names})


def light_odds(
    truth: Weather, studio: Studio, dates: list[date], lasts: float, ways: tuple[str, ...]
) -> tuple[Told, float]:
    """Return the odds that a day's light is at least a share of a clear one's, and what came.

    The skies are those behind the printed odds, without a plate: cheap enough for a test.

    Returns
    -------
    told : Told
        For each of `SHARES` of each day.
    held : float
        Share of the days whose light lay in its range of 80 %. [1]
    """
    from argentry.sky.place import resolve_place
    from argentry.sky.sky_day import sky_day
    from argentry.sky.weather.climate import season_days
    from argentry.sky.weather.days import hourly_sky, sky_days

    place, shares = resolve_place(studio), np.array(SHARES)
    odds: dict[str, list[Floats]] = {way: [] for way in ways}
    seen, alike, held = [], [], 0
    forecasts = forecasts_of(truth, studio, dates, lasts)
    for number, (day, made) in enumerate(zip(dates, forecasts, strict=True)):
        bright = noon(studio, day) + np.arange(-12, 16) * np.timedelta64(900, "s")
        sky = sky_day(place, bright, ())
        part = sky.global_w_m2 / sky.global_w_m2.sum()
        light = float(hourly_sky(truth, sky).global_share @ part)
        seen.append((light >= shares).astype(np.float64))
        for way in ways:
            days = (
                season_days(sky, day, usual=True)
                if way == CLIMATE
                else sky_days(
                    replace(made, widened=FIXED) if way == FIXED_WAY else made, sky, 200, 1
                )
            )
            drawn = days.global_share @ part
            reached = drawn[:, None] >= shares
            odds[way].append(reached.mean(axis=0))
            if way == KNOWN:
                low, high = np.quantile(drawn, (0.1, 0.9))
                held += bool(low <= light <= high)
                alike.append(reached[_tries(number, len(drawn))].astype(np.float64))
    rows = {way: np.concatenate(one) for way, one in odds.items()}
    told = Told(rows, np.concatenate(seen), np.concatenate(alike, axis=1))
    return told, held / len(dates)


def off_by_chance(told: Told, sure: float = 0.95) -> tuple[float, float]:
    """Return by how much odds that are right are `off`, by chance, so surely at most. [1].

    Odds of one day come true or fail together, so days are drawn, not odds (consistency resampling:
    Broecker and Smith, Weather and Forecasting 22 (2007) 651).
    """
    each = np.array([off(told.odds[KNOWN], row) for row in told.alike])
    mean, worst = np.quantile(each, sure, axis=0)
    return float(mean), float(worst)


def off(odds: Floats, truth: Floats) -> tuple[float, float]:
    """Return by how much odds are off over all groups, and in the worst of them. [1]."""
    groups = calibration(odds, truth)
    apart = [(abs(mean - share), count) for mean, share, count in groups]
    return sum(gap * count for gap, count in apart) / len(odds), max(gap for gap, _ in apart)


def brier(odds: Floats, truth: Floats) -> float:
    """Return Brier's score (Monthly Weather Review 78 (1950) 1). [1]."""
    return float(((odds - truth) ** 2).mean())


def calibration(
    odds: Floats, truth: Floats, groups: int = GROUPS
) -> list[tuple[float, float, int]]:
    """Return by groups of odds of equal width: mean odds, share that came, how many."""
    at = np.minimum((odds * groups).astype(int), groups - 1)
    return [
        (float(odds[at == one].mean()), float(truth[at == one].mean()), int((at == one).sum()))
        for one in range(groups)
        if (at == one).any()
    ]


def spread_over(count: int) -> list[date]:
    """Return so many dates evenly over the year."""
    return [date(YEAR, 1, 3) + timedelta(days=int(at * 360 / count)) for at in range(count)]


def run(draws: int = DAYS) -> Iterator[tuple[str, str]]:
    """Hold the odds of so many days against what came."""
    from argentry import trade

    studio, truth, dates = studio_there(), year_as_it_was(), spread_over(draws)
    part = trade.value("cloud", "forecast_day_part")
    there = studio_there(SAND_POINT), year_as_it_was(SAND_POINT)
    for place, made, hours, lasts in (
        ("", studio, truth, part),
        ("", studio, truth, 1.0),
        ("Sand Point, Alaska: ", *there, part),
    ):
        told, held = light_odds(hours, made, dates, lasts, WAYS)
        name = f"{place}day's light, {100 * lasts:.0f} % of the miss lasts the day"
        yield f"{name}: days in their range of 80 %", f"{100 * held:.0f} % of {draws}"
        yield from _rows(name, told)
    told = hindcast(truth, studio, dates, part)
    yield from _rows(f"printed odds of each hour, {draws} days", told)


def _rows(name: str, told: Told) -> list[tuple[str, str]]:
    mean, worst = off_by_chance(told)
    chance = (
        f"{100 * mean:.1f} points, {100 * worst:.1f} in the worst group, 19 times in 20 at most"
    )
    rows = [(f"{name}: off by chance, were they right", chance)]
    for way, odds in told.odds.items():
        mean, worst = off(odds, told.came)
        groups = calibration(odds, told.came)
        words = ", ".join(f"{100 * m:.0f}→{100 * s:.0f} ({n})" for m, s, n in groups)
        score = f"Brier {brier(odds, told.came):.4f}, off by {100 * mean:.1f} points"
        rows.append((f"{name}: {way}", f"{score}, {100 * worst:.1f} in the worst group; {words}"))
    return rows
