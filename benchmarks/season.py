"""Ten places through twenty weather years: beside the day's plan and pvlib's clear sky."""

from __future__ import annotations

import contextlib
import resource
import subprocess
import sys
from dataclasses import replace
from datetime import date
from time import perf_counter, process_time

import numpy as np

FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)
PLACES, YEARS, CHECKED = 10, 20, 12


def places(count: int = PLACES):
    """An invented studio at places from south to north, by the clouds usual there."""
    from argentry.demo.studio import invented_studio
    from argentry.records.studio import Site

    studio = invented_studio(0.0006)
    sites = [
        Site(f"place {at}", float(latitude), 0.0, 100.0, "UTC")
        for at, latitude in enumerate(np.linspace(-45.0, 65.0, count))
    ]
    return [(replace(studio, site=site), None) for site in sites]


def seconds(call, clock=perf_counter):
    start = clock()
    answer = call()
    return answer, clock() - start


def peak_mb() -> float:
    """Peak memory of a process that does nothing but the season."""
    code = "from benchmarks.season import whole; print(whole())"
    out = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return float(out.stdout)


def whole() -> float:
    from argentry.desk.season import season

    season(places(), FIRST, LAST, years=YEARS, processes=1)
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def one_day_by_plan() -> float:
    """Processor seconds of the plan of one day at one place, of the day as it is planned today."""
    from argentry.day.plan import make_day
    from argentry.records.weather import Outlook

    studio, usual = places(1)[0][0], Outlook(usual=True)
    _, first = seconds(lambda: make_day(studio, date(2026, 6, 1), outlook=usual), process_time)
    _, again = seconds(lambda: make_day(studio, date(2026, 3, 1), outlook=usual), process_time)
    return min(first, again)


def pvlib_year() -> float:
    """Processor seconds of pvlib's clear sky over a year of ten minutes at ten places."""
    import pandas as pd
    import pvlib

    times = pd.date_range("2026-01-01", "2027-01-01", freq="10min", tz="UTC", inclusive="left")

    def run():
        for studio, _ in places():
            site = studio.site
            pvlib.location.Location(
                site.latitude_deg, site.longitude_deg, altitude=100.0
            ).get_clearsky(times)

    return seconds(run, process_time)[1]


def against_planner() -> list[int]:
    """Plates of the rule less those of the planner, on seeded days under the same sky."""
    from argentry.day.day_clock import clock_of
    from argentry.day.planner_light import lit_day
    from argentry.day.season.years import SeasonAsked, season_years, span_of
    from argentry.day.setting import setting_of
    from argentry.plan import choose
    from argentry.plan.day import plan_day
    from argentry.plan.problem import shop_of
    from argentry.plan.tasks import blocks_of
    from argentry.sky.weather.days import SkyDays
    from argentry.sky.weather.years import NODE_MINUTES, YearSkies, climate_of

    studio = replace(places(1)[0][0], site=replace(places(1)[0][0].site, latitude_deg=43.0))
    dates = span_of(FIRST, LAST)
    climate = climate_of(None, dates, 1)
    found = season_years(SeasonAsked(studio, climate, dates, 1), (1,))
    begins = np.array([clock_of(studio, day).times_utc()[0] for day in dates])
    knots = np.arange(12) * NODE_MINUTES
    nodes = begins[:, None] - np.timedelta64(30, "s") + (60.0 * knots).astype("timedelta64[s]")
    apart, shares = [], None
    for at in sorted(np.random.default_rng(7).choice(len(dates), CHECKED, replace=False)):
        made = setting_of(
            studio, dates[at], haze=None, learned=None, as_written=False, now=None,
            seed=1,
        )  # fmt: skip
        shares = shares or YearSkies(climate, made.sky.place, dates, nodes).of_year(1, 1)
        length = made.clock.minutes
        beam, level = (np.interp(np.arange(length) + 0.5, knots, part[at]) for part in shares)
        first = made.clock.first_in(made.sky.times_utc)
        skies = SkyDays(beam[None], level[None], beam, level, "", ())
        lit = lit_day(
            made.studio, made.sky.part(first, first + length), skies, length, varied=False
        )
        wanted = replace(made, lit=lit).wanted(12)
        shop = shop_of(wanted, blocks_of(wanted.tasks), 12)
        most = choose.most_by_rule(shop, 1, choose.RULE_DRAWS)
        planned = plan_day(replace(wanted, plates=most + 1), effort=2.0, simulated_days=10)
        apart.append(int(found.plates[0, at]) - max(most, planned.most))
    return apart


def run() -> list[tuple[str, str]]:
    from argentry.desk.season import season
    from argentry.records.plain import plain

    season(places(1), FIRST, FIRST, years=1)  # tables are read once
    one, alone = seconds(
        lambda: season(places(), FIRST, LAST, years=YEARS, processes=1), process_time
    )
    _, wall = seconds(lambda: season(places(), FIRST, LAST, years=YEARS, processes=1))
    two, shared = seconds(lambda: season(places(), FIRST, LAST, years=YEARS, processes=2))
    by_plan = one_day_by_plan() * PLACES * YEARS * 365
    clear = pvlib_year()
    apart = against_planner()
    rows = [
        (
            f"{PLACES} places, {YEARS} years at 10 minutes, one process",
            f"{alone:.1f} s of a processor (wanted: 5), {wall:.1f} s by the clock",
        ),
        (
            "the same by the plan of each day, from one of them",
            f"{by_plan / 3600.0:.0f} h, {by_plan / alone:,.0f} times as long",
        ),
        (
            "pvlib's clear sky of one year alone at those places, in this run",
            f"{clear:.1f} s; the season takes {alone / clear:.2f} times that",
        ),
        (
            "two processes",
            f"{shared:.1f} s, {wall / shared:.1f} times as fast; same: {plain(one) == plain(two)}",
        ),
        ("peak memory of a process", f"{peak_mb():.0f} MB (wanted: under 500)"),
        (
            f"plates of the rule less the planner's, on {CHECKED} days under the same sky",
            f"mean {np.mean(apart):+.2f}, from {min(apart):+d} to {max(apart):+d}",
        ),
    ]
    with contextlib.suppress(ImportError):
        from distributed import LocalCluster

        with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
            address = cluster.scheduler_address
            season(places(1), FIRST, FIRST, years=1, cluster=address)
            there, spent = seconds(
                lambda: season(places(), FIRST, LAST, years=YEARS, cluster=address)
            )
        same = plain(one) == plain(there)
        rows.append(("a local Dask cluster of two", f"{spent:.1f} s; same numbers: {same}"))
    return rows
