"""Does the development filter keep the violet out? The optical density it needs, and what leaks.

While a plate lies for hours under its filter in the sun, violet that leaks through exposes it. The
leak must stay a small share of what the highlights got in the camera.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from argentry import trade
from argentry.errors import check_range
from argentry.physics.lights.bands import daylight, exposure_band, plate_response, spectrum_at
from argentry.trade.spectra import Curve


def camera_seconds(
    seconds: float,
    *,
    f_number: float,
    magnification: float,
    reflectance: float,
    transmission: float,
) -> float:
    """Return a camera exposure as seconds in the subject's own full light on the bare plate.

    For a matt subject: t rho T / (4 N^2 (1 + m)^2).

    Parameters
    ----------
    seconds : float
        Time before the camera. [s]
    f_number : float
        N. [1]
    magnification : float
        Image over subject, m. [1]
    reflectance, transmission : float
        Of the highlight, rho, and of the lens, T. [1]

    Returns
    -------
    float
        Equivalent seconds. [s]
    """
    check_range("exposure", seconds, 0.0, 86_400.0, "s", open_low=True)
    check_range("f-number", f_number, 0.5, 1000.0, "", open_low=True)
    check_range("magnification", magnification, 0.0, 10.0, "")
    check_range("reflectance", reflectance, 0.0, 1.0, "", open_low=True)
    check_range("lens transmission", transmission, 0.0, 1.0, "", open_low=True)
    return seconds * reflectance * transmission / (4.0 * f_number**2 * (1.0 + magnification) ** 2)


def density_needed(
    plate_dose: float, frame_dose: float, *, leak_share: float | None = None
) -> float:
    """Return the optical density the filter needs below about 450 nm.

    Parameters
    ----------
    plate_dose : float
        What the highlight got in the camera. [J/m2 in the exposure band, or equivalent seconds]
    frame_dose : float
        What falls on the filter during development, in the same unit and band.
    leak_share : float or None
        Allowed leak as share of `plate_dose`; None: the trade's value. [1]

    Returns
    -------
    float
        log10(frame_dose / (leak_share plate_dose)), not below 0. [1]

    >>> dose = camera_seconds(300, f_number=5.6, magnification=0.1, reflectance=0.8,
    ...                       transmission=0.85)
    >>> round(density_needed(dose, 7200.0, leak_share=0.02), 2)
    5.43
    """
    if leak_share is None:
        leak_share = trade.value("light", "leak_share")
    check_range("leak", leak_share, 0.0, 1.0, "", open_low=True)
    check_range("exposure dose", plate_dose, 0.0, 1e12, "", open_low=True)
    check_range("development dose", frame_dose, 0.0, 1e12, "")
    ratio = frame_dose / (leak_share * plate_dose)
    return float(np.log10(ratio)) if ratio > 1.0 else 0.0


@dataclass(frozen=True)
class Leak:
    """How well a filter of a known spectrum keeps the violet out.

    Attributes
    ----------
    density : float
        -log10 of the share of the plate's own light that passes. [1]
    at_least : bool
        True when the spectrum shows zeros there: it cannot show a higher density than this.
    """

    density: float
    at_least: bool


def leak_density(passes: Curve, power: Curve | None = None) -> Leak | None:
    """Return the optical density of a filter over the plate's own violet band.

    The light times the plate's response times the filter, over the same without the filter behind
    clear glass, as the dose on the frame is counted. A zero in the spectrum is below the smallest
    value it shows, and is taken as that.

    Parameters
    ----------
    passes : Curve
        The filter: wavelengths and transmissions. [nm, 1]
    power : Curve or None
        The light: wavelengths and power; None: daylight.

    Returns
    -------
    Leak or None
        None when the spectrum does not reach into the plate's band, or the light has none there.
    """
    band = exposure_band(1.0)
    wavelength, least = band.wavelength_nm, min(share for share in passes[1] if share > 0.0)
    if passes[0][0] > trade.value("light", "silver_iodide_edge"):
        return None
    through = spectrum_at(wavelength, passes)
    light = spectrum_at(wavelength, daylight() if power is None else power, 0.0)
    whole = float(np.trapezoid(light * band.weight, wavelength))
    if whole <= 0.0:
        return None
    response = light * plate_response(wavelength)
    passed = float(np.trapezoid(response * np.maximum(through, least), wavelength))
    shown = float(np.trapezoid(response * through, wavelength))
    return Leak(max(0.0, float(-np.log10(passed / whole))), at_least=shown < 0.5 * passed)


def leak(plate_dose: float, frame_dose: float, density: float) -> float:
    """Return the leak through a filter of that density as share of the highlight's dose."""
    check_range("exposure dose", plate_dose, 0.0, 1e12, "", open_low=True)
    check_range("optical density", density, 0.0, 20.0, "")
    return float(frame_dose * 10.0**-density / plate_dose)
