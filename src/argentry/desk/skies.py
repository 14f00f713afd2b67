"""The sky of a day at a place: from a weather file, or clear when there is none.

Three questions are answered here: what the sky is likely to be (`hourly_sky`), what it may turn
into (`sky_days`), and what it is at a few moments (`shares_at`). All speak of shares of clear-sky
light, see `argentry.physics.cloud`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.physics import cloud, sky, sun
from argentry.physics.sky_ensemble import sky_ensemble

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from argentry.desk.place import Place
    from argentry.records.weather import Weather

    Floats = NDArray[np.float64]
    Times = NDArray[np.datetime64]

DAY = np.timedelta64(86_400, "s")
NO_FILE = "no weather file: clear sky assumed; real days are darker"
OVERCAST = (
    "overcast: the light of one such hour can be a fifth of another's, so meter it before an "
    "exposure; development in the sun may fail"
)
OVERCAST_BEAM_SHARE = 0.15  # mean of the day below which it is called overcast: about 7 oktas
PARTS_OF_INTERVAL = 12  # moments at which the clear sky is taken within one interval


@dataclass(frozen=True)
class HourlySky:
    """The likely sky of a day, on the day's steps.

    Attributes
    ----------
    beam_share, global_share : NDArray[float64], shape (m,)
        Shares of clear-sky light. [1]
    hour_sd : NDArray[float64], shape (m,)
        How far the hours may stray, see `argentry.physics.cloud.Shares`. [1]
    temperature_c, relative_humidity_pct : NDArray[float64], shape (m,)
        Air outdoors; NaN where the file says nothing. [°C, %]
    haze_aod : NDArray[float64], shape (m,)
        Aerosol optical depth at 500 nm as the file gives it; NaN where it does not. [1]
    note : str
        Where it comes from, one line for the sheet.
    warnings : tuple of str
        Loud notes.
    """

    beam_share: Floats
    global_share: Floats
    hour_sd: Floats
    temperature_c: Floats
    relative_humidity_pct: Floats
    haze_aod: Floats
    note: str
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class SkyDays:
    """Many days as this one may turn out.

    Attributes
    ----------
    beam_share, global_share : NDArray[float64], shape (n, m)
        Shares of clear-sky light. [1]
    middle_beam, middle_global : NDArray[float64], shape (m,)
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


@dataclass(frozen=True)
class _Intervals:
    """A weather file's intervals near the day, laid on the calendar, with their shares."""

    middle_s: Floats  # seconds since 1970, rising
    step_s: float
    shares: cloud.Shares
    rows: NDArray[np.int64]  # of the file


def hourly_sky(weather: Weather | None, times_utc: Times, place: Place) -> HourlySky:
    """Return the likely sky at the steps of a day.

    Parameters
    ----------
    weather : Weather or None
        None: a clear sky, with a loud note. A typical year is read by month and day.
    times_utc : NDArray[datetime64], shape (m,)
        Steps of the day, UTC.
    place : Place
        Where.

    Returns
    -------
    HourlySky
        Linear between the middles of the file's intervals.

    Raises
    ------
    BadInput
        If the file does not cover the daylight of these times.
    """
    times = times_utc.astype("datetime64[s]")
    if weather is None:
        return _clear(times)
    intervals = _near(weather, times, place, margin_days=1)
    beam, whole, spread, warnings = _at(intervals, weather, times, place)
    seconds = times.astype(np.int64).astype(np.float64)
    return HourlySky(
        beam,
        whole,
        spread,
        temperature_c=_values(intervals, weather.temperature_c, seconds),
        relative_humidity_pct=_values(intervals, weather.relative_humidity_pct, seconds),
        haze_aod=_values(intervals, weather.haze_aod, seconds),
        note=_note(weather),
        warnings=warnings + _overcast(beam, times, place),
    )


def shares_at(weather: Weather | None, times_utc: Times, place: Place) -> tuple[Floats, Floats]:
    """Return the likely shares (beam, global) at a few moments.

    Parameters and errors as of `hourly_sky`.

    Returns
    -------
    beam_share, global_share : NDArray[float64], shape (m,)
        [1]
    """
    likely = hourly_sky(weather, times_utc, place)
    return likely.beam_share, likely.global_share


def sky_days(weather: Weather | None, times_utc: Times, place: Place, n: int, seed: int) -> SkyDays:
    """Return `n` days as this one may turn out.

    Without a file only the haze varies. A forecast strays by the trade's ``forecast_sd_okta``; a
    typical year gives the days on both sides of the date, as its one day there is an accident;
    measured hours vary only within the hour.

    Parameters
    ----------
    weather : Weather or None
        None: a clear sky, with a loud note.
    times_utc : NDArray[datetime64], shape (m,)
        Steps of the day, UTC, evenly spaced.
    place : Place
        Where.
    n : int
        How many days.
    seed : int
        The same seed gives the same days.

    Raises
    ------
    BadInput
        If the file does not cover the daylight of these times.
    """
    times = times_utc.astype("datetime64[s]")
    haze_sd = trade.value("cloud", "haze_ln_sd")
    likely = hourly_sky(weather, times, place)
    note, warnings = likely.note, likely.warnings
    beam, whole, spread = likely.beam_share, likely.global_share, likely.hour_sd
    middle_beam, middle_global = beam, whole
    okta_sd = 0.0
    if weather is not None and weather.kind == "forecast":
        okta_sd = trade.value("cloud", "forecast_sd_okta")
        spread = np.full_like(beam, trade.value("cloud", "hour_sd"))
    elif weather is not None and weather.kind == "typical year":
        rows = _neighbour_days(weather, times, place)
        middle_beam, middle_global = rows[0].mean(axis=0), rows[1].mean(axis=0)
        warnings = tuple(w for w in warnings if w != OVERCAST)
        warnings += _overcast(middle_beam, times, place)
        # every neighbouring day as often as the others, in a random order
        drawn = np.random.default_rng(seed).permutation(np.arange(n) % len(rows[0]))
        beam, whole, spread = (row[drawn] for row in rows)
    if weather is not None and not np.any(spread > 0.0):
        haze_sd = 0.0  # the beam itself was measured, haze and all
    elevation, diffuse = _clear_diffuse_share(times, place)
    step = float(np.median(np.diff(times.astype(np.int64)))) / 60.0 if times.size > 1 else 1.0
    days = sky_ensemble(
        beam,
        whole,
        elevation,
        n=n,
        seed=seed,
        step_minutes=step,
        okta_sd=okta_sd,
        hour_sd=spread,
        clear_diffuse_share=diffuse,
        haze_aod=_atmosphere(place).aod500,
        haze_ln_sd=haze_sd,
    )
    return SkyDays(*days, middle_beam, middle_global, note, warnings)


def _clear(times: Times) -> HourlySky:
    one, unknown = np.ones(times.size), np.full(times.size, np.nan)
    return HourlySky(
        one, one.copy(), np.zeros(times.size), unknown, unknown, unknown, NO_FILE, (NO_FILE,)
    )


def _note(weather: Weather) -> str:
    if weather.kind == "typical year":
        days = 2 * int(trade.value("cloud", "typical_year_days")) + 1
        return f"{weather.source}: typical year, no forecast; the {days} days about this date"
    return f"{weather.source}: {weather.kind}"


def _atmosphere(place: Place) -> sky.Atmosphere:
    haze = place.haze_aod
    return sky.Atmosphere(
        pressure_pa=sky.pressure_at(place.elevation_m),
        aod500=trade.value("light", "haze_aod500") if haze is None else haze,
        albedo=place.albedo,
    )


def _sun(times: Times, place: Place) -> sun.SunPath:
    return sun.sun_path(times, place.latitude_deg, place.longitude_deg, place.elevation_m)


def _clear_diffuse_share(times: Times, place: Place) -> tuple[Floats, Floats]:
    """Return sun elevation [deg] and the clear sky's diffuse over global light [1]."""
    path = _sun(times, place)
    light = sky.clear_sky(
        path.elevation_deg, path.distance_factor, sky.broad_band(), _atmosphere(place)
    )
    level = light.beam_normal_w_m2 * np.sin(np.radians(np.maximum(path.elevation_deg, 0.0)))
    whole = level + light.diffuse_horizontal_w_m2
    share = np.divide(
        light.diffuse_horizontal_w_m2, whole, out=np.ones_like(whole), where=whole > 0.0
    )
    return path.elevation_deg, np.clip(share, 0.05, 1.0)


def _near(weather: Weather, times: Times, place: Place, margin_days: int) -> _Intervals:
    """Return the intervals within `margin_days` of `times`, with their shares."""
    start, rows = _on_calendar(weather, times)
    low, high = times.min() - margin_days * DAY, times.max() + margin_days * DAY
    keep = (start >= low) & (start <= high)
    start, rows = start[keep], rows[keep]
    if not rows.size:
        raise _not_covered(weather, times[0])
    offset = (np.arange(PARTS_OF_INTERVAL) + 0.5) / PARTS_OF_INTERVAL * weather.step_s
    moments = start[:, None] + offset.astype("timedelta64[s]")
    path = _sun(moments.ravel(), place)
    height = np.sin(np.radians(np.maximum(path.elevation_deg, 0.0)))
    light = sky.clear_sky(
        path.elevation_deg, path.distance_factor, sky.broad_band(), _atmosphere(place)
    )
    shape = moments.shape
    beam = light.beam_normal_w_m2.reshape(shape).mean(axis=1)
    level = (light.beam_normal_w_m2 * height).reshape(shape).mean(axis=1)
    whole = level + light.diffuse_horizontal_w_m2.reshape(shape).mean(axis=1)
    # The sun height that turns the mean beam into its mean on level ground.
    ratio = np.divide(level, beam, out=np.zeros_like(beam), where=beam > 0.0)
    shares = cloud.first_known(
        cloud.from_irradiance(
            weather.ghi_w_m2[rows],
            weather.dni_w_m2[rows],
            weather.dhi_w_m2[rows],
            whole,
            beam,
            np.degrees(np.arcsin(np.clip(ratio, 0.0, 1.0))),
            path.distance_factor.reshape(shape).mean(axis=1),
        ),
        cloud.from_cloud_share(weather.cloud_share[rows]),
        cloud.from_sunshine(weather.sunshine_share[rows]),
    )
    middle = start.astype(np.int64) + 0.5 * weather.step_s
    return _Intervals(middle, weather.step_s, shares, rows)


def _on_calendar(weather: Weather, times: Times) -> tuple[Times, NDArray[np.int64]]:
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


def _at(
    intervals: _Intervals, weather: Weather, times: Times, place: Place
) -> tuple[Floats, Floats, Floats, tuple[str, ...]]:
    """Return beam share, global share, hour_sd at `times`, and what was bridged."""
    asked = _leap_day_as_before(times) if weather.kind == "typical year" else times
    known = ~np.isnan(intervals.shares.beam_share) & ~np.isnan(intervals.shares.global_share)
    middle = intervals.middle_s[known]
    if not middle.size:
        raise _not_covered(weather, times[0])
    seconds = asked.astype(np.int64).astype(np.float64)
    after = np.clip(np.searchsorted(middle, seconds), 1, max(middle.size - 1, 1))
    ends = middle[np.clip(np.stack([after - 1, after]), 0, middle.size - 1)]
    away = np.abs(ends - seconds).min(axis=0) - 0.5 * intervals.step_s
    day = _sun(times, place).elevation_deg > 2.0 * cloud.LOWEST_SUN_DEG
    # Low sun has no shares of its own and takes its neighbours'; half an hour is always bridged.
    if np.any(day & (away > 3600.0 * trade.value("cloud", "gap_hours"))):
        raise _not_covered(weather, times[np.argmax(day & (away > 0.0))])
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


def _neighbour_days(weather: Weather, times: Times, place: Place) -> tuple[Floats, Floats, Floats]:
    """Return shares and hour_sd of the days about the date, shape (days, m) each."""
    each_side = int(trade.value("cloud", "typical_year_days"))
    intervals = _near(weather, times, place, margin_days=each_side + 2)
    offsets = range(-each_side, each_side + 1)
    days = [_at(intervals, weather, times + k * DAY, place)[:3] for k in offsets]
    beam, whole, spread = (np.stack([day[i] for day in days]) for i in range(3))
    return beam, whole, spread


def _values(intervals: _Intervals, values: Floats, seconds: Floats) -> Floats:
    """Return other columns of the file at the steps; NaN everywhere when it has none."""
    near = values[intervals.rows]
    known = ~np.isnan(near)
    if not known.any():
        return np.full(seconds.size, np.nan)
    return np.interp(seconds, intervals.middle_s[known], near[known])


def _overcast(beam: Floats, times: Times, place: Place) -> tuple[str, ...]:
    high = _sun(times, place).elevation_deg > 10.0
    dark = high.any() and float(beam[high].mean()) < OVERCAST_BEAM_SHARE
    return (OVERCAST,) if dark else ()


def _not_covered(weather: Weather, when: np.datetime64) -> BadInput:
    return BadInput(
        f"weather file {weather.source}",
        f"it has no light or cloud for {np.datetime_as_string(when, unit='m')} UTC",
        "name a file that covers the day, or leave it out for a clear sky",
    )
