"""Days to be judged: invented studios all over the world, planned through the public door."""

from __future__ import annotations

import datetime as dt
import tempfile
import time
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from argentry.day import plan as door
from argentry.demo.studio import invented_studio
from argentry.needs.camera import Camera, camera_values
from argentry.needs.numbers import studio_now
from argentry.records.instruments import Lamp
from argentry.records.studio import Hours, Site
from argentry.records.weather import Weather
from argentry.sky.place import resolve_place
from argentry.sky.sky_day import sky_day
from benchmarks.plan_judge.setting import Setting, setting_of

ZONES = tuple(
    (f"Etc/GMT{-hours:+d}" if hours else "Etc/GMT", 15.0 * hours) for hours in range(-8, 9)
)


@dataclass(frozen=True, eq=False)
class Judged:
    """One planned day with what the judge needs of it."""

    name: str
    question: object  # what the planner was asked
    planned: object  # what it answered
    sheet: object  # what is printed
    setting: Setting
    camera: float  # spread of what a plate needs before the camera [stops]
    seconds: float  # of planning, wall


def plan_through_the_door(name, studio, date, **options):
    """Plan as `argentry day` does and catch question and answer on the way."""
    caught = []
    inner = door.plan_day

    def listen(question, *rest, **more):
        answer = inner(question, *rest, **more)
        caught.append((question, answer))
        return answer

    door.plan_day = listen
    try:
        began = time.perf_counter()
        sheet = door.make_day(studio, date, **options)
        took = time.perf_counter() - began
    finally:
        door.plan_day = inner
    question, planned = caught[-1]
    taught = studio_now(studio, options.get("learned")).studio
    camera = camera_values(Camera(), taught).speed_sigma_stops
    setting = setting_of(question, planned.blocks)
    return Judged(name, question, planned, sheet, setting, camera, took)


@lru_cache(maxsize=64)
def seeded(number):
    """The day of that number: place, date, hours, hands, frames, plates and weather by its seed."""
    rng = np.random.default_rng([9, number])
    zone, longitude = ZONES[rng.integers(len(ZONES))]
    plates = int(rng.choice(np.arange(1, 13), p=_falling(12)))
    workers, frames = int(rng.integers(1, 5)), int(rng.integers(1, 7))
    begin = 5.0 + 0.5 * int(rng.integers(0, 9))
    end = min(begin + 0.5 * int(rng.integers(15, 31)), 22.0)
    noon = round(0.5 * (begin + end))
    date = dt.date(2026, 1, 1) + dt.timedelta(days=int(rng.integers(365)))
    latitude = float(rng.uniform(-45.0, 60.0))
    usual = invented_studio(speed())
    lamp = replace(usual.frames[0], name="Lamp frame (invented)", lamp=Lamp(500.0, 0.3), count=1)
    studio = replace(
        usual,
        site=Site(
            f"Place {number} (invented)", latitude, longitude, float(rng.uniform(0, 1500)), zone,
            haze_aod=float(rng.uniform(0.05, 0.3)),
        ),
        frames=(replace(usual.frames[0], count=frames),) + ((lamp,) if rng.uniform() < 0.2 else ()),
        hours=Hours(
            wall(begin), wall(end), ((wall(noon), wall(noon + 0.75)),) if rng.uniform() < 0.8
            else (), workers,
        ),
    )  # fmt: skip
    kind = int(rng.integers(3))
    weather = (None, clear(studio, date), forecast(date, rng))[kind]
    name = (
        f"{number}: {date} {latitude:+.0f} {wall(begin)}-{wall(end)} {plates} pl. {workers} h. "
        f"{frames} fr. {('no file', 'clear', 'forecast')[kind]}"
    )
    return plan_through_the_door(name, studio, date, plates=plates, weather=weather)


def _falling(most):
    weight = 1.0 / np.arange(1.5, most + 1.0)
    return weight / weight.sum()


def wall(hour):
    return f"{int(hour):02d}:{round(60 * (hour % 1)):02d}"


def speed():
    from argentry import trade

    return trade.value("exposure", "plate_speed")


def _hours(date):
    start = np.datetime64(date, "s") - np.timedelta64(24, "h")
    return start + np.arange(72) * np.timedelta64(3600, "s")


def clear(studio, date):
    """Hours measured under the sky that the clear-sky model gives: nothing of the sky is unsure."""
    starts = _hours(date)
    moments = starts[:, None] + (np.arange(12) * 300 + 150).astype("timedelta64[s]")
    day = sky_day(resolve_place(studio), moments.ravel(), ())
    beam, whole = (v.reshape(moments.shape).mean(axis=1) for v in (day.beam_w_m2, day.global_w_m2))
    return _weather(starts, "measured", ghi_w_m2=whole, dni_w_m2=beam)


def forecast(date, rng):
    """A forecast of cloud, hour by hour."""
    starts = _hours(date)
    slow = np.cumsum(rng.normal(0.0, 0.08, len(starts)))
    cover = np.clip(rng.uniform(0.1, 0.8) + slow, 0.0, 1.0)
    return _weather(starts, "forecast", cloud_share=cover)


def _weather(starts, kind, **given):
    nothing = np.full(len(starts), np.nan)
    fields = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "cloud_share", "sunshine_share")
    fields += ("temperature_c", "relative_humidity_pct", "haze_aod")
    columns = {name: given.get(name, nothing) for name in fields}
    return Weather(starts, 3600.0, **columns, kind=kind, source="invented for the benchmark")


@lru_cache(maxsize=1)
def demo():
    """The demo's studio and what its year of plates has taught."""
    from argentry.demo.write import write_demo
    from argentry.desk.numbers.studio_numbers import day_numbers
    from argentry.keeping.studio import load_studio

    folder = Path(tempfile.mkdtemp(prefix="argentry-judge-")) / "studio"
    write_demo(folder)
    numbers, _, _ = day_numbers(folder)
    return load_studio(folder), numbers


NAMED = (
    ("21 December, hours from 06:00, 2 plates", dt.date(2026, 12, 21), 3, 2, 0.95),
    ("21 June, one frame, 2 plates", dt.date(2026, 6, 21), 1, 2, 0.90),
    ("21 June, three frames, 3 plates", dt.date(2026, 6, 21), 3, 3, 0.95),
)


@lru_cache(maxsize=12)
def named(which, learned=True):
    """One of three days that the plan must hold, under a sky measured clear."""
    name, date, frames, plates, _ = NAMED[which]
    studio, numbers = demo()
    hours = replace(studio.hours, start="06:00") if which == 0 else studio.hours
    studio = replace(studio, hours=hours, frames=(replace(studio.frames[0], count=frames),))
    return plan_through_the_door(
        name, studio, date, plates=plates, weather=clear(studio, date),
        learned=numbers if learned else None,
    )  # fmt: skip
