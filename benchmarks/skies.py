"""Minute skies: how fast, and how like a measured month.

The measured month is BSRN Payerne June 2016, 1-min, from pvlib's test data. It is not shipped: take
``tests/data/bsrn-pay0616.dat.gz`` out of pvlib's source archive (``pip download --no-deps
--no-binary pvlib pvlib==0.16.1``) and name it in the environment variable ``ARGENTRY_PAYERNE``.

Each measured figure has two beside it: the project's minute skies, built from nothing but the
hourly means of the same days, and a chain that jumps between sun and cloud from minute to minute,
fitted to the minutes themselves. A month is a small sample: a share is uncertain by about 0.1.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import numpy as np

SUN_DNI = 120.0  # W/m2, sunshine after the WMO
MEMBERS = 6
LOWEST_DEG = 10.0
PAST = (
    ("all", 0.999, 1.1),
    ("80 % to all", 0.8, 0.999),
    ("20 to 80 %", 0.2, 0.8),
    ("less", -1.0, 0.2),
)


def run():
    return [*speed(), *likeness()]


def speed():
    """300 days of 900 minutes, against the minute chain written plainly, one minute at a time."""
    from argentry.physics.lights.sky_ensemble import sky_ensemble

    half, more, elevation = np.full(900, 0.5), np.full(900, 0.7), np.full(900, 40.0)

    def ours():
        return sky_ensemble(half, more, elevation, n=300, seed=1, okta_sd=2.0, hour_sd=0.9)

    ours()
    took = min(timed(ours) for _ in range(5))
    reference = 30.0 * timed(lambda: chain(10, 900, 0.05, 0.03, 1))
    how_much = (
        f"{took / reference:.1f} times the time of a two-state chain in plain Python "
        f"({took * 1e3:.0f} ms to {reference * 1e3:.0f} ms, the latter from 10 days)"
    )
    what = "300 days of 900 minute skies"
    return [(what, how_much), ("peak memory of that, own process", f"{peak_mb():.0f} MB")]


def peak_mb():
    """Peak memory of a process that makes 300 minute skies."""
    import subprocess
    import sys

    script = (
        "import resource, numpy as np\n"
        "from argentry.physics.lights.sky_ensemble import sky_ensemble\n"
        "a = np.full(900, 0.5)\n"
        "sky_ensemble(a, a + 0.2, a * 80, n=300, seed=1, okta_sd=2.0, hour_sd=0.9)\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, check=True, text=True
    )
    return float(done.stdout)


def timed(job):
    begin = time.perf_counter()
    job()
    return time.perf_counter() - begin


def chain(days, minutes, lose, find, seed):
    """Sun or cloud from minute to minute with fixed odds of change; (days, minutes) bool."""
    import random

    dice = random.Random(seed)
    out = []
    for _ in range(days):
        sun = dice.random() < find / (find + lose)
        day = []
        for _ in range(minutes):
            sun = (dice.random() >= lose) if sun else (dice.random() < find)
            day.append(sun)
        out.append(day)
    return np.array(out)


def likeness():
    path = os.environ.get("ARGENTRY_PAYERNE", "")
    if not path or not Path(path).is_file():
        return [
            (
                "MINUTE SKIES AGAINST A MEASURED MONTH: NOT RUN",
                "the measurements are not here; benchmarks/skies.py says how to get them",
            )
        ]
    measured, ours, by_chain = month(path)
    rows = []
    for (what, seen), (_, made), (_, jumped) in zip(
        figures(measured), figures(ours), figures(by_chain), strict=True
    ):
        rows.append((what, f"measured {seen:.3f}, ours {made:.3f}, minute chain {jumped:.3f}"))
    return rows


def month(path):
    """Return (beam, global, clear beam) days: measured, ours, and the chain's."""
    import warnings

    from pvlib.iotools import read_bsrn

    from argentry.records.weather import Weather
    from argentry.sky.place import Place
    from argentry.sky.sky_day import sky_day
    from argentry.sky.weather import days as skies

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        data, about = read_bsrn(path)
    place = Place(
        46.815, 6.944, float(about["altitude"]), "UTC", (), 0.2, None, "Payerne, BSRN station"
    )
    times = data.index.tz_localize(None).to_numpy().astype("datetime64[s]")
    columns = {name: data[name].to_numpy() for name in ("ghi", "dni", "dhi")}
    hours = times.reshape(-1, 60)[:, 0]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # hours with nothing in them
        hourly = {k: np.nanmean(v.reshape(-1, 60), axis=1) for k, v in columns.items()}
    empty = np.full(hours.size, np.nan)
    weather = Weather(
        hours, 3600.0, hourly["ghi"], hourly["dni"], hourly["dhi"], *[empty] * 5, "measured", "BSRN"
    )
    measured, ours = [], []
    for date in np.unique(times.astype("datetime64[D]")):
        day = np.flatnonzero(times.astype("datetime64[D]") == date)
        day = day[sky_day(place, times[day], ()).path.elevation_deg > LOWEST_DEG]
        clear = sky_day(place, times[day], ())
        clear_beam, clear_whole = clear.beam_w_m2, clear.global_w_m2
        dni, ghi = columns["dni"][day], columns["ghi"][day]
        seen = ~np.isnan(dni)
        dni = np.interp(np.arange(day.size), np.flatnonzero(seen), dni[seen])
        measured.append((dni / clear_beam, np.nan_to_num(ghi) / clear_whole, clear_beam))
        made = skies.sky_days(weather, clear, MEMBERS, int(day[0]))
        ours += [
            (b, w, clear_beam) for b, w in zip(made.beam_share, made.global_share, strict=True)
        ]
    sun = [beam * light > SUN_DNI for beam, _, light in measured]
    lose = sum((s[:-1] & ~s[1:]).sum() for s in sun) / sum(s[:-1].sum() for s in sun)
    find = sum((~s[:-1] & s[1:]).sum() for s in sun) / sum((~s[:-1]).sum() for s in sun)
    made = chain(len(ours), max(s.size for s in sun), lose, find, 1)
    usual = np.mean([w[b < 0.05].mean() for b, w, _ in measured if (b < 0.05).any()])
    by_chain = [
        (c[: b.size] * 1.0, np.where(c[: b.size], 1.0, usual), light)
        for c, (b, _, light) in zip(made, ours, strict=True)
    ]
    return measured, ours, by_chain


def figures(days):
    """The figures that matter to a maker, from days of (beam, global, clear beam)."""
    sun = [beam * light > SUN_DNI for beam, _, light in days]
    out = [("share of minutes with sun", float(np.concatenate(sun).mean()))]
    spells = np.concatenate([lengths(s) for s in sun])
    out.append(("sunny spells: median, min", float(np.median(spells))))
    out.append(("sunny spells: 90th percentile, min", float(np.percentile(spells, 90))))
    out.append(
        ("sunny minutes in spells of 2 h and more", spells[spells >= 120].sum() / spells.sum())
    )
    for minutes in (5, 30, 120):
        kept = [np.convolve(s, np.ones(minutes), "valid") > minutes - 0.5 for s in sun]
        now = [s[: k.size] for s, k in zip(sun, kept, strict=True)]
        whole = sum((k & s).sum() for k, s in zip(kept, now, strict=True))
        odds = float(whole / sum(s.sum() for s in now))
        out.append((f"sun now is unbroken for {minutes} min", odds))
    out += [
        (f"memory of global light over {lag} min", memory([whole for _, whole, _ in days], lag))
        for lag in (1, 10, 60, 180)
    ]
    return out + ahead(days, sun)


def ahead(days, sun, minutes=120, past=60):
    """Odds of two hours ahead from a sunny minute, by the sun of the past hour."""
    before, dose, unbroken = [], [], []
    for (beam, _, light), s in zip(days, sun, strict=True):
        start = np.arange(past, s.size - minutes)
        lit = np.concatenate([[0], np.cumsum(s)])
        got = np.concatenate([[0.0], np.cumsum(beam * light)])
        full = np.concatenate([[0.0], np.cumsum(light)])
        start = start[s[start]]
        before.append((lit[start] - lit[start - past]) / past)
        unbroken.append(lit[start + minutes] - lit[start] == minutes)
        dose.append((got[start + minutes] - got[start]) / (full[start + minutes] - full[start]))
    before, dose, unbroken = map(np.concatenate, (before, dose, unbroken))
    out = []
    for words, low, high in PAST:
        here = (before >= low) & (before < high)
        for what, event in (("60 % of a clear dose", dose >= 0.6), ("unbroken sun", unbroken)):
            odds = float(event[here].mean()) if here.any() else float("nan")
            out.append((f"{what} in the next 2 h, sun now, past hour {words}", odds))
    return out


def lengths(sun):
    edges = np.diff(np.concatenate([[0], sun.astype(int), [0]]))
    return np.flatnonzero(edges == -1) - np.flatnonzero(edges == 1)


def memory(series, lag):
    everything = np.concatenate(series)
    middle, spread = everything.mean(), everything.var()
    products = [(x[:-lag] - middle) * (x[lag:] - middle) for x in series]
    return float(np.concatenate(products).mean() / spread)


if __name__ == "__main__":
    for line, figure in run():
        print(f"{line:75s} {figure}")
