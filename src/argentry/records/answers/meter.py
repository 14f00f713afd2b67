"""The answer of ``argentry light --meter``: a maker's own light meter against the two lights."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True)
class MeterHour:
    """The meter at one time of the day, facing the sun under a clear sky.

    Attributes
    ----------
    time : datetime
        On the wall clock of the place.
    elevation_deg : float
        Of the sun. [deg]
    reading_ev : float
        What the meter shows, incident, at ISO 100. [EV]
    exposure_stops : float
        Stops to give more than the meter says, before the camera. [stops]
    development_stops : float
        The same under the red filter. [stops]
    """

    time: datetime
    elevation_deg: float
    reading_ev: float
    exposure_stops: float
    development_stops: float


@dataclass(frozen=True)
class MeterRow:
    """One row of the card: what to add to the meter at one height of the sun.

    Attributes
    ----------
    elevation_deg : float
        Of the sun. [deg]
    shadow_m : float
        Of a stick of one metre on level ground. [m]
    morning, evening : datetime or None
        When the sun passes that height on this day; null when it does not.
    sun_stops, shade_stops, overcast_stops : float
        Stops to give more than the meter says before the camera: facing the sun, in open shade,
        and under an overcast sky. [stops]
    development_stops : float
        Under the red filter facing the sun. [stops]
    """

    elevation_deg: float
    shadow_m: float
    morning: datetime | None
    evening: datetime | None
    sun_stops: float
    shade_stops: float
    overcast_stops: float
    development_stops: float


@dataclass(frozen=True)
class MeterStory:
    """A light meter against the plate's light and the development light over a day.

    Attributes
    ----------
    meter : str
        Which meter: the studio's name for it, or the spectrum's.
    spectrum : str
        Name of the spectrum of its response.
    place : str
        Where.
    invented : bool
        True for an invented place.
    latitude_deg, longitude_deg : float
        Where it is. [deg]
    time_zone : str
        Of the clock.
    date : date
        The day.
    agrees_at_deg : float
        Height of the sun at which meter and plate are set to agree. [deg]
    rough_below_deg : float
        Below this height the light is known only roughly. [deg]
    hours : tuple of MeterHour
        Every half hour with the sun as high as the lowest row of the card; empty without one.
    card : tuple of MeterRow
        From high sun to low: what to write on the meter's back.
    """

    meter: str
    spectrum: str
    place: str
    invented: bool
    latitude_deg: float
    longitude_deg: float
    time_zone: str
    date: date
    agrees_at_deg: float
    rough_below_deg: float
    hours: tuple[MeterHour, ...]
    card: tuple[MeterRow, ...]
