"""The sky of a day at a place: from a weather file, or clear when there is none.

Three questions are answered here: what the sky is likely to be (`hourly_sky`), what it may turn
into (`sky_days`), and what it is at a few moments (`shares_at`). All speak of shares of clear-sky
light, see `argentry.physics.lights.cloud`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.physics.lights.cloud import LOWEST_SUN_DEG
from argentry.physics.lights.sky_ensemble import sky_ensemble
from argentry.sky.sky_day import haze_of
from argentry.sky.weather.cover import dark_doubt, interval_at
from argentry.sky.weather.hours import (
    DAY,
    days_each_side,
    member_days,
    not_covered,
    said_of,
    shares_of,
    sky_with_file,
)
from argentry.sky.weather.skill import dressing_okta, miss_okta
from argentry.sky.weather.usual import usual_cloud

if TYPE_CHECKING:
    from argentry.arrays import Floats, Times, Truth, Whole
    from argentry.records.weather import Weather
    from argentry.sky.place import Place
    from argentry.sky.sky_day import SkyDay
    from argentry.sky.weather.hours import Intervals


DAY_AHEAD_H = 24.0  # what a file is taken for that does not say when it was made
DAYS, SEED = 200, 1  # skies drawn for a day, the same for every question about it
NO_FILE = "no weather file: clear sky assumed; real days are darker"
OVERCAST = (
    "overcast: the light of one such hour can be a fifth of another's, so meter it before an "
    "exposure; development in the sun may fail"
)
ENSEMBLE = "{source}: {kind} of {count} members, each a day of its own"
OVERCAST_BEAM_SHARE = 0.15  # mean of the day below which it is called overcast: about 7 oktas


@dataclass(frozen=True)
class HourlySky:
    """The likely sky of a day, on the day's steps.

    Attributes
    ----------
    beam_share, global_share : Floats, shape (m,)
        Shares of clear-sky light. [1]
    hour_sd : Floats, shape (m,)
        How far the hours may stray, see `argentry.physics.lights.cloud.Shares`. [1]
    note : str
        Where it comes from, one line for the sheet.
    warnings : tuple of str
        Loud notes.
    """

    beam_share: Floats
    global_share: Floats
    hour_sd: Floats
    note: str
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class SkyDays:
    """Many days as this one may turn out.

    Attributes
    ----------
    beam_share, global_share : Floats, shape (n, m)
        Shares of clear-sky light. [1]
    middle_beam, middle_global : Floats, shape (m,)
        What to plan with: the file's own hours, or the mean over the days of a typical year. [1]
    note : str
        Where it comes from, one line for the sheet.
    warnings : tuple of str
        Loud notes.
    """

    beam_share: Floats
    global_share: Floats
    middle_beam: Floats
    middle_global: Floats
    note: str
    warnings: tuple[str, ...]

    def part(self, first: int, last: int) -> SkyDays:
        """Return the steps from `first` up to `last`."""
        return self.at(slice(first, last))

    def at(self, steps: slice | Whole) -> SkyDays:
        """Return some of the steps."""
        return SkyDays(
            self.beam_share[:, steps],
            self.global_share[:, steps],
            self.middle_beam[steps],
            self.middle_global[steps],
            self.note,
            self.warnings,
        )

    def padded(self, first: int, size: int) -> SkyDays:
        """Return the same as the steps from `first` on of a longer day, else clear."""

        def wide(values: Floats) -> Floats:
            whole = np.ones((*values.shape[:-1], size))
            whole[..., first : first + values.shape[-1]] = values
            return whole

        return SkyDays(
            wide(self.beam_share),
            wide(self.global_share),
            wide(self.middle_beam),
            wide(self.middle_global),
            self.note,
            self.warnings,
        )


def hourly_sky(
    weather: Weather | None, day: SkyDay, intervals: Intervals | None = None
) -> HourlySky:
    """Return the likely sky at the steps of a day.

    Parameters
    ----------
    weather : Weather or None
        None: a clear sky, with a loud note. A typical year is read by month and day.
    day : SkyDay
        The day's steps.
    intervals : Intervals or None
        The file's, when they are known already.

    Returns
    -------
    HourlySky
        Linear between the middles of the file's intervals.

    Raises
    ------
    BadInput
        If the file does not cover the daylight of these times.
    """
    times = day.times_utc.astype("datetime64[s]")
    if weather is None:
        one = np.ones(times.size)
        return HourlySky(one, one.copy(), np.zeros(times.size), NO_FILE, (NO_FILE,))
    if intervals is None:
        _, intervals = sky_with_file(weather, day.place, times)
    warnings: tuple[str, ...]
    if intervals.members is not None:
        rows = member_days(intervals, weather, day)
        beam, whole, spread = (part[len(part) // 2] for part in rows)
        warnings = ()
    else:
        beam, whole, spread, warnings = shares_of(intervals, weather, times, day.path.elevation_deg)
    doubt = dark_doubt(weather, intervals.rows, intervals.highest_deg)
    warnings = ((doubt,) if doubt else ()) + warnings + _overcast(beam, day)
    return HourlySky(beam, whole, spread, _note(weather), warnings)


def shares_at(weather: Weather | None, day: SkyDay) -> tuple[Floats, Floats]:
    """Return the likely shares (beam, global) at a few moments.

    Parameters and errors as of `hourly_sky`.

    Returns
    -------
    beam_share, global_share : Floats, shape (m,)
        [1]
    """
    likely = hourly_sky(weather, day)
    return likely.beam_share, likely.global_share


def sky_days(
    weather: Weather | None, day: SkyDay, n: int, seed: int, intervals: Intervals | None = None
) -> SkyDays:
    """Return `n` days as this one may turn out.

    Without a file only the haze varies. A forecast strays as its lead and its own record say, and
    is held to the clouds usual at the place; of an ensemble each member is a day of its own, drawn
    as often as the others, and where its members stray by less than that, each strays by what they
    lack; a typical year gives the days on both sides of the date, as its one day there is an
    accident; measured hours vary only within the hour.

    Parameters
    ----------
    weather : Weather or None
        None: a clear sky, with a loud note.
    day : SkyDay
        The day's steps, evenly spaced.
    n : int
        How many days.
    seed : int
        The same seed gives the same days.
    intervals : Intervals or None
        The file's, when they are known already.

    Raises
    ------
    BadInput
        If the file does not cover the daylight of these times.
    """
    times = day.times_utc.astype("datetime64[s]")
    haze_sd = trade.value("cloud", "haze_ln_sd")
    if weather is not None and intervals is None:
        _, intervals = sky_with_file(weather, day.place, times)
    likely = hourly_sky(weather, day, intervals)
    note, warnings = likely.note, likely.warnings
    beam, whole, spread = likely.beam_share, likely.global_share, likely.hour_sd
    middle_beam, middle_global = beam, whole
    okta_sd, held_to = 0.0, None
    if weather is not None and intervals is not None and intervals.members is not None:
        rows = member_days(intervals, weather, day)
        # as often as the others, the few that come once more spread from dark to bright
        members = ((np.arange(n) + 0.5) * len(rows[0]) / n).astype(np.int64)
        drawn = np.random.default_rng(seed).permutation(members)
        beam, whole, spread = (row[drawn] for row in rows)
        if weather.issued_utc is not None:
            okta_sd = dressing_okta(rows[0], _miss(weather, times))
    elif weather is not None and weather.kind == "forecast":
        okta_sd = _miss(weather, times)
        on = times[times.size // 2].astype("datetime64[D]").astype(date)
        held_to = usual_cloud(day.place.latitude_deg, on, weather.cloudier)
        spread = np.full_like(beam, trade.value("cloud", "hour_sd"))
    elif weather is not None and intervals is not None and weather.kind == "typical year":
        rows = _neighbour_days(weather, day, intervals)
        middle_beam, middle_global = rows[0].mean(axis=0), rows[1].mean(axis=0)
        warnings = tuple(w for w in warnings if w != OVERCAST)
        warnings += _overcast(middle_beam, day)
        # every neighbouring day as often as the others, in a random order
        drawn = np.random.default_rng(seed).permutation(np.arange(n) % len(rows[0]))
        beam, whole, spread = (row[drawn] for row in rows)
    if weather is not None and not np.any(spread > 0.0):
        haze_sd = 0.0  # the beam itself was measured, haze and all
    step = float(np.median(np.diff(times.astype(np.int64)))) / 60.0 if times.size > 1 else 1.0
    days = sky_ensemble(
        beam,
        whole,
        day.path.elevation_deg,
        n=n,
        seed=seed,
        step_minutes=step,
        okta_sd=okta_sd,
        usual_cloud=held_to,
        hour_sd=spread,
        clear_diffuse_share=day.diffuse_share,
        haze_aod=haze_of(day.place),
        haze_ln_sd=haze_sd,
    )
    return SkyDays(*days, middle_beam, middle_global, note, warnings)


def _miss(weather: Weather, times: Times) -> float:
    """Return how far a forecast misses the clouds at the middle of these times. [okta]."""
    lead_h = DAY_AHEAD_H
    if weather.issued_utc is not None:
        lead_h = float((times[times.size // 2] - weather.issued_utc) / np.timedelta64(1, "h"))
    return weather.widened * float(miss_okta(lead_h))


def place_under(weather: Weather | None, place: Place, times_utc: Times) -> Place:
    """Return the place with the haze that a weather file names, where the place names none."""
    if weather is None or place.haze_aod is not None:
        return place
    index = interval_at(weather, times_utc)
    haze = weather.haze_aod[index[index >= 0]]
    if not np.isfinite(haze).any():
        return place
    return replace(place, haze_aod=float(np.clip(np.nanmedian(haze), 0.0, 1.0)))


def skies_of_day(
    weather: Weather | None,
    day: SkyDay,
    around: int,
    need: slice,
    *,
    seed: int = SEED,
    intervals: Intervals | None = None,
) -> SkyDays:
    """Return `sky_days` drawn from sunrise to sunset: the same skies whichever part is asked for.

    Parameters
    ----------
    weather : Weather or None
        None: a clear sky, with a loud note.
    day : SkyDay
        Steps that hold the day.
    around : int
        A step between sunrise and sunset.
    need : slice
        Steps that the file must say something of.
    seed, intervals
        As of `sky_days`.

    Returns
    -------
    SkyDays
        For every step; a clear sky where the sun is down or the file ends.

    Raises
    ------
    BadInput
        If the file does not cover the daylight that is needed.
    """
    first, last = run_around(day.path.elevation_deg > 0.0, around)
    if weather is not None:
        if intervals is None:
            _, intervals = sky_with_file(weather, day.place, day.times_utc)
        said = said_of(weather, day, intervals)
        bright = day.path.elevation_deg[need] > 2.0 * LOWEST_SUN_DEG
        if np.any(bright & ~said[need]):
            gap = np.argmax(bright & ~said[need])
            raise not_covered(weather, day.times_utc[need][gap].astype("datetime64[s]"))
        inside = np.flatnonzero(said[first:last])
        if inside.size:
            first, last = first + int(inside[0]), first + int(inside[-1]) + 1
    drawn = sky_days(weather, day.part(first, last), DAYS, seed, intervals)
    return drawn.padded(first, day.times_utc.size)


def run_around(flags: Truth, index: int) -> tuple[int, int]:
    """Return the run of true flags round `index`, half open; all where none holds it."""
    if not flags[index]:
        return 0, len(flags)
    gaps = np.flatnonzero(~flags)
    before, after = gaps[gaps < index], gaps[gaps > index]
    return (
        int(before[-1]) + 1 if before.size else 0,
        int(after[0]) if after.size else len(flags),
    )


def _note(weather: Weather) -> str:
    if weather.kind == "typical year":
        days = 2 * days_each_side() + 1
        return "{source}: typical year, no forecast; the {days} days about this date".format(
            source=weather.source, days=days
        )
    if weather.members:
        count = len(next(iter(weather.members.values())))
        return ENSEMBLE.format(source=weather.source, kind=weather.kind, count=count)
    return f"{weather.source}: {weather.kind}"


def _neighbour_days(
    weather: Weather, day: SkyDay, intervals: Intervals
) -> tuple[Floats, Floats, Floats]:
    """Return shares and hour_sd of the days about the date, shape (days, m) each."""
    each_side = days_each_side()
    times = day.times_utc.astype("datetime64[s]")
    days = [  # whether the file covers them is asked of the sun of the date itself
        shares_of(intervals, weather, np.asarray(times + count * DAY), day.path.elevation_deg)[:3]
        for count in range(-each_side, each_side + 1)
    ]
    beam, whole, spread = (np.stack([one[i] for one in days]) for i in range(3))
    return beam, whole, spread


def _overcast(beam: Floats, day: SkyDay) -> tuple[str, ...]:
    high = day.path.elevation_deg > 10.0
    dark = high.any() and float(beam[high].mean()) < OVERCAST_BEAM_SHARE
    return (OVERCAST,) if dark else ()
