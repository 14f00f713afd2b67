"""The days of a season at one place through weather years: light, odds by the hour, plates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from argentry import trade
from argentry.arrays import Floats, Truth, Whole
from argentry.day.day_clock import clock_of
from argentry.day.planner_light import filters_of, frames_of, longest_pose_min
from argentry.day.season.pace import Lights, Pace, pace_of, plates_of_days
from argentry.errors import BadInput
from argentry.needs import step_lengths
from argentry.needs.camera import Camera, camera_values
from argentry.needs.camera_time import exposure_dose
from argentry.needs.over_iodine import box_today, seconds_over_iodine
from argentry.physics.picture.dose import LightSums, cumulative_j_m2
from argentry.plan.tasks import blocks_of
from argentry.records.studio import Studio
from argentry.sky.place import resolve_place
from argentry.sky.sky_day import SkyDay, sky_day
from argentry.sky.weather.years import NODE_MINUTES, Climate, YearSkies

STEP_MINUTES = 10.0
MINUTE = np.timedelta64(60, "s")


@dataclass(frozen=True)
class SeasonAsked:
    """A season at one place.

    Attributes
    ----------
    studio : Studio
        Hands, instruments, the maker's numbers, and the site.
    climate : Climate
        Weather years there.
    dates : tuple of date
        In the site's zone.
    seed : int
        For years that are drawn and for plates.
    """

    studio: Studio
    climate: Climate
    dates: tuple[date, ...]
    seed: int


@dataclass(frozen=True)
class SeasonYears:
    """What weather years made of a season's n days.

    Attributes
    ----------
    years : tuple of int
        Those of the climate that could be had.
    gaps : tuple of int
        Those that the file has gaps in.
    hours : tuple of float
        Full hours of the clock, from the start of the day's hours. [min]
    plates : Whole, shape (years, n)
        That the day holds.
    exposure, finished : Truth, shape (years, n, hours)
        Whether a plate could be exposed at that hour, and be finished that day as well.
    pose_minutes : Floats, shape (years, n)
        Shortest exposure at one of those hours; NaN for none. [min]
    level_kwh_m2 : Floats, shape (years, n)
        Light on level ground within the hours. [kWh/m2]
    sun_up : Truth, shape (n,)
        Whether the sun stands over the skyline within the hours.
    """

    years: tuple[int, ...]
    gaps: tuple[int, ...]
    hours: tuple[float, ...]
    plates: Whole
    exposure: Truth
    finished: Truth
    pose_minutes: Floats
    level_kwh_m2: Floats
    sun_up: Truth


def joined(parts: Sequence[SeasonYears]) -> SeasonYears:
    """Return the years of several parts of one season as one, in their order."""

    def every(name: str) -> Floats:
        return np.concatenate([getattr(part, name) for part in parts])

    return replace(
        parts[0],
        years=tuple(year for part in parts for year in part.years),
        gaps=tuple(year for part in parts for year in part.gaps),
        plates=every("plates").astype(np.int64),
        exposure=every("exposure").astype(np.bool_),
        finished=every("finished").astype(np.bool_),
        pose_minutes=every("pose_minutes"),
        level_kwh_m2=every("level_kwh_m2"),
    )


def season_years(asked: SeasonAsked, years: Sequence[int]) -> SeasonYears:
    """Return what some weather years make of a season at a place.

    A year comes out the same whichever others are asked for with it.
    """
    studio, place = asked.studio, resolve_place(asked.studio)
    clocks = [clock_of(studio, day) for day in asked.dates]
    begins = np.array([clock.times_utc()[0] for clock in clocks]) - MINUTE // 2
    minutes = np.array([clock.minutes for clock in clocks])
    steps = int(np.ceil(minutes.max() / STEP_MINUTES))
    middles = (np.arange(steps) + 0.5) * STEP_MINUTES
    times = begins[:, None] + (60.0 * middles).astype("timedelta64[s]")
    day = sky_day(place, times.ravel(), filters_of(studio))
    knots = np.arange(int(np.ceil(minutes.max() / NODE_MINUTES)) + 1) * NODE_MINUTES
    nodes = begins[:, None] + (60.0 * knots).astype("timedelta64[s]")
    skies = YearSkies(asked.climate, place, asked.dates, nodes)
    found, shares, luck = [], [], []
    for year in years:
        try:
            shares.append(skies.of_year(year, asked.seed))
        except BadInput:  # a gap in the file: told, and left out
            continue
        found.append(year)
        luck.append(np.random.default_rng([asked.seed, year, 1]).standard_normal(len(clocks)))
    gaps = tuple(year for year in years if year not in found)
    hours = hours_of(studio, int(minutes.max()))
    over = day.over_skyline.reshape(times.shape)
    sun_up = np.asarray(over.any(axis=1))
    if not found:
        none = np.zeros((0, len(clocks)))
        flags = np.zeros((0, len(clocks), len(hours)), dtype=np.bool_)
        return SeasonYears((), gaps, hours, none.astype(np.int64), flags, flags, none, none, sun_up)
    weights = _between(middles, knots)
    beam, level = (np.stack([one[part] for one in shares]) @ weights for part in range(2))
    pace = pace_here(studio, float(minutes.min()))
    lights, level_j = _lights(studio, day, over, beam, level, np.concatenate(luck), minutes)
    exposure, finished, pose = _by_hour(lights, pace, hours)
    plates = plates_of_days(lights, pace, _openings(lights, pose))
    shape = (len(found), len(clocks))
    return SeasonYears(
        years=tuple(found),
        gaps=gaps,
        hours=hours,
        plates=plates.reshape(shape),
        exposure=exposure.reshape(*shape, -1),
        finished=finished.reshape(*shape, -1),
        pose_minutes=pose.reshape(shape),
        level_kwh_m2=level_j.reshape(shape) / 3.6e6,
        sun_up=sun_up,
    )


def hours_of(studio: Studio, minutes: int) -> tuple[float, ...]:
    """Return the full hours of the clock within a studio's hours, from their start [min]."""
    into = int(studio.hours.start[3:5])
    return tuple(float(at) for at in range(-into % 60, minutes, 60))


def pace_here(studio: Studio, minutes: float) -> Pace:
    """Return the pace of a studio's plates and hands in hours of so many minutes."""
    over = seconds_over_iodine(box_today(studio), studio.habits.coat_nm)
    tasks = step_lengths.tasks_today(
        step_lengths.lengths_today(studio), over, seal_later=studio.habits.seal_later
    )
    start = _of_clock(studio.hours.start)
    return pace_of(
        blocks_of(tasks),
        first=float(sum(rule.typical_minutes for rule in step_lengths.day_rules())),
        last=minutes,
        breaks=tuple((_of_clock(a) - start, _of_clock(b) - start) for a, b in studio.hours.breaks),
        workers=studio.hours.workers,
        cameras=studio.lenses[0].count,
    )


def _of_clock(text: str) -> float:
    return 60.0 * int(text[:2]) + int(text[3:5])


def _between(at: NDArray[np.floating[Any]], knots: NDArray[np.floating[Any]]) -> Floats:
    """Return the weights that carry values at knots to moments between, shape (knots, moments)."""
    return np.stack([np.interp(at, knots, row) for row in np.eye(len(knots))])


def _lights(
    studio: Studio,
    day: SkyDay,
    over: Truth,
    beam: Floats,
    level: Floats,
    luck: Floats,
    minutes: Whole,
) -> tuple[Lights, Floats]:
    """Return the light of every day of every year, and its sum on level ground [J/m2].

    Parameters
    ----------
    studio : Studio
        Subject, lens, frames.
    day : SkyDay
        The clear sky at every step of the season.
    over : Truth, shape (n, steps)
        Whether the sun is seen then.
    beam, level : Floats, shape (years, n, steps)
        Shares of it. [1]
    luck : Floats, shape (years n,)
        Of each day's plates, in spreads of their dose. [1]
    minutes : Whole, shape (n,)
        Of the hours. [min]
    """
    years, _, steps = beam.shape
    flat = (years, -1)
    # nothing is counted on after the sun's last sight, as in the plan of a day
    last = np.where(over.any(axis=1), steps - over[:, ::-1].argmax(axis=1), 0)
    seen = np.arange(steps) < last[:, None]
    inside = middle_inside(steps, minutes)
    sums: dict[object, LightSums] = {}
    exposure = level_j = None
    for through in filters_of(studio):
        light = day.light(
            through,
            exposure_plane=studio.subject.plane,
            beam_share=beam.reshape(flat),
            global_share=level.reshape(flat),
        )
        red = (light.development_w_m2.reshape(beam.shape) * (seen & inside)).reshape(-1, steps)
        sums[through] = LightSums.of(cumulative_j_m2(red, 60.0 * STEP_MINUTES))
        if exposure is None:
            violet = (light.exposure_w_m2.reshape(beam.shape) * inside).reshape(-1, steps)
            exposure = LightSums.of(cumulative_j_m2(violet, 60.0 * STEP_MINUTES))
            whole = light.ghi_w_m2.reshape(beam.shape) * inside
            level_j = whole.sum(axis=2).ravel() * 60.0 * STEP_MINUTES
    assert exposure is not None
    assert level_j is not None
    noon = float(day.path.elevation_deg.max())
    ripe = []
    for frame in studio.frames:
        kind = frames_of(studio, frame, np.ones((1, steps)), varied=False, noon_deg=noon)
        light_sums = sums[frame.through]
        if kind.lamp:
            lit = np.broadcast_to(kind.middle[1] / 60.0 * inside, beam.shape).reshape(-1, steps)
            light_sums = LightSums.of(cumulative_j_m2(lit, 60.0 * STEP_MINUTES))
        ripe.append((light_sums, kind.dose * np.exp(kind.dose_log_sd * luck), kind.count))
    camera = camera_values(Camera(), studio)
    longest = np.full(len(luck), longest_pose_min(studio))
    lights = Lights(exposure, exposure_dose(camera), camera.law, longest, tuple(ripe), STEP_MINUTES)
    return lights, level_j


def middle_inside(steps: int, minutes: Whole) -> Truth:
    """Return which steps lie within each day's hours, shape (n, steps)."""
    return np.asarray((np.arange(steps) + 0.5) * STEP_MINUTES < minutes[:, None])


def _by_hour(lights: Lights, pace: Pace, hours: Sequence[float]) -> tuple[Truth, Truth, Floats]:
    """Return by day and full hour whether a plate can be exposed, and finished; and the pose."""
    days = len(lights.longest)
    rows = np.repeat(np.arange(days), len(hours))
    start = np.tile(np.array(hours), days)
    closed = lights.exposed(rows, start)
    can = np.isfinite(closed)
    finished = np.zeros(len(rows), dtype=np.bool_)
    # only where there is light to ask about
    at = np.flatnonzero(can & (start >= pace.first + pace.before))
    for kind in range(len(lights.ripe)):
        put = closed[at] + pace.between
        finished[at] |= lights.ripe_by(kind, rows[at], put, pace.last - pace.out)
    pose = np.where(can, closed - start, np.inf).reshape(days, -1).min(axis=1, initial=np.inf)
    return (
        can.reshape(days, -1),
        finished.reshape(days, -1),
        np.where(np.isfinite(pose), pose, np.nan),
    )


def _openings(lights: Lights, shortest: Floats) -> Floats:
    """Return, from each step on, when an exposure may be begun: none long before a short one."""
    days, steps = len(lights.longest), lights.exposure.total.shape[-1]
    rows = np.repeat(np.arange(days), steps)
    starts = np.tile(np.arange(steps) * lights.step_minutes, days)
    patience = trade.value("day", "exposure_patience")
    longest = np.fmin(lights.longest, patience * shortest)
    may = lights.exposed_within(rows, starts, longest[rows]).reshape(days, steps)
    when = np.where(may, np.arange(steps) * lights.step_minutes, np.inf)
    return np.minimum.accumulate(when[:, ::-1], axis=1)[:, ::-1]


def span_of(first: date, last: date) -> tuple[date, ...]:
    """Return every day from the first to the last."""
    return tuple(first + timedelta(days=on) for on in range((last - first).days + 1))
