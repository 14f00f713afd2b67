"""The answer of ``argentry fume``: seconds over iodine."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.records.answers.doubt import Doubt
from argentry.records.needs import NumberInUse


@dataclass(frozen=True)
class Unevenness:
    """How far a coat differs across the plate.

    Attributes
    ----------
    ripple, tilt, tray : float
        By the crystals' ripple, a tilt of the plate and a warmer side of the tray. [1]
    relative, nm : float
        All together. [1, nm]
    """

    ripple: float
    tilt: float
    tray: float
    relative: float
    nm: float


@dataclass(frozen=True)
class FumingAt:
    """The time at another temperature.

    Attributes
    ----------
    box_temperature_c : float
        Of the crystals. [°C]
    seconds : float
        Time over iodine. [s]
    """

    box_temperature_c: float
    seconds: float


@dataclass(frozen=True)
class FumedBox:
    """The box as taken.

    Attributes
    ----------
    name : str or None
        Name of the studio's box.
    plate_temperature_c, box_temperature_c : float
        Plate and crystals. [°C]
    gap_mm, crystal_spacing_mm : float
        Crystals to plate, crystal to crystal. [mm]
    cover_share : float
        Share of the floor under crystals. [1]
    pressure_pa : float
        Of the air. [Pa]
    box_factor : float
        Measured seconds over computed seconds. [1]
    film_resistance : float or None
        Of a film that slows itself. [s/m2]
    """

    name: str | None
    plate_temperature_c: float
    box_temperature_c: float
    gap_mm: float
    crystal_spacing_mm: float
    cover_share: float
    pressure_pa: float
    box_factor: float
    film_resistance: float | None


@dataclass(frozen=True)
class FumedPlate:
    """The plate as taken.

    Attributes
    ----------
    size : str or None
        Trade size; None where the area was given.
    area_cm2 : float
        Area. [cm2]
    """

    size: str | None
    area_cm2: float


@dataclass(frozen=True)
class LastSeconds:
    """What the seconds back over iodine add, after the colour was judged.

    Attributes
    ----------
    seconds : float
        Back over iodine. [s]
    grown_nm : float
        Coat that they add, in a box that has settled. [nm]
    grown_nm_80 : tuple of float
        The same in a box just swept, and in one that stood shut meanwhile. [nm]
    judged_nm : float
        Coat to be judged before them. [nm]
    judged_colour : str or None
        Its colour word; None beyond the words.
    judged_at_seconds : float
        When it is there. [s]
    """

    seconds: float
    grown_nm: float
    grown_nm_80: tuple[float, float]
    judged_nm: float
    judged_colour: str | None
    judged_at_seconds: float


@dataclass(frozen=True)
class FumeAnswer:
    """Seconds over iodine to a wanted thickness.

    Attributes
    ----------
    thickness_nm : float
        Thickness wanted. [nm]
    seconds : float
        Time over iodine, middle value. [s]
    seconds_80 : tuple of float
        Its 80 % range. [s]
    doubt : Doubt
        What the range is made of.
    iodine_mg : float
        Iodine bound in the coat. [mg]
    rested : bool
        True when the box stood shut before.
    rested_seconds, swept_seconds : float
        Time in a rested box, and in one whose air was swept out. [s]
    rest_seconds : float
        Time after which a swept box counts as rested. [s]
    steady_rate_nm_s : float
        Growth once the air has settled. [nm/s]
    unevenness : Unevenness
        Unevenness of the coat by cause and all together.
    turn_plate_at_seconds : float
        When to turn the plate. [s]
    half_coat_seconds : float
        When half the coat is on. [s]
    last : LastSeconds
        The last seconds back over iodine.
    around : tuple of FumingAt
        The same at other box temperatures.
    per_kelvin : float
        Growth gained by one kelvin. [1/K]
    convection_margin_k : float
        How much colder than the crystals the plate may be before the air turns over. [K]
    air_over_crystals_ppm : float
        Iodine in the air over the crystals. [ppm]
    box_air_iodine_mg : float
        Iodine in the box's air, lost when it is opened. [mg]
    box : FumedBox
        The box as taken.
    plate : FumedPlate
        The plate as taken.
    warnings : tuple of str
        Loud notes, one sentence each.
    cautions : tuple of str
        Cautions; local codes and suppliers' safety data sheets decide.
    limits : str
        Limits for iodine in the air, with whose they are.
    notes : tuple of str
        What to know about these figures, one sentence each.
    numbers_in_use : tuple of NumberInUse
        The studio's own numbers behind the answer: learned, believed or given.
    as_written : bool
        True when learned numbers were left out because that was asked for.
    """

    thickness_nm: float
    seconds: float
    seconds_80: tuple[float, float]
    doubt: Doubt
    iodine_mg: float
    rested: bool
    rested_seconds: float
    swept_seconds: float
    rest_seconds: float
    steady_rate_nm_s: float
    unevenness: Unevenness
    turn_plate_at_seconds: float
    half_coat_seconds: float
    last: LastSeconds
    around: tuple[FumingAt, ...]
    per_kelvin: float
    convection_margin_k: float
    air_over_crystals_ppm: float
    box_air_iodine_mg: float
    box: FumedBox
    plate: FumedPlate
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    limits: str
    notes: tuple[str, ...]
    numbers_in_use: tuple[NumberInUse, ...]
    as_written: bool
