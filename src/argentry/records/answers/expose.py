"""The answer of ``argentry expose``: minutes before the camera, and how still to sit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from argentry.records.answers.doubt import Doubt
from argentry.records.needs import NumberInUse


@dataclass(frozen=True)
class PoseBlur:
    """What a pose makes of the picture.

    Attributes
    ----------
    pose : str
        How the sitter is held.
    motion_rms_mm : float
        Motion of the head over the exposure, root mean square. [mm]
    blur_mm : float
        Blur on the plate, full width. [mm]
    sharp : bool
        True when the motion is within the budget.
    """

    pose: str
    motion_rms_mm: float
    blur_mm: float
    sharp: bool


@dataclass(frozen=True)
class StopsByCause:
    """How many stops each cause lengthens (positive) or shortens the exposure.

    Attributes
    ----------
    light_against_high_sun : float
        The light against high sun. [stops]
    light_meter_misses : float
        What a light meter would not see. [stops]
    near_subject, lens, coat, tone, mirror : float
        Of the camera, the plate and the subject. [stops]
    """

    light_against_high_sun: float
    light_meter_misses: float
    near_subject: float
    lens: float
    coat: float
    tone: float
    mirror: float


@dataclass(frozen=True)
class StepTest:
    """A plate exposed in half-stop strips.

    Attributes
    ----------
    strip_stops : tuple of float
        How much more than the middle strip each has. [stops]
    strip_seconds : tuple of float
        Total seconds of each strip. [s]
    slide_after_seconds : tuple of float
        Seconds from one move of the slide to the next. [s]
    plate_speed_iso : tuple of float
        The plate speed that each strip would mean. [ISO]
    """

    strip_stops: tuple[float, ...]
    strip_seconds: tuple[float, ...]
    slide_after_seconds: tuple[float, ...]
    plate_speed_iso: tuple[float, ...]


@dataclass(frozen=True)
class ExposeAnswer:
    """Minutes before the camera, and how still to sit.

    Attributes
    ----------
    time : datetime
        When the exposure begins.
    place, time_zone : str
        Name of the place, IANA name of its zone.
    minutes : float or None
        Minutes before the camera, middle value; null when the light ends first. [min]
    minutes_80 : tuple of float or None
        Their 80 % range; null where the light ends first. [min]
    minutes_in_third_stops : float or None
        The same to the third of a stop. [min]
    end : datetime or None
        When it ends; null when the light ends first.
    light_suffices : bool
        True when the exposure can be ended in the light there is.
    dose_j_m2 : float
        Exposure light needed at the subject's plane. [J/m2]
    elevation_deg, azimuth_deg : float
        Height of the sun at the start, and its direction from north through east. [deg]
    actinic_w_m2 : float
        Exposure light at the start, behind the lens that speeds are stated for: the lens in use is
        counted in the dose and in `stops`. [W/m2]
    illuminance_lux : float
        Illuminance at the start. [lx]
    light_note : str
        Where the sky came from.
    pose : str
        How the sitter is held.
    motion_rms_mm : float
        Motion of the head over the exposure, root mean square. [mm]
    blur_mm : float
        Blur on the plate from that motion, full width. [mm]
    blur_mm_80 : tuple of float
        Its 80 % range, with the exposure's. [mm]
    blur_rms_mm : float
        Blur on the plate, root mean square. [mm]
    stillness_mm : float
        How far the head may move and still look sharp at reading distance. [mm]
    stillness_eye_mm : float
        The same for what the eye can just resolve. [mm]
    contrast_5_lp_mm : float
        Contrast left at five line pairs to the millimetre. [1]
    sharp : bool
        True when the motion is within the budget.
    poses : tuple of PoseBlur
        The same for every pose.
    settle_seconds : tuple of float
        How long a sitter settles before the lens is uncapped. [s]
    stops : StopsByCause
        What each cause adds to the exposure.
    step_test : StepTest or None
        A plate exposed in half-stop strips; null where it does not fit into the light.
    f_number : float
        Focal length over entrance pupil. [1]
    focal_length_mm : float
        Focal length. [mm]
    distance_m : float
        Lens to subject. [m]
    magnification : float
        Size of the picture over size of the subject. [1]
    near_uv_transmission : float
        Of the lens in the exposure band. [1]
    plate_speed_iso : float
        Effective plate speed. [ISO]
    plate_speed_sigma_stops : float
        Its spread. [stops]
    coat_nm : float
        Thickness of the coat. [nm]
    plane : str
        Plane of the light.
    reflectance : float
        Of the tone that must come out light. [1]
    reciprocity_exponent : float
        How a long exposure counts against a short one of as much light; 1: alike. [1]
    doubt : Doubt
        What the range is made of.
    taken : tuple of str
        What was not given and was taken from the trade's usual values.
    warnings : tuple of str
        Loud notes, one sentence each.
    numbers_in_use : tuple of NumberInUse
        The studio's own numbers behind the answer: learned, believed or given.
    as_written : bool
        True when learned numbers were left out because that was asked for.
    """

    time: datetime
    place: str
    time_zone: str
    minutes: float | None
    minutes_80: tuple[float | None, float | None]
    minutes_in_third_stops: float | None
    end: datetime | None
    light_suffices: bool
    dose_j_m2: float
    elevation_deg: float
    azimuth_deg: float
    actinic_w_m2: float
    illuminance_lux: float
    light_note: str
    pose: str
    motion_rms_mm: float
    blur_mm: float
    blur_mm_80: tuple[float, float]
    blur_rms_mm: float
    stillness_mm: float
    stillness_eye_mm: float
    contrast_5_lp_mm: float
    sharp: bool
    poses: tuple[PoseBlur, ...]
    settle_seconds: tuple[float, float]
    stops: StopsByCause
    step_test: StepTest | None
    f_number: float
    focal_length_mm: float
    distance_m: float
    magnification: float
    near_uv_transmission: float
    plate_speed_iso: float
    plate_speed_sigma_stops: float
    coat_nm: float
    plane: str
    reflectance: float
    reciprocity_exponent: float
    doubt: Doubt
    taken: tuple[str, ...]
    warnings: tuple[str, ...]
    numbers_in_use: tuple[NumberInUse, ...]
    as_written: bool

    @property
    def behind_lens_w_m2(self) -> float:
        """Exposure light at the start behind the lens in use. [W/m2]."""
        return float(self.actinic_w_m2 * 2.0**-self.stops.lens)
