"""Ask the public functions, and count how often the truth lies in the range."""

from __future__ import annotations

import os
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from itertools import repeat
from math import inf, log2
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

import argentry
from benchmarks.coverage import book, page, truth

QUESTIONS = 10  # of one studio with plates; each new studio is asked one of a kind
KINDS = (
    "exposure, clear, no file",
    "exposure, clear, with file",
    "exposure, shade, no file",
    "exposure, shade, with file",
    "exposure, overcast, no file",
    "exposure, overcast, with file",
    "development, sun, no file",
    "development, sun, with file",
    "development, overcast, with file",
    "development, lamp",
    "fuming",
)


NO_END = "; no upper end {part:.0f} %, of which {percent:.0f} % within (90 promised)"


@dataclass
class Tally:
    """What fell below and above, and the width; a group is one studio.

    Each end promises that one case in ten lies beyond it. Where the light may end first a range has
    a lower end only, and where it is sure to, none: that is judged by whether the light did end
    first. What holds is what misses neither end: all draws judge the lower one, those with an upper
    end judge the upper one. Without open ends that is the share within.
    """

    groups: dict = field(default_factory=dict)  # of (below, above or None) of each draw
    widths: list = field(default_factory=list)
    offs: list = field(default_factory=list)

    def add(self, group, true, middle, low, high):
        low, high = (inf if low is None else low), (inf if high is None else high)
        if middle and true < inf:
            self.offs.append(log2(true / middle))
        self.groups.setdefault(group, []).append((true < low, None if high == inf else true > high))
        if low > 0 and high < inf:
            self.widths.append(log2(high / low))

    @property
    def all(self):
        return [one for asked in self.groups.values() for one in asked]

    @property
    def open(self):
        """Return of each range without an upper end whether the truth lay in it."""
        return [not below for below, above in self.all if above is None]

    @property
    def below(self):
        """Return the share of all draws below the lower end."""
        return np.mean([below for below, _ in self.all])

    @property
    def above(self):
        """Return the share above the upper end, of the draws that have one."""
        return np.mean([above for _, above in self.all if above is not None] or [0.0])

    @property
    def between(self):
        """Return the share within, of the ranges with two ends."""
        two = [not (below or above) for below, above in self.all if above is not None]
        return np.mean(two) if two else np.nan

    def share(self):
        """Return what missed neither end, and its standard error by studios."""
        ends = max(self.count - len(self.open), 1)
        off = [  # draws of one studio share its truth
            sum(
                (below - self.below) / self.count
                + (0.0 if above is None else (above - self.above) / ends)
                for below, above in asked
            )
            for asked in self.groups.values()
        ]
        return 1.0 - self.below - self.above, np.sqrt(np.sum(np.square(off)))

    @property
    def count(self):
        return len(self.all)

    def told(self):
        ends = ""
        if self.open:
            part = 100 * len(self.open) / self.count
            ends = NO_END.format(part=part, percent=100 * np.mean(self.open))
        share, error = self.share()
        kept = "kept" if 0.75 <= share <= 0.85 else ("narrow" if share < 0.75 else "wide")
        return (
            f"{100 * share:5.1f} % ± {100 * error:.1f}  {kept:<6}  "
            f"shorter {100 * self.below:4.1f} %, longer {100 * self.above:4.1f} %; "
            f"two ends {100 * self.between:.1f} %; "
            f"width {np.median(self.widths or [inf]):.1f} stops; "
            f"truth {np.median(self.offs or [inf]):+.2f} stops off{ends}"
        )


def weather_file(rng, day, folder, *, covered):
    """Write the day's hours as a forecast: level light and cloud, wrong as forecasts are."""
    if covered:
        wrong = rng.normal(0.0, truth.FORECAST_DAY) + rng.normal(0.0, truth.FORECAST_HOUR, 24)
    else:
        wrong = np.full(24, rng.normal(0.0, truth.FORECAST_CLEAR))
    lines = [
        "# time_zone: UTC",
        "# stamp: start",
        "# kind: forecast",
        "time,ghi_w_m2,cloud_percent",
    ]
    for hour in range(24):
        high = np.sin(np.radians(day.height[hour * 60 : hour * 60 + 60]))
        clear = np.where(high > 0.01, 1098.0 * high * np.exp(-0.057 / np.maximum(high, 0.01)), 0.0)
        share = min(day.by_hour[hour] * np.exp(wrong[hour]), 1.05)  # none forecasts more than clear
        level = float(clear.mean()) * share
        cover = 100 if covered else 0
        lines.append(f"{book.at(day.day, hour * 60):%Y-%m-%dT%H:%M},{level:.1f},{cover}")
    path = folder / "forecast.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return argentry.read_weather(path)


def begin_of(rng, studio, least_deg):
    """Return a day of the year and a minute at which the sun stands high enough."""
    while True:
        day, minute = int(rng.integers(1, 366)), int(rng.integers(8 * 60, 16 * 60))
        if truth.sun_height(studio.lat, day, minute / 60.0) >= least_deg:
            return day, minute


def day_with_file(rng, studio, folder, *, covered):
    """Return a day, the minute asked at and the forecast of it."""
    number, minute = begin_of(rng, studio, 12.0)
    day = truth.draw_day(rng, studio, number, covered=covered, asked_at=minute)
    return day, minute, weather_file(rng, day, folder, covered=covered)


def question(rng, kind, studio, known, filed):
    """Return (true, middle, low, high) of one question; `filed` has days with a forecast."""
    place = {"lat": studio.lat, "lon": 0.0, "tz": "UTC"} if not known else {}
    if kind == "fuming":
        box_c = rng.uniform(*truth.FUME_C)
        gap = book.GAP_MM if known else rng.uniform(*truth.FUME_GAP_MM)
        own = truth.mixed(rng, truth.FUME_PLATE, truth.FUME_ASTRAY)
        true = truth.fume_seconds(studio, own, box_c, gap)
        asked = {"box_temperature_c": box_c + rng.normal(0.0, 0.5)}
        if not known:
            asked["gap_mm"] = gap + rng.normal(0.0, 1.0)
        told = argentry.fume(truth.FUME_NM, **known, **asked)
        return (true, told.seconds, *told.seconds_80)
    covered = "overcast" in kind
    if "with file" in kind:
        day, minute, weather = filed[covered]
        sky = {"weather": weather}
    else:
        number, minute = begin_of(rng, studio, 12.0)
        day, sky = truth.draw_day(rng, studio, number, covered=covered), {}
    when = book.at(day.day, minute)
    if kind == "development, lamp":
        watts, metres = float(rng.choice([100, 200, 300, 500])), rng.uniform(0.25, 0.6)
        own = truth.mixed(rng, truth.DEVELOP_PLATE, truth.DEVELOP_ASTRAY)
        true = truth.lamp_minutes(studio, own, watts, metres)
        told = argentry.develop(when, **place, **known, lamp_w=watts, lamp_m=metres)
        return (true, told.minutes, *told.minutes_80)
    if kind.startswith("development"):
        own = truth.mixed(rng, truth.DEVELOP_PLATE, truth.DEVELOP_ASTRAY)
        light = truth.red_light(day, covered=covered)
        true = truth.develop_minutes(studio, own, light, minute)
        told = argentry.develop(when, **place, **known, **sky)
        return (true, told.minutes, *told.minutes_80)
    plane = "overcast" if covered else ("shade" if "shade" in kind else "sun")
    light = truth.exposure_light(day, plane, studio, rng)
    own = truth.mixed(rng, truth.PLATE_STOPS, truth.ASTRAY_STOPS)
    f_number = 4.0 if known else float(rng.choice([2.8, 4.0, 5.6]))
    true = truth.exposure_minutes(studio, own, light, minute, f_number)
    told = argentry.expose(when, **place, **known, **sky, f_number=f_number, plane=plane)
    return (true, told.minutes, *told.minutes_80)


def of_studio(number, with_plates, draws, seed):
    """Return (kind, true, middle, low, high) of every question asked of one studio."""
    rng = np.random.default_rng([seed, with_plates, number])
    studio, known = truth.draw_studio(rng), {}
    with TemporaryDirectory() as name:
        folder = Path(name)
        if with_plates:
            own = folder / "studio"
            book.write(rng, studio, own)
            known = {"studio": argentry.load_studio(own)}
            known["plates"] = argentry.load_plates(studio=own)
        found = []
        for _ in range(draws):
            # questions of different kinds may share a day: each kind is counted by itself
            filed = {
                covered: day_with_file(rng, studio, folder, covered=covered)
                for covered in (False, True)
            }
            found += [(kind, *question(rng, kind, studio, known, filed)) for kind in KINDS]
        return found


def tallies(draws, seed, *, with_plates):
    """Return a tally for every kind of question; studios are shared out over the processors."""
    each = min(QUESTIONS, draws) if with_plates else 1
    asked = [min(each, draws - first) for first in range(0, draws, each)]
    found = {kind: Tally() for kind in KINDS}
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        studios = pool.map(
            of_studio, range(len(asked)), repeat(with_plates), asked, repeat(seed), chunksize=4
        )
        for number, questions in enumerate(studios):
            for kind, *answer in questions:
                found[kind].add(number, *answer)
    return found


def rows(draws, seed):
    began = time.perf_counter()
    both = []
    for title, with_plates in (("new studio", False), ("100 plates", True)):
        both.append(tallies(draws, seed, with_plates=with_plates))
        for kind in KINDS:
            yield f"{title}: {kind}", both[-1][kind].told()
    page.write(draws, seed, *both)
    yield f"total time for {draws} draws of each kind", f"{time.perf_counter() - began:.0f} s"
