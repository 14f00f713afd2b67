"""The truth behind a draw: studio, plate, sky, lamp and box, in forms of its own.

Units: minutes, degrees, light relative to a clear high sun (60 degrees) on a plane that faces it,
which the trade calls EV 15. Marked [judged] where no spread is published.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, exp, log, pi, radians, sin

import numpy as np

# Plate speed. Two published figures for iodine only, full sun: 10 s at f/1.7 (under-exposed) and
# 2 min at f/5.6, both 8e-4 ISO by N^2 / t = 2^15 ISO / 100, neither developed by red light; such a
# plate needs as much or up to two stops more (common practice): uniform. Between studios beyond
# that [judged]: Student t.
FASTEST_ISO, SLOWER_STOPS, STUDIO_STOPS = 8e-4, 2.0, 0.45
# From plate to plate. Humphrey 1858: buffing a quarter, cold plate or galvanised 8 s for 10 s,
# about 0.3 stop each; one plate in seven goes astray [judged].
PLATE_STOPS, ASTRAY_STOPS, ASTRAY_SHARE = 0.30, 0.80, 0.15
# Reciprocity beyond two minutes [judged]: Schwarzschild's 0.95.
RECIPROCITY, RECIPROCITY_SD, RECIPROCITY_FROM = 0.95, 0.05, 2.0
# Development. 60 to 90 min in the sun (published), other makers up to 2 h: median 75 min of high
# sun.
DEVELOP_MIN, DEVELOP_STUDIO, DEVELOP_PLATE, DEVELOP_ASTRAY = 75.0, 0.35, 0.25, 0.60
# Lamp. One log: 200 W of halogen at a foot, 3 h and 5.5 h. Lamps differ by reflector [judged]; a
# lamp of finite size falls off by less than the square.
LAMP_MIN, LAMP_W, LAMP_M, LAMP_STOPS = 60.0 * (3.0 * 5.5) ** 0.5, 200.0, 0.305, 0.5
LAMP_FALL, LAMP_FALL_SD = 1.8, 0.15
# Box. 33 s to the first light golden yellow (published), taken as at 20 C over 20 mm [judged]; that
# colour comes at 19 to 20 nm (optical constants of silver iodide on silver, sixteen variants of the
# layer between). 15 to 60 s is the working window (Humphrey 1858, ch. V): a factor of four holds
# four coats in five. That window is over boxes, days and plates of all kinds, so the gaps, the
# temperatures and the plates that the questions draw are in it and are taken out of the boxes' own.
FUME_S, FUME_NM, WINDOW_LOG_SD = 33.0, 19.5, log(4.0) / 2.563
FUME_C, FUME_GAP_MM, FUME_GAP_POWER = (15.0, 27.0), (12.0, 35.0), 0.9
FUME_PLATE, FUME_ASTRAY = 0.10, 0.30
# Iodine's vapour: 1, 10, 100, 1000 Pa (CRC Handbook, vapour pressure of the elements, from memory).
IODINE_C, IODINE_PA = np.array([-12.8, 9.3, 35.9, 68.7]), np.array([1.0, 10.0, 100.0, 1000.0])
# Sky under full cover. Measured hours at 8 okta, six German stations: tenth to ninetieth percentile
# of the share of clear light differ by a factor of five; median 0.21 of cloudless hours (0.23 of a
# clear sky of usual haze, which those exceed by a tenth). Day and hour apart [judged].
COVERED, COVERED_DAY, COVERED_HOUR, VIOLET_POWER = 0.21, 0.65, 0.40, 0.86
# A wall seen from open shade gets 0.36 to 0.97 of the level sky (CIE clear sky, type 12); under
# cloud 0.40, and a tenth from the ground.
SHADE, SHADE_STOPS, UNDER_CLOUD, UNDER_CLOUD_STOPS = 0.55, 0.40, 0.50, 0.15
# A forecast's error of global light (from memory): 7 % clear, a third under cloud.
FORECAST_CLEAR, FORECAST_DAY, FORECAST_HOUR = 0.07, 0.25, 0.22
# and of cloud: a day ahead it misses the observer's by 2 to 2.5 okta (recalled). Clear or
# covered, it can only miss to one side: 3 hours in 10, in spells of some three hours, by half of
# the sky (0.3 x 16 is 2.2 squared) [judged]; then sun and cloud take turns of some ten minutes.
# Not in the hour asked in: a maker looks up.
MISSED, MISSED_HOURS, TURN_MINUTES, UNDER_A_CLOUD = 0.3, 3.0, 10.0, 0.3
# Half a sky of cloud leaves level ground 0.93 of clear light (F. Kasten and G. Czeplak, Solar
# Energy 24 (1980) 177: 1 - 0.75 c^3.4): where half the minutes are clear, 0.86 in the others.
BROKEN = 2.0 * (1.0 - 0.75 * 0.5**3.4) - 1.0
HAZE, HAZE_LOG_SD = 0.07, 0.5  # Angstrom's beta


def mixed(rng, usual, astray):
    """Return a plate's own deviation: mostly small, now and then large. [stops or log]"""
    return rng.normal(0.0, astray if rng.random() < ASTRAY_SHARE else usual)


def heavy(rng, scale, freedom=4.0, size=None):
    return scale * rng.standard_t(freedom, size)


@dataclass(frozen=True)
class Studio:
    """What one studio is, unknown to the product."""

    iso: float
    reciprocity: float
    develop_min: float
    lamp_factor: float
    lamp_fall: float
    box_log: float
    lat: float
    haze: float
    shade: float


def draw_studio(rng):
    slower = rng.uniform(0.0, SLOWER_STOPS) + heavy(rng, STUDIO_STOPS)
    return Studio(
        iso=FASTEST_ISO * 2.0**-slower,
        reciprocity=min(1.0, rng.normal(RECIPROCITY, RECIPROCITY_SD)),
        develop_min=DEVELOP_MIN * 2.0 ** heavy(rng, DEVELOP_STUDIO),
        lamp_factor=2.0 ** rng.normal(0.0, LAMP_STOPS),
        lamp_fall=rng.normal(LAMP_FALL, LAMP_FALL_SD),
        box_log=heavy(rng, box_log_sd() / 2.0**0.5),  # Student t of 4: a variance of two
        lat=rng.uniform(32.0, 56.0),
        haze=HAZE * exp(rng.normal(0.0, 0.3)),
        shade=SHADE * 2.0 ** rng.normal(0.0, SHADE_STOPS * 0.7),
    )


def sun_height(lat, day, hour):
    """Return the sun's height in degrees (Spencer 1971); hours of UTC on the zero meridian."""
    turn = 2.0 * pi * (day - 1) / 365.0
    fall = 0.006918 - 0.399912 * cos(turn) + 0.070257 * sin(turn)
    fall += -0.006758 * cos(2 * turn) + 0.000907 * sin(2 * turn)
    fall += -0.002697 * cos(3 * turn) + 0.00148 * sin(3 * turn)
    late = 229.18 * (0.000075 + 0.001868 * cos(turn) - 0.032077 * sin(turn))
    late += 229.18 * (-0.014615 * cos(2 * turn) - 0.04089 * sin(2 * turn))
    angle = np.radians(15.0 * (hour + late / 60.0 - 12.0))
    high = sin(radians(lat)) * sin(fall) + cos(radians(lat)) * cos(fall) * np.cos(angle)
    return np.degrees(np.arcsin(high))


def band(height_deg, haze, micrometres):
    """Return (beam, level sky) of a clear sky in one narrow band, the sun outside being 1.

    Air mass by Rozenberg, Rayleigh and Angstrom depths; half of the air's and four fifths of the
    haze's scattered light come down.
    """
    high = np.maximum(np.sin(np.radians(height_deg)), 0.0)
    mass = 1.0 / (high + 0.025 * np.exp(-11.0 * high))
    air, dust = 0.008735 * micrometres**-4.08, haze * micrometres**-1.3
    beam = np.exp(-mass * (air + dust))
    sky = high * (
        0.5 * (1 - np.exp(-mass * air)) + 0.8 * np.exp(-mass * air) * (1 - np.exp(-mass * dust))
    )
    lit = np.asarray(height_deg) > 0.0
    return np.where(lit, beam, 0.0), np.where(lit, sky, 0.0)


VIOLET, RED = 0.410, 0.660


def facing(height_deg, haze, micrometres):
    beam, sky = band(height_deg, haze, micrometres)
    high = np.sin(np.radians(height_deg))
    return beam + sky * (1.0 + high) / 2.0 + 0.2 * (beam * high + sky) * (1.0 - high) / 2.0


FULL = {colour: float(facing(60.0, HAZE, colour)) for colour in (VIOLET, RED)}


@dataclass(frozen=True)
class Day:
    """One day's sky: heights by minute and the share of clear light that comes through."""

    day: int
    height: np.ndarray
    haze: float
    through: np.ndarray
    by_hour: np.ndarray  # as the forecast has it, but for its error
    sunny: np.ndarray  # minutes of free sun under a sky said to be covered


def spells(rng, count, share, lasting):
    """Return which of `count` moments lie in spells that hold `share` and last so many each."""
    out = np.zeros(count, dtype=bool)
    out[0] = rng.random() < share
    begins = share / (1.0 - share) / lasting
    for at in range(1, count):
        out[at] = rng.random() >= 1.0 / lasting if out[at - 1] else rng.random() < begins
    return out


def draw_day(rng, studio, day, *, covered, asked_at=None):
    """Return a day; where a minute is asked at, the forecast may miss what comes after its hour."""
    missed = turned = np.zeros(24 * 60, dtype=bool)
    if asked_at is not None:
        after = 60 * (int(asked_at) // 60 + 1)
        missed = np.repeat(spells(rng, 24, MISSED, MISSED_HOURS), 60)
        missed &= np.arange(24 * 60) >= after
        turned = missed & spells(rng, 24 * 60, 0.5, TURN_MINUTES)
    height = sun_height(studio.lat, day, np.arange(24 * 60) / 60.0)
    haze = studio.haze * exp(rng.normal(0.0, HAZE_LOG_SD * 0.8))
    if not covered:
        by_hour = np.exp(rng.normal(0.0, 0.03, 24))
        through = np.repeat(by_hour, 60) * np.where(turned, UNDER_A_CLOUD, 1.0)
        return Day(day, height, haze, through, by_hour, np.zeros(24 * 60, dtype=bool))
    whole = heavy(rng, COVERED_DAY, 5.0)
    by_hour = np.clip(COVERED * 2.0 ** (whole + heavy(rng, COVERED_HOUR, 5.0, size=24)), 0.02, 0.9)
    fading = 0.9 ** np.arange(60)  # minutes remember the ten before
    wander = np.convolve(rng.normal(0.0, 0.25 * (1 - 0.81) ** 0.5, 24 * 60 + 59), fading, "valid")
    hours = np.where(missed, BROKEN, np.repeat(by_hour, 60))
    through = np.clip(hours * np.exp(wander), 0.01, 1.0)
    return Day(day, height, haze, through, by_hour, turned)


def exposure_light(day, plane, studio, rng):
    """Return exposure light by minute relative to full sun."""
    beam, sky = band(day.height, day.haze, VIOLET)
    level = beam * np.sin(np.radians(day.height)) + sky
    if plane == "overcast":
        stands = UNDER_CLOUD * 2.0 ** rng.normal(0.0, UNDER_CLOUD_STOPS)
        through = np.where(day.sunny, 1.0, day.through**VIOLET_POWER)
        return level * through * stands / FULL[VIOLET]
    if plane == "shade":
        share = studio.shade * 2.0 ** rng.normal(0.0, SHADE_STOPS * 0.7)
        return (share * sky + 0.05 * level) * day.through / FULL[VIOLET]
    return (
        facing(day.height, day.haze, VIOLET)
        * day.through
        * 2.0 ** rng.normal(0.0, 0.1)
        / FULL[VIOLET]
    )


def red_light(day, *, covered):
    beam, sky = band(day.height, day.haze, RED)
    level = beam * np.sin(np.radians(day.height)) + sky
    free = facing(day.height, day.haze, RED)
    light = np.where(day.sunny, free, level * day.through) if covered else free * day.through
    return light / FULL[RED]


def minutes_until(light, begin_min, needed):
    """Return the minutes from `begin_min` in which `needed` minutes of full sun come in."""
    first = int(begin_min)
    got = np.concatenate([[0.0], np.cumsum(light[first:])])
    if needed > got[-1]:
        return float("inf")
    return float(np.interp(needed, got, np.arange(got.size)))


def exposure_minutes(studio, stops, light, begin_min, f_number, focal_m=0.15, away_m=2.0):
    nearer = (1.0 + focal_m / (away_m - focal_m)) ** 2
    needed = f_number**2 * 100.0 / (2.0**15 * studio.iso) / 60.0 * nearer * 2.0**stops
    whole = minutes_until(light, begin_min, needed)
    if RECIPROCITY_FROM < whole < float("inf"):
        whole *= (whole / RECIPROCITY_FROM) ** (1.0 / studio.reciprocity - 1.0)
    return whole


def develop_minutes(studio, stops, light, begin_min):
    return minutes_until(light, begin_min, studio.develop_min * 2.0**stops)


def lamp_minutes(studio, stops, watts, metres):
    usual = LAMP_MIN * studio.develop_min / DEVELOP_MIN * 2.0**stops
    return usual * studio.lamp_factor * LAMP_W / watts * (metres / LAMP_M) ** studio.lamp_fall


def pressure_pa(celsius):
    return np.exp(np.interp(celsius, IODINE_C, np.log(IODINE_PA)))


def fume_seconds(studio, log_own, box_c, gap_mm):
    warm = float(pressure_pa(20.0) / pressure_pa(box_c))
    return FUME_S * warm * (gap_mm / 20.0) ** FUME_GAP_POWER * exp(studio.box_log + log_own)


def box_log_sd():
    """Return what of the working window is the boxes' own: gaps, temperatures and plates out."""
    days = np.log(pressure_pa(np.linspace(*FUME_C, 200))).std()
    gaps = FUME_GAP_POWER * np.log(np.linspace(*FUME_GAP_MM, 200)).std()
    plates = (1.0 - ASTRAY_SHARE) * FUME_PLATE**2 + ASTRAY_SHARE * FUME_ASTRAY**2
    return float(np.sqrt(WINDOW_LOG_SD**2 - days**2 - gaps**2 - plates))
