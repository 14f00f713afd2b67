"""The light of the bench's day, minute by minute, with what the meter said on the way.

Light is the clear sky's times a share, one for the light on the subject and one for that behind the
red filter. The share is what the plan expected of each hour (1 where nobody planned), and after a
reading what the reading found, which fades back to the expected one. Cloud told in eighths is
turned into light as the plan turns a forecast's, and a meter's reading into the cloud under which
that meter shows it (`argentry.sky.meters`).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from argentry.physics.lights import meter
from argentry.physics.lights.bands import lux_per_watt
from argentry.physics.lights.cloud import beam_at_okta
from argentry.sky.light_doubt import light_doubt
from argentry.sky.meters import AMOUNTS, cloud_shown, meters_at
from argentry.sky.place import resolve_place
from argentry.sky.sky_day import sky_day
from argentry.sky.weather.as_read import still
from argentry.trade.readings import FILTER_LAWS, quantities
from argentry.trade.steps import by_law, steps

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from argentry.arrays import Floats
    from argentry.records.answers.doubt import DoubtPart
    from argentry.records.instruments import DevelopmentFrame
    from argentry.records.run import RunReading
    from argentry.records.studio import Studio
    from argentry.sky.meters import Meters


MINUTE_S = 60.0
CLOUD, LIGHT_READING = "{eighths:g} eighths of cloud", "light reading {number}"
LOWEST_SUN_DEG = 5.0  # below it the model's own light is too little known to compare a meter with


@dataclass(frozen=True)
class ClearDay:
    """The clear sky's light of one local day, by minute.

    Attributes
    ----------
    start_utc : datetime
        Local midnight.
    elevation_deg, exposure_w_m2, development_w_m2 : Floats, shape (n,)
        Sun's height [deg], light on the subject and behind the red filter [W/m2].
    lux_subject, lux_frame, ghi_w_m2 : Floats, shape (n,)
        What a meter would read at the subject, at the frame [lx] and on the level [W/m2].
    last_index : int
        Step edge after the last sight of the sun over the skyline.
    """

    start_utc: datetime
    elevation_deg: Floats
    exposure_w_m2: Floats
    development_w_m2: Floats
    lux_subject: Floats
    lux_frame: Floats
    ghi_w_m2: Floats
    last_index: int

    def index(self, moment: datetime) -> float:
        """Return a moment in steps from the start."""
        return (moment - self.start_utc).total_seconds() / MINUTE_S

    def moment(self, index: float) -> datetime:
        """Return the moment at a step edge, UTC."""
        return self.start_utc + timedelta(seconds=index * MINUTE_S)

    def is_dark(self, moment: datetime) -> bool:
        """Tell whether the sun is too low at a moment to compare a meter with the model."""
        index = int(self.index(moment))
        inside = 0 <= index < len(self.elevation_deg)
        return not inside or bool(self.elevation_deg[index] < LOWEST_SUN_DEG)


@dataclass(frozen=True)
class Found:
    """A light reading against the clear sky.

    Attributes
    ----------
    at : datetime
        UTC.
    exposure, development : float
        Share of the clear sky's light on the subject and behind the red filter. [1]
    words : str
        The reading as said.
    doubts : tuple of DoubtPart
        How well it tells of the light on the subject.
    metered : bool
        True for a meter's reading; False for cloud told in eighths.
    under_filter : tuple of (str, float) or None
        Of a reading behind the filter of a frame under a lamp: its law and value. It tells of the
        lamp alone.
    beam, level : float
        Share of the clear sky's beam, and of all its light on level ground. [1]
    """

    at: datetime
    exposure: float
    development: float
    words: str
    doubts: tuple[DoubtPart, ...]
    metered: bool
    under_filter: tuple[str, float] | None = None
    beam: float = 1.0
    level: float = 1.0


def frame_of(studio: Studio, name: str | None) -> DevelopmentFrame:
    """Return the frame of that name, else the studio's first."""
    return next((f for f in studio.frames if f.name == name), studio.frames[0])


def clear_day(studio: Studio, frame: DevelopmentFrame, moment: datetime) -> ClearDay:
    """Return the clear day, by the studio's wall clock, that holds a moment."""
    local = moment.astimezone(ZoneInfo(studio.site.time_zone)).date()
    return _clear_day(studio, frame, local.isoformat())


@lru_cache(maxsize=8)
def _clear_day(studio: Studio, frame: DevelopmentFrame, date: str) -> ClearDay:
    zone = ZoneInfo(studio.site.time_zone)
    start = datetime.fromisoformat(date).replace(tzinfo=zone).astimezone(UTC)
    after = datetime.fromisoformat(date) + timedelta(days=1)
    minutes = round((after.replace(tzinfo=zone).astimezone(UTC) - start).total_seconds() / MINUTE_S)
    edges = np.datetime64(start.replace(tzinfo=None), "s") + np.arange(minutes) * np.timedelta64(
        60, "s"
    )
    times = edges + np.timedelta64(30, "s")
    through = frame.through
    day = sky_day(resolve_place(studio), times, (through,))
    subject = day.light(through, exposure_plane=studio.subject.plane)
    frames = day.light(through)
    seen = np.flatnonzero(day.over_skyline)
    return ClearDay(
        start_utc=start,
        elevation_deg=subject.elevation_deg,
        exposure_w_m2=subject.exposure_w_m2,
        development_w_m2=subject.development_w_m2,
        lux_subject=subject.illuminance_lux,
        lux_frame=frames.illuminance_lux,
        ghi_w_m2=subject.ghi_w_m2,
        last_index=int(seen[-1]) + 1 if seen.size else 0,
    )


def against_clear(
    studio: Studio,
    frame: DevelopmentFrame,
    reading: RunReading,
    expected_beam: float | None = None,
) -> Found | None:
    """Return what share of the clear sky's light a reading found; None when it cannot be said.

    It cannot be said in the dark, and of a reading that no sky explains: brighter than any, or
    darker than the darkest, as an instrument shows that is covered, in a shadow or told wrongly.

    Parameters
    ----------
    studio : Studio
        Place, subject.
    frame : DevelopmentFrame
        Its filter.
    reading : RunReading
        Of a quantity that feeds a law of light, in its own unit.
    expected_beam : float or None
        Share of the clear beam that was expected, where a reading fits two skies. [1]
    """
    law = quantities()[reading.what].law
    if law in FILTER_LAWS and frame.lamp is not None:
        said = (law, reading.value)
        return Found(reading.at, 1.0, 1.0, words_of(reading), (), metered=True, under_filter=said)
    day = clear_day(studio, frame, reading.at)
    if day.is_dark(reading.at):
        return None
    index = int(day.index(reading.at))
    shown = meters_at(studio, frame, reading.at)
    if law == "cloud":
        amount, more, words = reading.value, 1.0, number_of(reading)
        doubt = _doubt(studio, day, index, under_cloud=1.0 - float(beam_at_okta(amount)))
    else:
        value, model, clear = _metered(frame, reading, law, shown, day)
        if clear[index] <= 0.0:
            return None
        # the minute's own clear sky: a reading of it finds all of it, exactly
        value *= float(model[0]) / float(clear[index])
        cloud = cloud_shown(model, value, expected_beam)
        if cloud is None:
            return None
        amount, more = cloud, value / float(np.interp(cloud, AMOUNTS, model))
        words, doubt = words_of(reading), _doubt(studio, day, index, metered=True)

    def share(light: Floats) -> float:
        return more * shown.share(light, amount)

    return Found(
        at=reading.at,
        exposure=share(shown.exposure),
        development=share(shown.development),
        words=words,
        doubts=doubt,
        metered=law != "cloud",
        beam=share(shown.beam_share),
        level=share(shown.global_share),
    )


def _metered(
    frame: DevelopmentFrame, reading: RunReading, law: str, shown: Meters, day: ClearDay
) -> tuple[float, Floats, Floats]:
    """Return a meter's value, what it shows under each sky, and the clear day by minute."""
    if law == "exposure value":
        return meter.ev_to_lux(reading.value), shown.lux_subject, day.lux_subject
    if law == "irradiance":
        return reading.value, shown.ghi, day.ghi_w_m2
    if law in FILTER_LAWS:
        per_watt = lux_per_watt(*frame.through) if FILTER_LAWS[law] == "lx" else 1.0
        return reading.value / per_watt, shown.development, day.development_w_m2
    if reading.step in _steps_at_the_frame():
        return reading.value, shown.lux_frame, day.lux_frame
    return reading.value, shown.lux_subject, day.lux_subject


def words_of(reading: RunReading) -> str:
    """Return a reading of a meter in words."""
    return LIGHT_READING.format(number=number_of(reading))


def number_of(reading: RunReading) -> str:
    """Return what was read, with its unit."""
    if quantities()[reading.what].law == "cloud":
        return CLOUD.format(eighths=reading.value)
    digits = 0 if abs(reading.value) >= 100.0 else 1
    number = f"{reading.value:,.{digits}f}".replace(",", " ")
    return "{number} {unit}".format(number=number, unit=reading.unit)


def _doubt(studio: Studio, day: ClearDay, index: int, **told: Any) -> tuple[DoubtPart, ...]:
    haze_named = studio.site.haze_aod is not None
    plane = "" if studio.habits.plate_speed is not None else studio.subject.plane
    return light_doubt(float(day.elevation_deg[index]), haze_named=haze_named, plane=plane, **told)


def expected_shares(
    day: ClearDay, clear: Floats, hours: Sequence[Sequence[Any]], key: int
) -> Floats:
    """Return by minute the share of the clear sky's light that the plan expected, 1 without one.

    Parameters
    ----------
    day : ClearDay
        The day.
    clear : Floats, shape (n,)
        Its clear light of one kind. [W/m2]
    hours : sequence of (str, float, float)
        Start of an hour (ISO 8601), exposure and development light expected in it. [W/m2]
    key : int
        1 exposure, 2 development.
    """
    shares = np.ones(len(clear))
    for first, expected in _by_hour(day, hours, key):
        low, high = max(first, 0), min(first + 60, len(clear))
        mean = float(clear[low:high].mean()) if high > low else 0.0
        if mean > 0.0:
            # not held below a bound: a window gets half as much again under broken cloud
            shares[low:high] = expected / mean
    return shares


def expected_turn(
    day: ClearDay, index: int, constants: Mapping[str, Any], key: int
) -> float | None:
    """Return how far the plan's weather lets the light of a moment turn; None without weather.

    Parameters
    ----------
    day : ClearDay
        The day.
    index : int
        Minute of the day.
    constants : Mapping[str, Any]
        Of the run; ``hours`` holds what the plan expected.
    key : int
        3 exposure, 4 development.

    Returns
    -------
    float or None
        Standard deviation. [stops]
    """
    for first, turn in _by_hour(day, constants.get("hours") or (), key):
        if first <= index < first + 60:
            return turn
    return None


def _by_hour(
    day: ClearDay, hours: Sequence[Sequence[Any]], key: int
) -> Iterator[tuple[int, float]]:
    """Yield an hour's first minute of the day and its number; an hour without one is passed by."""
    for hour in hours:
        try:
            yield round(day.index(datetime.fromisoformat(hour[0]))), float(hour[key])
        except (TypeError, ValueError, IndexError):
            continue


def shares_now(day: ClearDay, expected: Floats, found: Sequence[tuple[datetime, float]]) -> Floats:
    """Return by minute the share of the clear sky's light, with the readings taken.

    Parameters
    ----------
    day : ClearDay
        The day.
    expected : Floats, shape (n,)
        Expected share.
    found : sequence of (datetime, float)
        Share that each reading found of this light, in order of time. [1]
    """
    shares = expected.copy()
    minutes = np.arange(len(expected), dtype=np.float64) + 0.5
    for moment, share in found:
        at = day.index(moment)
        after = minutes >= at
        shares[after] = expected[after] + (share - expected[after]) * still(minutes[after] - at)
    return shares


def of_plan(day: ClearDay, kind: str, constants: Mapping[str, Any], found: Found) -> float | None:
    """Return what a reading found over what the plan expected then; None where nobody planned [1].

    Parameters
    ----------
    day, kind, constants
        As of `light_of`.
    found : Found
        The reading.
    """
    clear, share = _of_kind(day, kind, found)
    index = int(day.index(found.at))
    hours = constants.get("hours")
    if not isinstance(hours, list) or not hours or not 0 <= index < len(clear):
        return None
    expected = float(expected_shares(day, clear, hours, 1 if kind == "exposure" else 2)[index])
    return share / expected if expected > 0.0 else None


def _of_kind(day: ClearDay, kind: str, found: Found) -> tuple[Floats, float]:
    """Return the clear light of a kind, and the share of it that a reading found."""
    if kind == "exposure":
        return day.exposure_w_m2, found.exposure
    return day.development_w_m2, found.development


def light_of(
    day: ClearDay, kind: str, constants: Mapping[str, Any], found: Sequence[Found]
) -> Floats:
    """Return the running sum of one kind of sunlight over the day in J/m2, shape (n + 1,).

    Parameters
    ----------
    day : ClearDay
        The day.
    kind : str
        ``"exposure"`` or ``"development"``.
    constants : Mapping[str, Any]
        Of the run; ``hours`` holds what the plan expected.
    found : sequence of Found
        Light readings in order.
    """
    exposing = kind == "exposure"
    clear = day.exposure_w_m2 if exposing else day.development_w_m2
    hours = constants.get("hours")
    hours = hours if isinstance(hours, list) else []
    expected = expected_shares(day, clear, hours, 1 if exposing else 2)
    seen = [(one.at, one.exposure if exposing else one.development) for one in found]
    light = clear * shares_now(day, expected, seen)
    light[day.last_index :] = 0.0  # nothing is counted on after the sun's last sight
    return np.concatenate(([0.0], np.cumsum(light) * MINUTE_S))


@cache
def _steps_at_the_frame() -> frozenset[str]:
    """Return the steps in which a reading is one next to the frame."""
    frame = by_law("development").resource
    return frozenset(rule.key for rule in steps() if rule.resource == frame)
