"""Where the sun stands: height, direction and distance at any time and place, and the skyline.

The almanac's low-precision formula is used, vectorised. Slow quantities (declination, equation of
time, distance) are computed every six hours and interpolated when many times are asked for: their
curvature over six hours is below 1e-4 degrees.

References
----------
.. [1] J. J. Michalsky, "The Astronomical Almanac's algorithm for approximate solar position
   (1950-2050)", Solar Energy 40 (1988) 227-235.
.. [2] I. Reda and A. Andreas, "Solar position algorithm for solar radiation applications",
   NREL/TP-560-34302 (2008), equation 42 (refraction).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from argentry import trade
from argentry.arrays import Floats, Times
from argentry.errors import check_range
from argentry.physics.room.air import pressure_at_elevation_pa

NOON_2000 = np.datetime64("2000-01-01T12:00:00", "ms")
DAY_MS = 86_400_000
KNOTS_PER_DAY = 4
AIR_TEMPERATURE_C = 12.0  # for refraction only; 10 K change it by 4 %
# Below the floor the formula is meaningless and the sun is down: its lift there fades evenly, so
# that dusk has no jump.
REFRACTION_FLOOR_DEG, REFRACTION_ENDS_DEG = -1.5, -4.5
LIFT_AT_FLOOR_DEG = 1.02 / 60.0 / float(np.tan(np.radians(-1.5 + 10.3 / (-1.5 + 5.11))))


@dataclass(frozen=True)
class SunPath:
    """The sun seen from one place at `n` times.

    Attributes
    ----------
    elevation_deg : Floats, shape (n,)
        Apparent height of the sun's middle, lifted by refraction. [deg]
    azimuth_deg : Floats, shape (n,)
        From north through east, 0 to 360. [deg]
    distance_factor : Floats, shape (n,)
        (mean distance / distance)^2: what the sun's light is multiplied with. [1]
    """

    elevation_deg: Floats
    azimuth_deg: Floats
    distance_factor: Floats


def _slow(days: Floats) -> tuple[Floats, Floats, Floats]:
    """Sine of declination, equation of time [deg] and distance factor at days from noon 2000."""
    # Numbers: the Astronomical Almanac, by Michalsky [1].
    anomaly = np.radians(357.528 + 0.9856003 * days)
    mean_longitude = 280.460 + 0.9856474 * days
    longitude = np.radians(mean_longitude + 1.915 * np.sin(anomaly) + 0.020 * np.sin(2 * anomaly))
    obliquity = np.radians(23.439 - 4e-7 * days)
    sine = np.sin(longitude)
    ascension = np.degrees(np.arctan2(np.cos(obliquity) * sine, np.cos(longitude)))
    # Sidereal time grows by 360.98564736629 degrees a day; the whole turns are left to the clock.
    equation = 280.46061837 + 0.98564736629 * days - ascension
    equation = (equation + 180.0) % 360.0 - 180.0
    distance = 1.00014 - 0.01671 * np.cos(anomaly) - 0.00014 * np.cos(2 * anomaly)
    return np.sin(obliquity) * sine, equation, 1.0 / (distance * distance)


def sun_path(
    times_utc: Times, latitude_deg: float, longitude_deg: float, elevation_m: float = 0.0
) -> SunPath:
    """Return the sun's height, direction and distance factor.

    Within 0.02 degrees of the NREL algorithm above 3 degrees of height from 2000 to 2050 (tested).

    Parameters
    ----------
    times_utc : Times, shape (n,)
        Times, UTC, in any order.
    latitude_deg, longitude_deg : float
        North and east positive. [deg]
    elevation_m : float
        Height above the sea; thinner air bends light less. [m]

    Returns
    -------
    SunPath
        Arrays of shape (n,).

    Raises
    ------
    BadInput
        If a coordinate is impossible.
    """
    check_range("latitude", latitude_deg, -90.0, 90.0, "deg")
    check_range("longitude", longitude_deg, -180.0, 180.0, "deg")
    times = np.atleast_1d(np.asarray(times_utc)).astype("datetime64[ms]")
    days = (times - NOON_2000).astype(np.int64) / DAY_MS
    sin_dec, equation, distance = _slow_at(days)
    hour_angle = np.radians((days - np.floor(days)) * 360.0 + longitude_deg + equation)
    cos_dec = np.sqrt(1.0 - sin_dec * sin_dec)
    sin_lat, cos_lat = np.sin(np.radians(latitude_deg)), np.cos(np.radians(latitude_deg))
    cos_hour = np.cos(hour_angle) * cos_dec
    sine = sin_lat * sin_dec + cos_lat * cos_hour
    true = np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0)))
    # atan2(-east, -north) and half a turn more: the result falls in 0 to 360 without a modulo
    azimuth = np.degrees(
        np.arctan2(np.sin(hour_angle) * cos_dec, sin_lat * cos_hour - cos_lat * sin_dec)
    )
    azimuth += 180.0
    return SunPath(true + refraction_deg(true, elevation_m), azimuth, distance)


def _slow_at(days: Floats) -> tuple[Floats, Floats, Floats]:
    if not days.size:
        return days, days, days
    first, last = np.floor(days.min() * KNOTS_PER_DAY), np.ceil(days.max() * KNOTS_PER_DAY)
    count = int(last - first) + 1
    if count * 2 > days.size:  # few times, or far apart: straight on is cheaper
        return _slow(days)
    knots = np.arange(first, last + 1) / KNOTS_PER_DAY
    index = np.clip(((days - knots[0]) * KNOTS_PER_DAY).astype(np.int64), 0, count - 2)
    share = days * KNOTS_PER_DAY - (first + index)
    sines, equations, distances = _slow(knots)
    return (
        sines[index] + share * np.diff(sines)[index],
        equations[index] + share * np.diff(equations)[index],
        distances[index] + share * np.diff(distances)[index],
    )


def refraction_deg(true_elevation_deg: Floats, elevation_m: float = 0.0) -> Floats:
    """Return how far the air lifts the sun, NREL's formula [2].

    Parameters
    ----------
    true_elevation_deg : Floats
        Height without air. [deg]
    elevation_m : float
        Height of the place. [m]

    Returns
    -------
    Floats
        Lift; fades from 1.5 to 4.5 degrees below the horizon. [deg]
    """
    lift = np.zeros_like(true_elevation_deg)
    pressure = pressure_at_elevation_pa(elevation_m)
    thinning = pressure / 101_000.0 * 283.0 / (273.0 + AIR_TEMPERATURE_C)
    up = true_elevation_deg > REFRACTION_FLOOR_DEG
    e = true_elevation_deg[up]
    lift[up] = thinning * 1.02 / (60.0 * np.tan(np.radians(e + 10.3 / (e + 5.11))))
    down = (true_elevation_deg <= REFRACTION_FLOOR_DEG) & (true_elevation_deg > REFRACTION_ENDS_DEG)
    share = (true_elevation_deg[down] - REFRACTION_ENDS_DEG) / (
        REFRACTION_FLOOR_DEG - REFRACTION_ENDS_DEG
    )
    lift[down] = thinning * LIFT_AT_FLOOR_DEG * share
    return lift


def horizon_elevation_deg(azimuth_deg: Floats, horizon: Sequence[tuple[float, float]]) -> Floats:
    """Return the height of the skyline in each direction.

    Parameters
    ----------
    azimuth_deg : Floats
        Directions. [deg]
    horizon : sequence of (float, float)
        Azimuth and elevation pairs, any order; linear in between, wrapping at 360. Empty: 0.

    Returns
    -------
    Floats
        [deg]
    """
    azimuth = np.asarray(azimuth_deg, dtype=np.float64)
    if not horizon:
        return np.zeros_like(azimuth)
    pairs = np.array(horizon, dtype=np.float64)
    return np.asarray(np.interp(azimuth, pairs[:, 0], pairs[:, 1], period=360.0))


def sky_view(horizon: Sequence[tuple[float, float]]) -> float:
    """Return the share of an even sky's light that reaches level ground within the skyline.

    1 - mean of sin^2 of the skyline's height, over all directions. [1]
    """
    height = horizon_elevation_deg(np.arange(0.5, 360.0), horizon)
    return float(1.0 - np.mean(np.sin(np.radians(np.maximum(height, 0.0))) ** 2))


def sun_times(
    day: date,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float = 0.0,
    horizon: Sequence[tuple[float, float]] = (),
) -> tuple[Any, Any]:
    """Return first and last sight of the sun's upper edge over the skyline.

    Parameters
    ----------
    day : date
        Date at the place by the sun: the 24 hours round the place's own noon.
    latitude_deg, longitude_deg, elevation_m : float
        [deg, deg, m]
    horizon : sequence of (float, float)
        Skyline, see `horizon_elevation_deg`.

    Returns
    -------
    tuple of (datetime64[s] or None)
        Sunrise and sunset, UTC; None when the sun is not seen to come or to go that day. The sun
        may hide behind a hill in between.
    """
    start, _ = solar_day(day, longitude_deg)
    times = start + np.arange(0, 1441) * np.timedelta64(60, "s")
    return first_and_last_sight(
        times, sun_path(times, latitude_deg, longitude_deg, elevation_m), horizon
    )


def solar_day(day: date, longitude_deg: float) -> tuple[Any, Any]:
    """Return begin and end of the 24 hours round a place's own noon, UTC (datetime64[s])."""
    start = np.datetime64(day.isoformat(), "s") - np.timedelta64(round(longitude_deg * 240), "s")
    return start, start + np.timedelta64(24 * 3600, "s")


def first_and_last_sight(
    times_utc: Times, path: SunPath, horizon: Sequence[tuple[float, float]] = ()
) -> tuple[Any, Any]:
    """Return `sun_times` of a path known at these times, each a minute after the one before.

    Parameters
    ----------
    times_utc : Times, shape (n,)
        The 24 hours round the place's own noon, UTC.
    path : SunPath
        The sun at these times.
    horizon : sequence of (float, float)
        Skyline, see `horizon_elevation_deg`.
    """
    edge = path.elevation_deg + trade.value("light", "sun_radius")
    above = edge - horizon_elevation_deg(path.azimuth_deg, horizon)
    changes = np.diff((above > 0.0).astype(np.int8))
    rises, sets = np.flatnonzero(changes > 0), np.flatnonzero(changes < 0)

    def between(index: int) -> Any:
        share = above[index] / (above[index] - above[index + 1])
        step_ms = (times_utc[index + 1] - times_utc[index]) / np.timedelta64(1, "ms")
        exact = times_utc[index].astype("datetime64[ms]") + np.timedelta64(
            int(share * step_ms), "ms"
        )
        return (exact + np.timedelta64(999, "ms")).astype("datetime64[s]")

    return (
        between(int(rises[0])) if rises.size else None,
        between(int(sets[-1])) if sets.size else None,
    )
