"""Before the camera: from plate speed, lens and subject to a dose of exposure light.

A plate's speed is stated by a daylight meter (ISO 2720), but the plate answers violet light only.
So the exposure formula gives a dose in lux seconds, which is turned into *exposure light* at one
reference, a plane facing a clear 60 degree sun; from there on only exposure light counts.

Range: f-numbers 0.9 to 128, speeds 1e-6 to 10; outside it the functions refuse.

References
----------
.. [1] ISO 2720:1974, General purpose photographic exposure meters: N^2/t = E S/C, N^2/t = L S/K.
"""

from __future__ import annotations

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.physics.ranges import checked


def incident_lux_seconds(speed_iso: float, f_number: float) -> float:
    """Return the light times time that an ordinary scene needs: E t = C N^2/S.

    Parameters
    ----------
    speed_iso : float
        Effective speed. [ISO]
    f_number : float
        [1]

    Returns
    -------
    float
        On the subject. [lx s]

    References
    ----------
    ISO 2720:1974 [1]_.

    Examples
    --------
    EV 15 at ISO 100 is 81 920 lx: f/1 for 2^-15 s.

    >>> incident_lux_seconds(1.0, 1.0) / 100.0 * 2**15
    81920.0
    """
    check_range("plate speed", speed_iso, 1e-6, 10.0, "ISO")
    checked("f-number", f_number, "exposure", "f_number")
    return trade.value("light", "incident_constant") * f_number**2 / speed_iso


def effective_speed_iso(f_number: float, seconds: float, exposure_value: float) -> float:
    """Return the speed that a right exposure shows: S = 100 N^2/(t 2^EV).

    Parameters
    ----------
    f_number : float
        [1]
    seconds : float
        [s]
    exposure_value : float
        Of the scene, for ISO 100. [EV]

    Returns
    -------
    float
        [ISO]

    Examples
    --------
    >>> round(effective_speed_iso(5.6, 120.0, 15.0), 6)
    0.000798
    """
    checked("f-number", f_number, "exposure", "f_number")
    check_range("exposure time", seconds, 0.0, 1e6, "s", open_low=True)
    check_range("exposure value", exposure_value, -10.0, 20.0, "EV")
    return float(100.0 * f_number**2 / (seconds * 2.0**exposure_value))


def magnification(focal_length_mm: float, distance_m: float) -> float:
    """Return image size over subject size of a thin lens: m = f/(u - f).

    Parameters
    ----------
    focal_length_mm : float
        [mm]
    distance_m : float
        From lens to subject. [m]

    Returns
    -------
    float
        [1]

    Raises
    ------
    BadInput
        If the subject is not beyond the focal length, or a value is out of range.

    Examples
    --------
    >>> round(1 / magnification(150.0, 1.35), 6)
    8.0
    """
    checked("focal length", focal_length_mm, "exposure", "focal_length")
    checked("distance", distance_m, "exposure", "subject_distance")
    beyond_mm = distance_m * 1000.0 - focal_length_mm
    if beyond_mm <= 0.0:
        raise BadInput(
            "distance",
            "{distance_m:g} m lies within the focal length of {focal_length_mm:g} mm, "
            "where no picture forms",
            "give more than {focal_length_m:g} m",
            distance_m=distance_m,
            focal_length_mm=focal_length_mm,
            focal_length_m=focal_length_mm / 1000.0,
        )
    return focal_length_mm / beyond_mm


def bellows_factor(image_scale: float, pupil_ratio: float = 1.0) -> float:
    """Return how much longer a near subject takes: (1 + m/P)^2.

    Parameters
    ----------
    image_scale : float
        Magnification m. [1]
    pupil_ratio : float
        Exit pupil over entrance pupil of the lens, P. [1]

    Returns
    -------
    float
        [1]

    Examples
    --------
    >>> bellows_factor(0.5), bellows_factor(1.0)
    (2.25, 4.0)
    """
    check_range("magnification", image_scale, 0.0, 20.0, "")
    check_range("pupil ratio", pupil_ratio, 0.1, 10.0, "")
    return (1.0 + image_scale / pupil_ratio) ** 2


def glass_transmission(glass: str) -> float:
    """Return a lens's transmission in the exposure band from the maker's word for its glass."""
    return trade.value("exposure", fact_of_word("exposure", "glass", glass))


def fact_of_word(subject: str, kind: str, word: str) -> str:
    """Return the key of the fact that a maker's word stands for.

    Parameters
    ----------
    subject, kind : str
        Where the words are told: file of the trade and table in it, ``"exposure"``, ``"pose"``.
    word : str
        The maker's.

    Returns
    -------
    str
        Key of a fact of `subject`, or what the keys of several begin with.

    Raises
    ------
    BadInput
        If the word is not among them.

    Examples
    --------
    >>> fact_of_word("exposure", "pose", "head-rest")
    'pose_head_rest'
    """
    known: dict[str, str] = trade.toml(subject)[kind]
    if word not in known:
        raise BadInput(
            kind, "{word!r} is not known", "use one of {known}", word=word, known=", ".join(known)
        )
    return known[word]


def exposure_dose_j_m2(
    *,
    plate_speed_iso: float,
    f_number: float,
    magnification: float = 0.0,
    transmission: float | None = None,
    relative_coat_speed: float = 1.0,
    reflectance: float | None = None,
    mirror: bool = False,
) -> float:
    """Return the exposure light that must fall on the subject for a right exposure.

    Steps: lux seconds of an ordinary scene by ISO 2720 [1]_; times the exposure light per lux of
    the reference sun; times the bellows factor; over the lens's transmission against the reference
    lens; over the coat's share of light against the reference coat; over the tone's reflectance
    against the reference tone; times a third more for a reversing mirror.

    Parameters
    ----------
    plate_speed_iso : float
        Effective speed at the reference coat, by a daylight meter. [ISO]
    f_number : float
        As marked, at infinity. [1]
    magnification : float
        Image over subject size. [1]
    transmission : float or None
        Of this lens in the exposure band; None means the reference lens. [1]
    relative_coat_speed : float
        Speed of this coat over that of the reference coat. [1]
    reflectance : float or None
        Of the tone that must come out light; None means the reference tone. [1]
    mirror : bool
        True with a reversing mirror or prism.

    Returns
    -------
    float
        Exposure light on the subject's plane, **as a light series with the reference lens gives
        it**: the lens is counted here, so it must not be counted in the series too. [J/m2]
    """
    reference_lens = trade.value("light", "lens_transmission")
    reference_tone = trade.value("exposure", "reference_tone")
    lens = reference_lens if transmission is None else transmission
    tone = reference_tone if reflectance is None else reflectance
    checked("near-ultraviolet transmission", lens, "exposure", "near_uv_transmission")
    checked("reflectance", tone, "exposure", "plane_reflectance")
    check_range("coat speed", relative_coat_speed, 0.01, 10.0, "of the reference coat")
    kilolux_seconds = incident_lux_seconds(plate_speed_iso, f_number) / 1000.0
    dose = kilolux_seconds * trade.value("exposure", "reference_light")
    dose *= bellows_factor(magnification)
    dose *= reference_lens / lens
    dose /= relative_coat_speed
    dose *= reference_tone / tone
    return dose * trade.value("exposure", "mirror_factor") if mirror else dose


def light_sigma_stops(elevation_deg: float) -> float:
    """Return how well the model knows clear exposure light at this sun height, haze apart.

    Air counts the more the longer the beam's way through it, so that the doubt falls smoothly with
    the sun's height h from that at the horizon to that of a high sun: s + (s0 - s) exp(-h/h0).

    Parameters
    ----------
    elevation_deg : float
        Of the sun. [deg]

    Returns
    -------
    float
        Standard deviation. [stops]
    """
    high, horizon = (trade.value("exposure", f"light_sigma_{k}") for k in ("high_sun", "horizon"))
    fall = np.exp(-max(elevation_deg, 0.0) / trade.value("exposure", "light_sigma_height"))
    return float(high + (horizon - high) * fall)


def plate_dose_j_m2(plate_speed_iso: float, relative_coat_speed: float = 1.0) -> float:
    """Return the exposure light on the plate itself where the right tone falls.

    The dose on the subject times rho T/(4 N^2 (1 + m)^2) of a matt subject: f-number, scale, lens
    and tone cancel, and C E rho/(4 S) is left. It is stated without a lens's glass, as light on a
    bare plate, so that a leak through the development filter can be set beside it.

    Parameters
    ----------
    plate_speed_iso : float
        [ISO]
    relative_coat_speed : float
        [1]

    Returns
    -------
    float
        [J/m2]
    """
    at_one = exposure_dose_j_m2(
        plate_speed_iso=plate_speed_iso, f_number=1.0, relative_coat_speed=relative_coat_speed
    )
    tone = trade.value("exposure", "reference_tone")
    return at_one * tone / 4.0  # at f/1 through the reference lens: its T cancels out
