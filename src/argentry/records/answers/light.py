"""The answer of ``argentry light``: exposure and development light at a place over time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from argentry.records.answers.doubt import Doubt
from argentry.records.needs import NumberInUse


@dataclass(frozen=True)
class MeterMeans:
    """What a meter's reading means for the plate.

    Attributes
    ----------
    option : str
        The option that gave it.
    reading : float
        As given, in its unit.
    unit : str
        Its unit.
    lux : float or None
        The same in lux; null for a pyranometer. [lx]
    actinic_w_m2 : float
        Exposure light that it means. [W/m2]
    correction_stops : float
        What the meter misses. [stops]
    overstates : float
        How many times the meter overstates the exposure light. [1]
    share_of_model : float
        The reading over what this sky should give. [1]
    """

    option: str
    reading: float
    unit: str
    lux: float | None
    actinic_w_m2: float
    correction_stops: float
    overstates: float
    share_of_model: float


@dataclass(frozen=True)
class LightAnswer:
    """Exposure and development light at a place over time; every list has one entry for each time.

    Attributes
    ----------
    time : tuple of datetime
        Times asked about, on the wall clock of the place.
    elevation_deg, azimuth_deg : tuple of float
        The sun: its height, and its direction from north through east. [deg]
    actinic_w_m2 : tuple of float
        Exposure light behind the lens in use. [W/m2]
    actinic_low_w_m2, actinic_high_w_m2 : tuple of float
        Its 80 % range. [W/m2]
    development_w_m2 : tuple of float
        Light behind the red filter. [W/m2]
    ghi_w_m2 : tuple of float
        All light on level ground. [W/m2]
    illuminance_lux : tuple of float
        What a lux meter in the plane reads. [lx]
    correction_stops : tuple of float or None
        What a light meter misses; null in the dark. [stops]
    meter_overstates : tuple of float or None
        How many times a light meter overstates the exposure light; null in the dark. [1]
    plane : str
        Plane of both lights.
    place : str
        Name of the place.
    latitude_deg, longitude_deg : float
        Where it is. [deg]
    elevation_m : float
        How high it lies. [m]
    time_zone : str
        IANA name of its zone.
    haze_aod500 : float
        Aerosol optical depth at 500 nm. [1]
    lens_transmission : float
        Of the lens in the violet. [1]
    cut_on_nm : float
        Edge of the red filter. [nm]
    filter_transmission : float
        Of the filter in the red. [1]
    sky : str
        Where the sky came from.
    notes : tuple of str
        What to know, one sentence each.
    meter : MeterMeans or None
        What a reading means; null when none was given.
    doubt : Doubt or None
        What the range is made of; null for a span and in the dark.
    numbers_in_use : tuple of NumberInUse
        The studio's own numbers behind the answer: none, light depends on place and glass alone.
    as_written : bool
        True when learned numbers were to be left out.
    """

    time: tuple[datetime, ...]
    elevation_deg: tuple[float, ...]
    azimuth_deg: tuple[float, ...]
    actinic_w_m2: tuple[float, ...]
    actinic_low_w_m2: tuple[float, ...]
    actinic_high_w_m2: tuple[float, ...]
    development_w_m2: tuple[float, ...]
    ghi_w_m2: tuple[float, ...]
    illuminance_lux: tuple[float, ...]
    correction_stops: tuple[float | None, ...]
    meter_overstates: tuple[float | None, ...]
    plane: str
    place: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    time_zone: str
    haze_aod500: float
    lens_transmission: float
    cut_on_nm: float
    filter_transmission: float
    sky: str
    notes: tuple[str, ...]
    meter: MeterMeans | None
    doubt: Doubt | None = None
    numbers_in_use: tuple[NumberInUse, ...] = ()
    as_written: bool = False
