"""A weather file's hours near a day, as shares of clear-sky light at the day's steps."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights import cloud
from argentry.physics.lights.cloud_told import both_told
from argentry.sky.sky_day import haze_of, sky_day

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from argentry.arrays import Floats, Times, Truth, Whole
    from argentry.records.weather import Weather
    from argentry.sky.place import Place
    from argentry.sky.sky_day import Filter, SkyDay


DAY = np.timedelta64(86_400, "s")
LIGHT = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "cloud_share", "sunshine_share")
PARTS_OF_INTERVAL = 12  # moments at which the clear sky is taken within one interval


@dataclass(frozen=True)
class Intervals:
    """A weather file's intervals near the day, laid on the calendar, with their shares."""

    middle_s: Floats  # seconds since 1970, rising
    step_s: float
    shares: cloud.Shares
    rows: Whole  # of the file
    highest_deg: Floats  # of the sun within each
    members: cloud.Shares | None = None  # of an ensemble, shape (k, n)

    @property
    def known(self) -> Truth:
        """Which of them say something of light or cloud."""
        return ~np.isnan(self.shares.beam_share) & ~np.isnan(self.shares.global_share)

    def away_s(self, seconds: Floats) -> Floats:
        """Return how far moments lie outside the nearest interval that says something. [s]."""
        middle = self.middle_s[self.known]
        after = np.clip(np.searchsorted(middle, seconds), 1, max(middle.size - 1, 1))
        ends = middle[np.clip(np.stack([after - 1, after]), 0, middle.size - 1)]
        return np.asarray(np.abs(ends - seconds).min(axis=0) - 0.5 * self.step_s)


def said_of(weather: Weather, day: SkyDay, intervals: Intervals) -> Truth:
    """Return at which times of a day a weather file says something, short gaps bridged."""
    times = day.times_utc.astype("datetime64[s]")
    if weather.kind == "typical year":
        return np.ones(times.size, dtype=bool)
    if not intervals.known.any():
        raise not_covered(weather, times[0])
    away = intervals.away_s(times.astype(np.int64).astype(np.float64))
    return np.asarray(away <= 3600.0 * trade.value("cloud", "gap_hours"))


def sky_with_file(
    weather: Weather, place: Place, times: Times, filters: Sequence[Filter] = ()
) -> tuple[SkyDay, Intervals]:
    """Return the sun and the clear sky at these times, and a weather file's intervals near them.

    Sun and sky are worked out once, for these times and the file's together. Of a typical year the
    days on both sides come along.

    Parameters
    ----------
    weather : Weather
        As read.
    place : Place
        Where.
    times : Times, shape (m,)
        UTC.
    filters : sequence of (float or None, float or None)
        As of `sky_day`. [nm, 1]

    Raises
    ------
    BadInput
        If the file has nothing near these times.
    """
    times = times.astype("datetime64[s]")
    start, rows = _on_calendar(weather, times)
    margin = days_each_side() + 2 if weather.kind == "typical year" else 1
    low, high = times.min() - margin * DAY, times.max() + margin * DAY
    keep = (start >= low) & (start <= high)
    start, rows = start[keep], rows[keep]
    if not rows.size:
        raise not_covered(weather, times[0])
    offset = (np.arange(PARTS_OF_INTERVAL) + 0.5) / PARTS_OF_INTERVAL * weather.step_s
    moments = start[:, None] + offset.astype("timedelta64[s]")
    both = sky_day(place, np.concatenate([times, moments.ravel()]), filters)
    clear = both.part(times.size, None)
    beam, level, whole, distance = (
        values.reshape(moments.shape).mean(axis=1)
        for values in (
            clear.beam_w_m2,
            clear.level_beam_w_m2,
            clear.global_w_m2,
            clear.path.distance_factor,
        )
    )
    # The sun height that turns the mean beam into its mean on level ground.
    ratio = np.divide(level, beam, out=np.zeros_like(beam), where=beam > 0.0)
    height = np.degrees(np.arcsin(np.clip(ratio, 0.0, 1.0)))

    def shares(given: Callable[[str], Floats]) -> cloud.Shares:
        ghi, dni, dhi, cover, sun = (given(name)[..., rows] for name in LIGHT)
        covered = cloud.from_cloud_share(cover)
        lit = cloud.from_irradiance(ghi, dni, dhi, whole, beam, height, distance)
        both = both_told(lit, covered, height, haze_of(place))
        return cloud.first_known(both, covered, cloud.from_sunshine(sun))

    middle = start.astype(np.int64) + 0.5 * weather.step_s
    highest = clear.path.elevation_deg.reshape(moments.shape).max(axis=1)
    every = None
    if weather.members:
        unknown = np.full_like(next(iter(weather.members.values())), np.nan)
        every = shares(lambda name: weather.members.get(name, unknown))
    own = shares(lambda name: np.asarray(getattr(weather, name)))
    intervals = Intervals(middle, weather.step_s, own, rows, highest, every)
    return both.part(0, times.size), intervals


def member_days(
    intervals: Intervals, weather: Weather, day: SkyDay
) -> tuple[Floats, Floats, Floats]:
    """Return beam share, global share and hour_sd of an ensemble's days, shape (k, m) each.

    A forecast that leaves bright hours open, as some do in their later days, is left out. The days
    rise by the light that they leave to the day as a whole.

    Parameters
    ----------
    intervals : Intervals
        With members.
    weather : Weather
        They are of.
    day : SkyDay
        The day's steps.

    Raises
    ------
    BadInput
        If none covers the day.
    """
    every = intervals.members
    assert every is not None
    times = day.times_utc.astype("datetime64[s]")
    found, refused = [], None
    for at in range(len(every.beam_share)):
        one = cloud.Shares(every.beam_share[at], every.global_share[at], every.hour_sd[at])
        alone = replace(intervals, shares=one)
        try:
            found.append(shares_of(alone, weather, times, day.path.elevation_deg)[:3])
        except BadInput as error:
            refused = error
    if not found:
        raise refused or not_covered(weather, times[0])
    beam, whole, spread = (np.stack([one[part] for one in found]) for part in range(3))
    order = np.argsort(whole @ day.global_w_m2, kind="stable")
    return beam[order], whole[order], spread[order]


def days_each_side() -> int:
    """Return how many days of a typical year are taken on either side of the date."""
    return int(trade.value("cloud", "typical_year_days"))


def _on_calendar(weather: Weather, times: Times) -> tuple[Times, Whole]:
    """Return interval starts on the calendar of `times`, rising, and their rows in the file."""
    start = weather.start_utc.astype("datetime64[s]")
    rows = np.arange(start.size)
    if weather.kind == "typical year":
        month = start.astype("datetime64[M]")
        number = month.astype(np.int64) % 12
        into = start - month  # since the first of its month
        year = int(times[0].astype("datetime64[Y]").astype(np.int64))
        laid, kept = [], []
        for near in (year - 1, year, year + 1):
            first = (12 * near + number).astype("datetime64[M]")
            there = first.astype("datetime64[s]") + into
            inside = there.astype("datetime64[M]") == first  # 29 February in a common year is not
            laid.append(there[inside])
            kept.append(rows[inside])
        start, rows = np.concatenate(laid), np.concatenate(kept)
        order = np.argsort(start, kind="stable")
        return start[order], rows[order]
    return start, rows


def _leap_day_as_before(times: Times) -> Times:
    """Return `times` with those of 29 February moved to the 28th, for a year that has none."""
    month = times.astype("datetime64[M]")
    leap = (month.astype(np.int64) % 12 == 1) & (times - month >= 28 * DAY)
    return np.asarray(np.where(leap, times - DAY, times))


def shares_of(
    intervals: Intervals, weather: Weather, times: Times, elevation_deg: Floats
) -> tuple[Floats, Floats, Floats, tuple[str, ...]]:
    """Return beam share, global share, hour_sd at `times`, and what was bridged."""
    asked = _leap_day_as_before(times) if weather.kind == "typical year" else times
    known = intervals.known
    middle = intervals.middle_s[known]
    if not middle.size:
        raise not_covered(weather, times[0])
    seconds = asked.astype(np.int64).astype(np.float64)
    away = intervals.away_s(seconds)
    day = elevation_deg > 2.0 * cloud.LOWEST_SUN_DEG
    # Low sun has no shares of its own and takes its neighbours'; half an hour is always bridged.
    if np.any(day & (away > 3600.0 * trade.value("cloud", "gap_hours"))):
        raise not_covered(weather, times[np.argmax(day & (away > 0.0))])
    bridged = day & (away > max(1800.0, 0.5 * intervals.step_s))
    warnings: tuple[str, ...] = ()
    if bridged.any():
        warnings = ("hours missing in the weather file are bridged from their neighbours",)
    beam, whole, spread = (
        np.interp(seconds, middle, values[known])
        for values in (
            intervals.shares.beam_share,
            intervals.shares.global_share,
            intervals.shares.hour_sd,
        )
    )
    return beam, whole, spread, warnings


def not_covered(weather: Weather, when: np.datetime64) -> BadInput:
    """Return the refusal of a file that says nothing of a moment."""
    return BadInput(
        "weather file {source}".format(source=weather.source),
        "it has no light or cloud for {when} UTC",
        "name a file that covers the day, or leave it out for a clear sky",
        when=np.datetime_as_string(when, unit="m"),
    )
