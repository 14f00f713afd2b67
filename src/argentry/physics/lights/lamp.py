"""A lamp over a development frame: how much development light it gives, and how much heat.

A lamp has a size: near it that decides, see `argentry.physics.lights.lamp_view`; far away the light
falls with the square of the distance.

References
----------
.. [1] M. Planck's law and the Stefan-Boltzmann law, as in any text on radiation; constants of the
   International System, exact since 2019.
"""

from __future__ import annotations

from math import hypot

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.physics.lights.bands import LUMENS_PER_WATT, spectrum_at
from argentry.physics.lights.lamp_view import (
    Sides,
    at_point_of_bulb,
    at_point_of_disc,
    at_point_of_rectangle,
    disc_to_disc,
    point_to_rectangle,
    rectangle_to_rectangle,
)
from argentry.physics.picture.exposure import fact_of_word
from argentry.physics.ranges import checked
from argentry.trade.spectra import Curve

LATEST_ROW_NM = 380.0  # of a spectrum that still tells its violet; published lights begin there
# International System of Units, exact: h [J s], c [m/s], k [J/K]
PLANCK, LIGHT, BOLTZMANN = 6.62607015e-34, 299792458.0, 1.380649e-23


def black_body_spectrum(wavelength_nm: Floats, temperature_k: float) -> Floats:
    """Return the share of a black body's radiation per nanometre: Planck over sigma T^4.

    Parameters
    ----------
    wavelength_nm : Floats, shape (n,)
        [nm]
    temperature_k : float
        [K]

    Returns
    -------
    Floats, shape (n,)
        Integrates to 1 over all wavelengths. [1/nm]

    References
    ----------
    Planck and Stefan-Boltzmann [1]_.
    """
    metres = np.asarray(wavelength_nm, dtype=np.float64) * 1e-9
    exponent = PLANCK * LIGHT / (metres * BOLTZMANN * temperature_k)
    emitted = 2.0 * np.pi * PLANCK * LIGHT**2 / (metres**5 * np.expm1(exponent))
    stefan = 2.0 * np.pi**5 * BOLTZMANN**4 / (15.0 * PLANCK**3 * LIGHT**2)
    return np.asarray(1e-9 * emitted / (stefan * temperature_k**4))


def diode_spectrum(wavelength_nm: Floats, peak_nm: float, width_nm: float) -> Floats:
    """Return the share of a diode's light per nanometre, as a bell curve.

    Parameters
    ----------
    wavelength_nm : Floats, shape (n,)
        [nm]
    peak_nm, width_nm : float
        Middle, and full width at half height. [nm]

    Returns
    -------
    Floats, shape (n,)
        Integrates to 1. [1/nm]
    """
    sigma = width_nm / (2.0 * np.sqrt(2.0 * np.log(2.0)))
    away = (np.asarray(wavelength_nm, dtype=np.float64) - peak_nm) / sigma
    return np.asarray(np.exp(-0.5 * away**2) / (sigma * np.sqrt(2.0 * np.pi)))


def lamp_total_w_m2(
    power_w: float,
    distance_m: float,
    kind: str = "halogen",
    *,
    plate_m: Sides,
    face_m: tuple[float | None, float | None] = (None, None),
    gain_times: float = 1.0,
) -> float:
    """Return all the radiation of a lamp on a plate facing it, the mean over the plate.

    Power radiated, times the share of it that the plate takes, over the plate's area; what a
    reflector sends ahead beyond a matt face of its size (its gain) comes on top. No more can fall
    on the plate than the lamp sends out, nor is the plate brighter lit than the lamp's face.

    Parameters
    ----------
    power_w : float
        Electrical. [W]
    distance_m : float
        From the lamp's face, or a bare bulb's middle. [m]
    kind : str
        ``"halogen"`` or ``"red led"``: the mouth of a reflector or a flat panel that spreads as a
        matt surface does; ``"bare halogen"``: evenly all round.
    plate_m : (float, float)
        Sides of the plate. [m]
    face_m : (float or None, float or None)
        Width and height of the lamp's face; a width alone is the diameter of a round one; None:
        the trade's usual size. [m]
    gain_times : float
        What is known beyond the trade of such reflectors' gain. [1]

    Returns
    -------
    float
        [W/m2]

    Raises
    ------
    BadInput
        If a value is out of range or the kind not known.

    Examples
    --------
    A 50 W red panel of 0.30 by 0.20 m radiates 20 W, 333 W/m2 from its face:

    >>> quarter = (0.083, 0.108)
    >>> round(lamp_total_w_m2(50.0, 0.05, "red led", plate_m=quarter, face_m=(0.3, 0.2)))
    281
    """
    checked("lamp power", power_w, "development", "lamp_power")
    checked("lamp distance", distance_m, "development", "lamp_distance")
    facts, key = trade.facts("development"), lamp_key(kind)
    radiated = power_w * facts[f"{key}_radiated"].value
    plate = plate_m[0] * plate_m[1]
    matt = radiated * _share_taken(kind, face_m, plate_m, distance_m) / plate
    lit = lamp_face(kind, face_m)
    if lit is None or f"{key}_gain" not in facts:
        return matt
    width, height = lit
    face = width * height if height is not None else np.pi * width**2 / 4.0
    gain = gain_times * facts[f"{key}_gain"].value
    return float(min(gain * matt, radiated / max(plate, face)))


def lamp_evenness(
    distance_m: float,
    kind: str,
    *,
    plate_m: Sides,
    face_m: tuple[float | None, float | None] = (None, None),
) -> float:
    """Return the light at the corners of a plate under a lamp over that at its middle. [1].

    Parameters
    ----------
    distance_m, kind, plate_m, face_m : float, str, (float, float), (float, float)
        As in `lamp_total_w_m2`.
    """
    away = [side / 2.0 for side in plate_m]
    far = hypot(away[0], away[1])
    face = lamp_face(kind, face_m)
    if face is None:
        middle, corner = (at_point_of_bulb(at, distance_m) for at in (0.0, far))
    elif face[1] is None:
        middle, corner = (at_point_of_disc(face[0] / 2.0, at, distance_m) for at in (0.0, far))
    else:
        size = (face[0], face[1])
        middle, corner = (
            at_point_of_rectangle(size, at, distance_m) for at in ((0.0, 0.0), tuple(away))
        )
    return corner / middle


NO_FACE = "a {kind} lamp has no face"


def lamp_face(
    kind: str, face_m: tuple[float | None, float | None] = (None, None)
) -> tuple[float, float | None] | None:
    """Return the lamp's face: width and height, a diameter alone, or None for a bare bulb.

    Parameters
    ----------
    kind : str
        As in `lamp_total_w_m2`.
    face_m : (float or None, float or None)
        As given. [m]

    Raises
    ------
    BadInput
        If a side is out of range, or the kind not known.
    """
    shape = fact_of_word("development", "lamp_shape", kind)
    width, height = face_m
    for name, side in (("lamp width", width), ("lamp height", height)):
        if side is not None:
            checked(name, side, "development", "lamp_side")
    if shape == "bulb":
        if width is not None:
            raise BadInput("lamp width", NO_FACE, "leave the size out", kind=kind)
        return None
    if width is not None:
        return width, height
    usual = trade.value("development", f"{lamp_key(kind)}_{shape}")
    return (usual, usual) if shape == "panel" else (usual, None)


def _share_taken(
    kind: str, face_m: tuple[float | None, float | None], plate_m: Sides, distance_m: float
) -> float:
    """Return the share of what a lamp radiates that falls on the plate [1]."""
    face = lamp_face(kind, face_m)
    if face is None:
        return point_to_rectangle(plate_m, distance_m)
    if face[1] is None:  # a round plate of the same area
        radius = float(np.sqrt(plate_m[0] * plate_m[1] / np.pi))
        return disc_to_disc(face[0] / 2.0, radius, distance_m)
    return rectangle_to_rectangle((face[0], face[1]), plate_m, distance_m)


def lamp_share(
    kind: str, wavelength_nm: Floats, weight: Floats, power: Curve | None = None
) -> float:
    """Return what a response catches of each watt that a lamp radiates.

    Parameters
    ----------
    kind : str
        As in `lamp_total_w_m2`.
    wavelength_nm, weight : Floats, shape (n,)
        The response, filter included. [nm, 1; or lm/W]
    power : Curve or None
        Spectrum of this lamp, wavelengths and power per nm in any unit; None: that of its kind.

    Returns
    -------
    float
        [1; or lm/W]
    """
    fine = np.arange(wavelength_nm[0], wavelength_nm[-1] + 0.5, 1.0)
    passed = np.interp(fine, wavelength_nm, weight)
    return float(np.trapezoid(lamp_spectrum(kind, fine, power) * passed, fine))


def lamp_spectrum(kind: str, wavelength_nm: Floats, power: Curve | None = None) -> Floats:
    """Return the share of a lamp's radiation per nanometre.

    A measured spectrum rarely holds the heat rays: within its own span it takes the share of all
    radiation that the kind of lamp has there, and outside it the lamp is dark.

    Parameters
    ----------
    kind : str
        As in `lamp_total_w_m2`.
    wavelength_nm : Floats, shape (n,)
        [nm]
    power : Curve or None
        As in `lamp_share`.

    Returns
    -------
    Floats, shape (n,)
        [1/nm]
    """
    if power is not None:
        span = np.arange(power[0][0], power[0][-1] + 0.5, 1.0)
        held = np.trapezoid(lamp_spectrum(kind, span), span)
        measured = np.trapezoid(spectrum_at(span, power), span)
        return np.asarray(spectrum_at(wavelength_nm, power, 0.0) * (held / measured))
    key = lamp_key(kind)
    facts = trade.facts("development")
    if f"{key}_temperature" in facts:
        return black_body_spectrum(wavelength_nm, facts[f"{key}_temperature"].value)
    return diode_spectrum(wavelength_nm, facts[f"{key}_peak"].value, facts[f"{key}_width"].value)


def violet_w_m2_per_klx(power: Curve) -> float | None:
    """Return the irradiance of 360 to 430 nm per 1000 lx of a lamp; None where its rows begin late.

    Rows that begin between 360 and 380 nm, as published illuminants do, are dark before.

    Parameters
    ----------
    power : Curve
        Its wavelengths and relative powers. [nm, 1]
    """
    if power[0][0] > LATEST_ROW_NM:
        return None
    eye = trade.table("cie_observer_1931").columns
    seen = np.trapezoid(np.interp(eye["wavelength_nm"], *power, 0.0, 0.0) * eye["y_bar"],
                        eye["wavelength_nm"])  # fmt: skip
    violet = np.arange(360.0, 430.5)
    dose = np.trapezoid(np.interp(violet, *power, 0.0, 0.0), violet)
    return float(1000.0 * dose / (LUMENS_PER_WATT * seen))


def lamp_key(kind: str) -> str:
    """Return the name under which the facts of a kind of lamp are kept."""
    return fact_of_word("development", "lamp", kind)
