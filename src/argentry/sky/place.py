"""Where and when a command is asked about: the studio's site, or a place named by options."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from argentry.errors import BadInput, check_range
from argentry.records.studio import Site
from argentry.zones import check_year, is_skipped, is_twice, zone_named

if TYPE_CHECKING:
    from argentry.records.studio import Studio
    from argentry.trade.spectra import Curve

# Hours between a zone's standard clock and the sun. Of the 312 places of the tz database's table of
# zones (zone1970.tab) 309 are within the first; no place on land passes the second: the west of
# China, on Beijing's time, comes to 3.1.
OFTEN_H, MOST_H = 2.0, 3.25
WRONG_SIGN = (
    "The sign of the longitude seems to be the wrong way round: at {here} the clock of {zone} is "
    "{hours:.1f} h {way} the sun, at {there} it would fit. East is positive, west negative."
)
NO_FIT = (
    "The time zone does not fit the longitude: at {here} the clock of {zone} is {hours:.1f} h "
    "{way} the sun, more than anywhere on land. Every time of the day would be wrong."
)
CHECK_ZONE = (
    "Check the time zone and the longitude: at {here} the clock of {zone} is {hours:.1f} h {way} "
    "the sun, which is so in few places."
)
LOWEST_M, HIGHEST_M = -450.0, 6000.0  # the Dead Sea's shore; the highest settlements and a margin


@dataclass(frozen=True)
class Place:
    """A place as the physics needs it.

    Attributes
    ----------
    latitude_deg, longitude_deg : float
        North and east positive. [deg]
    elevation_m : float
        Above sea level. [m]
    time_zone : str
        IANA zone name of the wall clock.
    horizon : tuple of (float, float)
        Skyline as azimuth and elevation pairs [deg, deg]; empty for a free horizon.
    albedo : float
        Share of light the ground throws back. [1]
    haze_aod : float or None
        Aerosol optical depth at 500 nm; None means the trade's value. [1]
    name : str
        For the sheets.
    window : Curve or None
        Spectrum of the pane of the plane ``"window"``; None: the trade's. [nm, 1]
    """

    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    time_zone: str
    horizon: tuple[tuple[float, float], ...]
    albedo: float
    haze_aod: float | None
    name: str
    window: Curve | None = None


def resolve_place(
    studio: Studio | None,
    lat: float | None = None,
    lon: float | None = None,
    elevation_m: float | None = None,
    tz: str | None = None,
    haze: float | None = None,
) -> Place:
    """Return the place the options name, filled up from the studio.

    A place named by `lat` and `lon` takes nothing of the studio's site but its time zone: the
    skyline, the ground and the height belong to the site itself.

    Parameters
    ----------
    studio : Studio or None
        None when the command is used without a studio.
    lat, lon : float or None
        ``--lat``, ``--lon``. [deg]
    elevation_m : float or None
        ``--elevation-m``. [m]
    tz : str or None
        ``--tz``, an IANA zone; without it and without a studio the clock is UTC.
    haze : float or None
        ``--haze``, aerosol optical depth at 500 nm. [1]

    Raises
    ------
    BadInput
        If no place is named, or a value is impossible.
    """
    if (lat is None) != (lon is None):
        missing = "--lon" if lon is None else "--lat"
        raise BadInput(missing, "only one of --lat and --lon is given", "give both")
    if lat is not None and lon is not None:
        site = Site(
            name="the place named by --lat and --lon",
            latitude_deg=check_range("--lat", lat, -90.0, 90.0, "deg"),
            longitude_deg=check_range("--lon", lon, -180.0, 180.0, "deg"),
            elevation_m=0.0,
            time_zone=studio.site.time_zone if studio else "UTC",
        )
    elif studio is not None:
        site = studio.site
    else:
        raise BadInput(
            "the place",
            "no studio and no coordinates are given",
            "give --lat and --lon, or --studio DIR, or go to a folder that holds a studio.toml",
        )
    if elevation_m is not None:
        check_range("--elevation-m", elevation_m, LOWEST_M, HIGHEST_M, "m")
    if haze is not None:
        check_range("--haze", haze, 0.0, 1.0, "(aerosol optical depth at 500 nm)")
    return Place(
        latitude_deg=site.latitude_deg,
        longitude_deg=site.longitude_deg,
        elevation_m=site.elevation_m if elevation_m is None else elevation_m,
        time_zone=site.time_zone if tz is None else check_zone("--tz", tz),
        horizon=site.horizon,
        albedo=site.ground_albedo,
        haze_aod=site.haze_aod if haze is None else haze,
        name=site.name,
        window=pane.curve if studio and (pane := studio.subject.window_spectrum) else None,
    )


def check_zone(where: str, name: str) -> str:
    """Return `name` when it is a known IANA time zone."""
    return zone_named(where, name).key


def to_utc(where: str, when: datetime, time_zone: str) -> datetime:
    """Return `when` in UTC; without an offset it is read as wall clock in `time_zone`.

    A wall-clock time that happens twice (clocks set back) is taken as the first:
    see `happens_twice`.

    Parameters
    ----------
    where : str
        Name of the option, for the sentence.
    when : datetime
        With or without an offset.
    time_zone : str
        IANA zone of a time without an offset.

    Raises
    ------
    BadInput
        If the wall clock of that zone skips this time (clocks set forward), or the year is absurd.
    """
    check_year(where, when)
    if when.tzinfo is not None:
        return when.astimezone(UTC)
    zone = zone_named("the time zone", time_zone)
    utc = when.replace(tzinfo=zone, fold=0).astimezone(UTC)
    if is_skipped(when, zone):
        shown = utc.astimezone(zone).replace(tzinfo=None)
        raise BadInput(
            where,
            "{when} does not exist in {time_zone}, where the clocks are set forward then",
            "{shown} is the same moment by the new time",
            when=when.isoformat(timespec="minutes"),
            time_zone=time_zone,
            shown=shown.isoformat(timespec="minutes"),
        )
    return utc


def happens_twice(when: datetime, time_zone: str) -> bool:
    """Tell whether a wall-clock time occurs twice in `time_zone` (the clocks are set back)."""
    return when.tzinfo is None and is_twice(when, ZoneInfo(time_zone))


def to_local(utc: datetime, place: Place) -> datetime:
    """Return a UTC time on the place's wall clock, with its offset."""
    return utc.astimezone(ZoneInfo(place.time_zone))


def zone_note(time_zone: str, longitude_deg: float, year: int) -> str:
    """Return a warning where a zone's clock is far from the sun's at a longitude; else no words.

    Parameters
    ----------
    time_zone : str
        IANA zone name.
    longitude_deg : float
        East positive. [deg]
    year : int
        Whose rules count: its standard time, without daylight saving.
    """
    offset_h = _standard_offset_h(time_zone, year)
    ahead = _apart_h(offset_h, longitude_deg)
    if abs(ahead) <= OFTEN_H:
        return ""
    turned = abs(_apart_h(offset_h, -longitude_deg)) <= OFTEN_H
    words = WRONG_SIGN if turned else NO_FIT if abs(ahead) > MOST_H else CHECK_ZONE
    return words.format(
        here=_longitude(longitude_deg),
        there=_longitude(-longitude_deg),
        zone=time_zone,
        hours=abs(ahead),
        way="ahead of" if ahead > 0.0 else "behind",
    )


def _apart_h(offset_h: float, longitude_deg: float) -> float:
    """Return how far a clock is ahead of the sun, the short way round the date line [h]."""
    return (offset_h - longitude_deg / 15.0 + 12.0) % 24.0 - 12.0


def _standard_offset_h(time_zone: str, year: int) -> float:
    """Return how far a zone's winter clock is ahead of universal time [h]."""
    zone = ZoneInfo(time_zone)
    offsets = (datetime(year, month, 1, tzinfo=zone).utcoffset() for month in (1, 7))
    return min(offset.total_seconds() for offset in offsets if offset is not None) / 3600.0


def _longitude(degrees: float) -> str:
    return f"{abs(degrees):g}° {'E' if degrees >= 0.0 else 'W'}"
