"""A season of days at the bench, each with what really happens, in forms that no planner uses.

Clouds are a renewal process of bright and dark spells whose share of the sky wanders, and which no
plan has seen: the clear sky of a plan without a forecast, or a forecast that errs. Steps are gamma
distributed, some go wrong and take half as long again or more, and a whole day may be slow. The
maker comes late, is called away, waits for sitters; faults show at a step as often as the trade
says that a stage goes wrong.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from argentry.day.setting import setting_of
from argentry.needs import step_lengths
from argentry.records.studio import Hours, Site
from argentry.trade.conditions import stage_priors
from benchmarks.plan_judge import days, truth

SEEN = 0.6  # share of faults that show at the bench; the others show when the plate is judged
TRIES, MORE_PLATES = 4, 4
OVERTIME = 240  # minutes after the hours of which the light is known


@dataclass(frozen=True)
class Luck:
    """What happens on one day, whoever works."""

    late: float  # minutes after the hours' begin
    ready: float  # minutes of preparing the room
    calls: tuple  # (minute, minutes) of being called away
    sitter: tuple  # [plate] minute at which a late sitter comes, 0: there in time
    lengths: tuple  # [plate][try][step] minutes
    faults: tuple  # [plate][try] -> {step: "redo" or "lost"}
    light: np.ndarray  # running sum of exposure light, long day
    behind: np.ndarray  # the same behind the filter
    metered: float
    doses: tuple  # [plate]


@dataclass(frozen=True)
class BenchDay:
    """A day with its morning's sheet and what will happen."""

    name: str
    judged: object
    studio: object
    weather: object
    learned: object
    luck: Luck
    steps: tuple  # (key, work, index in the work)

    @property
    def plates(self):
        return self.judged.planned.placed


@lru_cache(maxsize=64)
def season_day(number):
    """The day of that number, planned in the morning; None when it holds no plate."""
    rng = np.random.default_rng([23, number])
    usual, numbers = days.demo()
    zone, longitude = days.ZONES[rng.integers(len(days.ZONES))]
    plates, workers = int(rng.integers(2, 6)), int(rng.choice([1, 1, 2]))
    frames, begin = int(rng.integers(1, 4)), 6.0 + 0.5 * int(rng.integers(0, 7))
    end = min(begin + float(rng.choice([9.0, 10.0, 11.0, 12.0])), 21.0)
    latitude = float(rng.uniform(-45.0, 60.0))
    date = dt.date(2026, 1, 1) + dt.timedelta(days=int(rng.integers(365)))
    noon = round(0.5 * (begin + end))
    lunch = ((days.wall(noon), days.wall(noon + 0.75)),)
    studio = replace(
        usual,
        site=Site(f"Place {number} (invented)", latitude, longitude, 300.0, zone, haze_aod=0.15),
        frames=(replace(usual.frames[0], count=frames),),
        hours=Hours(days.wall(begin), days.wall(end), lunch, workers),
    )
    weather = days.forecast(date, rng) if number % 2 else None
    learned = None if number % 5 == 4 else numbers
    name = (
        f"{number}: {date} {latitude:+.0f} {studio.hours.start}-{studio.hours.end} {plates} pl. "
        f"{workers} h. {frames} fr. {'forecast' if weather else 'no file'}"
        f"{'' if learned else ', new studio'}"
    )
    return bench_day(name, studio, date, plates, weather, learned, rng)


def bench_day(name, studio, date, plates, weather, learned, rng):
    """Plan a day in the morning and draw what happens."""
    judged = days.plan_through_the_door(
        name, studio, date, plates=plates, weather=weather, learned=learned
    )
    if not judged.planned.placed:
        return None
    steps = tuple(
        (task.key, work, index)
        for work, block in enumerate(judged.planned.blocks)
        for index, task in enumerate(block.tasks)
    )
    luck = _draw(judged, studio, date, weather, learned, steps, rng)
    return BenchDay(name, judged, studio, weather, learned, luck, steps)


def _draw(judged, studio, date, weather, learned, steps, rng):
    last = judged.setting.last
    end = judged.sheet.begin + dt.timedelta(minutes=last + OVERTIME)
    late = "23:59" if end.date() > date else f"{end:%H:%M}"
    longer = replace(studio, hours=replace(studio.hours, end=late))
    lit = setting_of(
        longer, date, haze=None, learned=learned, as_written=False, now=None, seed=1
    ).lit.day
    plates = judged.planned.placed + MORE_PLATES
    exposure, ripening = np.diff(lit.exposure_middle), np.diff(lit.frames[0].middle)
    share = _cloud_share(weather, judged.sheet.begin, len(exposure), rng)
    dark = _dark(rng, share)
    under = rng.uniform(0.15, 0.45)
    red = float(np.clip(under * rng.uniform(0.8, 1.2), 0.1, 0.6))
    strays = truth.log_logistic(rng, 0.12)
    exposure = exposure * strays * np.where(dark, under, rng.uniform(0.95, 1.05))
    ripening = ripening * np.where(dark, red, 1.0)
    pace = truth.log_logistic(rng, 0.08)
    known = lit.frames[0]
    own = known.dose * truth.log_logistic(rng, known.dose_doubt_log_sd)
    return Luck(
        late=float(rng.choice([0.0, 1.0]) * rng.uniform(0.0, 60.0)),
        ready=float(
            sum(r.typical_minutes for r in step_lengths.day_rules()) * truth.gamma(rng, 0.25)
        ),
        calls=_calls(rng, last),
        sitter=_sitters(judged, plates, rng),
        lengths=tuple(
            tuple(
                tuple(_minutes(rng, judged, pace, work, index) for _, work, index in steps)
                for _ in range(TRIES)
            )
            for _ in range(plates)
        ),
        faults=tuple(tuple(_faults(rng) for _ in range(TRIES)) for _ in range(plates)),
        light=np.concatenate([[0.0], np.cumsum(exposure)]),
        behind=np.concatenate([[0.0], np.cumsum(ripening)]),
        metered=lit.exposure_dose,
        doses=tuple((own * truth.gamma(rng, known.dose_log_sd, plates)).tolist()),
    )


def _sitters(judged, plates, rng):
    """One sitter in five comes late for the hour that the morning's sheet gave."""
    s, starts = judged.setting, judged.planned.starts
    hours = [*starts[:, s.exposing].tolist(), *([0.0] * (plates - len(starts)))]
    late = [rng.uniform(10.0, 45.0) if rng.uniform() < 0.2 else 0.0 for _ in hours]
    return tuple(at + more if at and more else 0.0 for at, more in zip(hours, late, strict=True))


def _minutes(rng, judged, pace, work, index):
    median, log_sd = judged.setting.works[work].steps[index]
    wrong = rng.uniform(1.5, 2.5) if rng.uniform() < 0.04 else 1.0
    return float(median * pace * wrong * truth.gamma(rng, log_sd))


def _calls(rng, last):
    """Calls away from the bench, one in four hours."""
    now, found = rng.exponential(240.0), []
    while now < last:
        found.append((float(now), float(rng.uniform(10.0, 40.0))))
        now += rng.exponential(240.0)
    return tuple(found)


def _faults(rng):
    """Where faults show: polish and coat are done again, the others spoil the plate."""
    wrong = {key: SEEN * (1.0 - prior.ok_middle) for key, prior in stage_priors().items()}
    found = {}
    for stage, step in (("polish", "final_buff"), ("coat", "iodise")):
        if rng.uniform() < wrong[stage]:
            found[step] = "redo"
    if rng.uniform() < wrong["exposure"] + wrong["development"]:
        found["develop" if rng.uniform() < 0.5 else "look"] = "lost"
    if rng.uniform() < wrong["finish"]:
        found["inspect"] = "lost"
    return found


def _cloud_share(weather, begin, minutes, rng):
    """Share of the sky under cloud by minute, as it really is."""
    slow = np.repeat(np.cumsum(rng.normal(0.0, 0.09, minutes // 60 + 2)), 60)[:minutes]
    if weather is None:
        clear, broken, dull = (0.0, 0.1), (0.2, 0.7), (0.7, 1.0)
        kind = rng.uniform()
        level = rng.uniform(*(clear if kind < 0.35 else broken if kind < 0.7 else dull))
        return np.clip(level + slow, 0.0, 1.0)
    at = np.datetime64(begin.astimezone(dt.UTC).replace(tzinfo=None), "s")
    hours = ((at - weather.start_utc[0]) / np.timedelta64(3600, "s")) + np.arange(minutes) / 60.0
    said = np.interp(hours, np.arange(len(weather.cloud_share)) + 0.5, weather.cloud_share)
    return np.clip(said + rng.normal(0.0, 0.15) + slow, 0.0, 1.0)


def _dark(rng, share):
    """Spells without sun, as many as the share of cloud asks for."""
    out, now = np.zeros(len(share), dtype=bool), 0
    dark = rng.uniform() < share[0]
    cycle = rng.uniform(15.0, 60.0)
    while now < len(share):
        part = float(np.clip(share[now], 0.02, 0.98))
        mean = cycle * (part if dark else 1.0 - part)
        lasts = max(round(mean / math.gamma(1.0 + 1.0 / 0.8) * rng.weibull(0.8)), 1)
        out[now : now + lasts] = dark
        now, dark = now + lasts, not dark
    return out
