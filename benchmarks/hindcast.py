"""Printed odds held against a real year of hours: forecasts made of it by noise of known size.

The year is NREL's typical year of Greensboro as it comes with pvlib (Wilcox and Marion, Users
Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008): hours as they were, each month of another year.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.day.setting import DaySetting
    from argentry.records.studio import Studio
    from argentry.records.weather import Weather

    Floats = NDArray[np.float64]

FILE = "723170TYA.CSV"
YEAR, SEED = 2026, 4
FIXED = 1.0  # of the usual miss: what a forecast of unknown record is taken for
# how far forecasts miss over what is usual a day ahead, and what is known of that
SIZES = (0.6, 1.5)
GROUPS = 5  # of odds, by their size
DAYS = 300


class Told(NamedTuple):
    """Odds as they were printed, by the way they were made, and whether it came so."""

    odds: dict[str, Floats]
    came: Floats


def year_as_it_was(path: Path | None = None) -> Weather:
    """Return the hours of the file as measured hours of one calendar year."""
    from argentry.desk.weather import read_weather

    found = path or Path(str(files("pvlib"))) / "data" / FILE
    typical = read_weather(found, None)
    offset = np.timedelta64(5, "h")  # the file's standard time
    local = typical.start_utc - offset
    months = local.astype("datetime64[M]")
    into = local - months.astype("datetime64[s]")
    here = np.datetime64(f"{YEAR}-01", "M") + (months.astype(int) % 12)
    start = here.astype("datetime64[s]") + into + offset
    order = np.argsort(start)
    rows = {
        name: getattr(typical, name)[order]
        for name in (
            "ghi_w_m2", "dni_w_m2", "dhi_w_m2", "cloud_share", "sunshine_share", "temperature_c",
            "relative_humidity_pct", "haze_aod",
        )
    }  # fmt: skip
    return replace(typical, start_utc=start[order], kind="measured", source=FILE, **rows)


def studio_there(folder: Path) -> Studio:
    """Return the invented studio, moved to the place of the file."""
    from argentry.demo.write import write_demo
    from argentry.desk.studio import load_studio
    from argentry.records.studio import Site

    write_demo(folder)
    site = Site("Greensboro", 36.1, -79.95, 273.0, "America/New_York")
    return replace(load_studio(folder), site=site)


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
    from argentry.physics.cloud import okta_at_beam
    from argentry.sky.place import resolve_place
    from argentry.sky.weather.hours import sky_with_file
    from argentry.sky.weather.skill import miss_okta

    noon = np.datetime64(f"{day}T17:00", "s")
    near = np.abs(truth.start_utc - noon) <= np.timedelta64(16, "h")
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


def odds_by_hour(day: DaySetting) -> Floats:
    """Return what the sheet prints of each hour: light for an exposure, and ripe by the end."""
    from argentry.day.tables import end_tables, hours
    from argentry.plan.tasks import blocks_of

    rows = hours(day.clock, day.lit, blocks_of(day.tasks), end_tables(day.lit, 1))
    return np.array([(row.exposure_suffices, row.development_suffices) for row in rows]).ravel()


def came(day: DaySetting, draw: int) -> Floats:
    """Return the same of one of the days that the measured hours leave open: it came, or not."""
    from argentry.day.tables import end_tables, take_out_minutes
    from argentry.plan.tasks import blocks_of

    tables = end_tables(day.lit, 1)
    first = -day.clock.begin.minute % 60
    deadline = day.clock.minutes - take_out_minutes(blocks_of(day.tasks))
    each = []
    for minute in range(first, day.clock.minutes, 60):
        ripe = any(table[draw, minute] <= deadline for table in tables.ripe)
        each += [float(np.isfinite(tables.exposures[draw, minute])), float(ripe)]
    return np.array(each)


def hindcast(
    truth: Weather, studio: Studio, dates: list[date], lasts: float, ways: tuple[str, ...]
) -> Told:
    """Return the printed odds of many days, and what came."""
    odds: dict[str, list[Floats]] = {way: [] for way in ways}
    seen: list[Floats] = []
    for number, day in enumerate(dates):
        made = forecast_of(truth, studio, day, SIZES[number % len(SIZES)], lasts)
        under = {"known size": made, "fixed spread": replace(made, widened=FIXED), "climate": None}
        for way in ways:
            odds[way].append(odds_by_hour(setting(studio, day, under[way])))
        seen.append(came(setting(studio, day, truth), number % 200))
    return Told({way: np.concatenate(rows) for way, rows in odds.items()}, np.concatenate(seen))


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


def run(draws: int = DAYS) -> list[tuple[str, str]]:
    """Hold the odds of so many days against what came."""
    import tempfile

    from argentry import trade

    rows = []
    with tempfile.TemporaryDirectory() as place:
        studio = studio_there(Path(place) / "studio")
        truth = year_as_it_was()
        part = trade.value("cloud", "forecast_day_part")
        for name, lasts, ways in (
            ("misses as the trade's facts say", part, ("known size", "fixed spread", "climate")),
            ("misses that last the day", 1.0, ("known size",)),
        ):
            told = hindcast(truth, studio, spread_over(draws), lasts, ways)
            for way, odds in told.odds.items():
                groups = calibration(odds, told.came)
                off = max(abs(mean - share) for mean, share, _ in groups)
                words = ", ".join(f"{100 * m:.0f}→{100 * s:.0f} ({n})" for m, s, n in groups)
                rows.append(
                    (
                        f"{name}; {way}; {draws} days",
                        (
                            f"Brier {brier(odds, told.came):.4f}; "
                            f"at most {100 * off:.1f} points off; {words}"
                        ),
                    )
                )
    return rows
