"""A lamp over a development frame: how much development light it gives, and how much heat.

Range: the law of distance holds when the lamp is a few times farther away than it is wide.

References
----------
.. [1] M. Planck's law and the Stefan-Boltzmann law, as in any text on radiation; constants of the
   International System, exact since 2019.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.physics.exposure import fact_of_word
from argentry.physics.ranges import checked

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# International System of Units, exact: h [J s], c [m/s], k [J/K]
PLANCK, LIGHT, BOLTZMANN = 6.62607015e-34, 299792458.0, 1.380649e-23


def black_body_spectrum(wavelength_nm: Array, temperature_k: float) -> Array:
    """Return the share of a black body's radiation per nanometre: Planck over sigma T^4.

    Parameters
    ----------
    wavelength_nm : NDArray[float64], shape (n,)
        [nm]
    temperature_k : float
        [K]

    Returns
    -------
    NDArray[float64], shape (n,)
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


def diode_spectrum(wavelength_nm: Array, peak_nm: float, width_nm: float) -> Array:
    """Return the share of a diode's light per nanometre, as a bell curve.

    Parameters
    ----------
    wavelength_nm : NDArray[float64], shape (n,)
        [nm]
    peak_nm, width_nm : float
        Middle, and full width at half height. [nm]

    Returns
    -------
    NDArray[float64], shape (n,)
        Integrates to 1. [1/nm]
    """
    sigma = width_nm / (2.0 * np.sqrt(2.0 * np.log(2.0)))
    away = (np.asarray(wavelength_nm, dtype=np.float64) - peak_nm) / sigma
    return np.asarray(np.exp(-0.5 * away**2) / (sigma * np.sqrt(2.0 * np.pi)))


def lamp_total_w_m2(power_w: float, distance_m: float, kind: str = "halogen") -> float:
    """Return all the radiation of a lamp on a plate facing it: g P/(4 pi r^2).

    Parameters
    ----------
    power_w : float
        Electrical. [W]
    distance_m : float
        [m]
    kind : str
        ``"halogen"`` or ``"red led"``: behind a plain reflector or in a flat panel that spreads as
        a matt surface does (g = 4); ``"bare halogen"``: evenly all round (g = 1).

    Returns
    -------
    float
        [W/m2]

    Raises
    ------
    BadInput
        If a value is out of range or the kind not known.
    """
    checked("lamp power", power_w, "development", "lamp_power")
    checked("lamp distance", distance_m, "development", "lamp_distance")
    key = lamp_key(kind)
    radiated = power_w * trade.value("development", f"{key}_radiated")
    gain = trade.value("development", f"{key}_gain")
    return gain * radiated / (4.0 * float(np.pi) * distance_m**2)


def lamp_light_w_m2(
    power_w: float, distance_m: float, kind: str, wavelength_nm: Array, weight: Array
) -> float:
    """Return a lamp's development light behind the filter.

    Parameters
    ----------
    power_w, distance_m, kind : float, float, str
        As in `lamp_total_w_m2`.
    wavelength_nm, weight : NDArray[float64], shape (n,)
        The development band, filter included. [nm, 1]

    Returns
    -------
    float
        [W/m2]

    Raises
    ------
    BadInput
        If a value is out of range or the kind not known.
    """
    total = lamp_total_w_m2(power_w, distance_m, kind)
    fine = np.arange(wavelength_nm[0], wavelength_nm[-1] + 0.5, 1.0)
    passed = np.interp(fine, wavelength_nm, weight)
    return total * float(np.trapezoid(lamp_spectrum(kind, fine) * passed, fine))


def lamp_spectrum(kind: str, wavelength_nm: Array) -> Array:
    """Return the share of a lamp's radiation per nanometre.

    Parameters
    ----------
    kind : str
        As in `lamp_total_w_m2`.
    wavelength_nm : NDArray[float64], shape (n,)
        [nm]

    Returns
    -------
    NDArray[float64], shape (n,)
        [1/nm]

    Raises
    ------
    BadInput
        If the kind is not known.
    """
    key = lamp_key(kind)
    facts = trade.facts("development")
    if f"{key}_temperature" in facts:
        return black_body_spectrum(wavelength_nm, facts[f"{key}_temperature"].value)
    return diode_spectrum(wavelength_nm, facts[f"{key}_peak"].value, facts[f"{key}_width"].value)


def lamp_key(kind: str) -> str:
    """Return the name under which the facts of a kind of lamp are kept.

    Raises
    ------
    BadInput
        If the kind is not known.
    """
    return fact_of_word("development", "lamp", kind)
