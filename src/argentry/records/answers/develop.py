"""The answer of ``argentry develop``: when a plate is ripe under the red filter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from argentry.records.answers.doubt import Doubt
from argentry.records.needs import NumberInUse


@dataclass(frozen=True)
class DevelopAnswer:
    """When a plate is ripe under the red filter.

    Attributes
    ----------
    start : datetime
        When development begins.
    time_zone : str
        IANA name of the zone.
    end : datetime or None
        When it is ripe; null when the light does not suffice.
    end_80 : tuple of datetime or None
        The 80 % range of that; null where time is up first.
    minutes : float or None
        How long that takes; null when the light does not suffice. [min]
    minutes_80 : tuple of float or None
        Its 80 % range; null where time is up first. [min]
    veiled : datetime or None
        When its shadows veil: it must be out before; null when the light ends sooner.
    veiled_80 : tuple of datetime or None
        Its 80 % range; an end is null when the light ends sooner.
    minutes_veiled : float or None
        From the start to the veil. [min]
    minutes_veiled_80 : tuple of float or None
        Its 80 % range. [min]
    light_suffices : bool
        True when an average plate is ripe before time is up.
    share_of_dose : float
        Share of the dose that comes in before time is up. [1]
    ripe_odds : float
        Chance that the plate is ripe before time is up. [1]
    time_is_up : datetime
        When the light ends, or the deadline.
    time_is_up_because : str
        Why.
    latest_start : datetime or None
        Latest start for an average plate; null under a lamp without a deadline.
    looks : tuple of datetime
        When to look.
    dose_kj_m2 : float
        Light that it needs behind the filter. [kJ/m2]
    dose_kj_m2_80 : tuple of float
        Its 80 % range. [kJ/m2]
    doubt : Doubt
        What the range of the time is made of; that of the dose is of plate and studio alone.
    waited_min : float
        Between the end of the exposure and the start of development. [min]
    fading_stops : float
        Exposure that the latent image lost meanwhile. [stops]
    dose_is_seed : bool
        True when the dose is the trade's starting value.
    cut_on_nm : float
        Edge of the red filter. [nm]
    filter_transmission : float
        Of the filter in the red. [1]
    development_w_m2 : float
        Light behind the filter at the start. [W/m2]
    density_needed : float
        Optical density the filter needs in the violet for this development. [1]
    density_below_nm : float
        Below which wavelength. [nm]
    blocking_density : float or None
        The filter's own; null when it was not measured. [1]
    warming_k : float
        How far the frame may run above the air. [K]
    tilt_tolerance_deg : float or None
        How far the frame may be off the sun; null under a lamp. [deg]
    warmest_plate_c : float
        Warmest that a plate should get, a starting value. [°C]
    light : str
        ``"sun"``, or the lamp in words.
    light_note : str
        Where the sky came from, or ``"lamp"``.
    place : str or None
        Name of the place; null under a lamp.
    elevation_deg, azimuth_deg : float or None
        The sun at the start; null under a lamp. [deg]
    warnings : tuple of str
        Loud notes, one sentence each.
    cautions : tuple of str
        Cautions; local codes decide.
    numbers_in_use : tuple of NumberInUse
        The studio's own numbers behind the answer: learned, believed or given.
    as_written : bool
        True when learned numbers were left out because that was asked for.
    """

    start: datetime
    time_zone: str
    end: datetime | None
    end_80: tuple[datetime | None, datetime | None]
    minutes: float | None
    minutes_80: tuple[float | None, float | None]
    veiled: datetime | None
    veiled_80: tuple[datetime | None, datetime | None]
    minutes_veiled: float | None
    minutes_veiled_80: tuple[float | None, float | None]
    light_suffices: bool
    share_of_dose: float
    ripe_odds: float
    time_is_up: datetime
    time_is_up_because: str
    latest_start: datetime | None
    looks: tuple[datetime, ...]
    dose_kj_m2: float
    dose_kj_m2_80: tuple[float, float]
    doubt: Doubt
    waited_min: float
    fading_stops: float
    dose_is_seed: bool
    cut_on_nm: float
    filter_transmission: float
    development_w_m2: float
    density_needed: float
    density_below_nm: float
    blocking_density: float | None
    warming_k: float
    tilt_tolerance_deg: float | None
    warmest_plate_c: float
    light: str
    light_note: str
    place: str | None
    elevation_deg: float | None
    azimuth_deg: float | None
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    numbers_in_use: tuple[NumberInUse, ...]
    as_written: bool
