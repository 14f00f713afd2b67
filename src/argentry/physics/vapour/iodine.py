"""Iodine as vapour: what stands over the crystals, and how fast it crosses air.

Two sets of constants in common use go badly wrong at room temperature and are not used here: an
Antoine set fitted from 312 K upward reads 30 % low at 20 °C and 65 % low at 0 °C, and constants of
the *liquid*, extrapolated below the melting point, read four to five times too high
(``tests/outside/test_iodine_pressure.py`` holds both traps shut).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.physics.constants import GAS_CONSTANT, STANDARD_ATMOSPHERE_PA, ZERO_CELSIUS_K, kelvin
from argentry.physics.ranges import within


def sublimation_pressure_pa(temperature_k: ArrayLike) -> Floats:
    """Return the vapour pressure over iodine crystals.

    ``log10(p/atm) = a - b/T - c log10 T`` for the solid.

    Parameters
    ----------
    temperature_k : array_like
        Temperature of the crystals, 240 K to the melting point. [K] Any shape.

    Returns
    -------
    ndarray
        Pressure. [Pa] Same shape.

    Raises
    ------
    BadInput
        Outside that range, where the equation does not hold, and for NaN.

    References
    ----------
    L. J. Gillespie and L. H. D. Fraser, "The normal vapor pressure of crystalline iodine",
    J. Am. Chem. Soc. 58 (1936) 2260 (coefficients recalled, checked against two other sources).

    Examples
    --------
    >>> round(float(sublimation_pressure_pa(298.15)), 1)
    41.4
    """
    t = np.asarray(temperature_k, dtype=float)
    low, high = trade.value("iodine", "pressure_coldest"), trade.value("iodine", "melting_point")
    celsius = (t - ZERO_CELSIUS_K, low - ZERO_CELSIUS_K, high - ZERO_CELSIUS_K)  # makers' unit
    within("temperature of solid iodine", *celsius, "°C")
    a, b, c = (trade.value("iodine", f"pressure_{k}") for k in "abc")
    return np.asarray(STANDARD_ATMOSPHERE_PA * 10.0 ** (a - b / t - c * np.log10(t)))


def saturated_concentration_mol_m3(temperature_k: ArrayLike) -> Floats:
    """Return the iodine in air that stands in balance with crystals (ideal gas).

    Parameters
    ----------
    temperature_k : array_like
        Temperature of the crystals. [K]

    Returns
    -------
    ndarray
        Iodine molecules, I2. [mol/m3]
    """
    t = np.asarray(temperature_k, dtype=float)
    return np.asarray(sublimation_pressure_pa(t) / (GAS_CONSTANT * t))


def saturated_ppm(
    temperature_k: ArrayLike, pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA
) -> Floats:
    """Return the share of iodine in air over crystals, in parts per million by volume.

    Parameters
    ----------
    temperature_k, pressure_pa : array_like
        Temperature of the crystals [K] and pressure of the air [Pa].

    Returns
    -------
    ndarray
        [ppm]
    """
    share = sublimation_pressure_pa(temperature_k) / np.asarray(pressure_pa, dtype=float)
    return np.asarray(1e6 * share)


def diffusivity_m2_s(
    temperature_k: ArrayLike, pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA
) -> Floats:
    """Return how fast iodine vapour spreads through still air.

    ``D P = 0.845 m2 Pa/s (T / 298 K)^1.75``.

    Parameters
    ----------
    temperature_k, pressure_pa : array_like
        Temperature [K] and pressure [Pa] of the air; shapes broadcast.

    Returns
    -------
    ndarray
        Diffusion coefficient. [m2/s]

    Raises
    ------
    BadInput
        If a temperature or pressure is not a positive number.

    References
    ----------
    J. R. Welty, C. E. Wicks and R. E. Wilson, Fundamentals of Momentum, Heat and Mass Transfer,
    table of binary diffusivities; exponent of E. N. Fuller, P. D. Schettler and J. C. Giddings,
    Ind. Eng. Chem. 58(5) (1966) 18.

    Examples
    --------
    >>> round(1e4 * float(diffusivity_m2_s(298.0)), 4)
    0.0834
    """
    t = np.asarray(temperature_k, dtype=float)
    p = np.asarray(pressure_pa, dtype=float)
    if not (np.all(t > 0) and np.all(p > 0)):
        raise BadInput(
            "air in the box",
            "its temperature or pressure is not a positive number",
            "give kelvin and pascals above zero",
        )
    reference = trade.value("iodine", "diffusion_temperature")
    exponent = trade.value("iodine", "diffusion_exponent")
    return np.asarray(trade.value("iodine", "diffusion") / p * (t / reference) ** exponent)


def coat_m3_per_mol_iodine() -> float:
    """Return the m3 of silver iodide that one mole of iodine makes: I2 + 2 Ag -> 2 AgI."""
    molar_mass = trade.value("iodine", "silver_iodide_molar_mass")  # g/mol
    density = trade.value("iodine", "silver_iodide_density")  # g/cm3
    return 2.0 * molar_mass / density * 1e-6


def iodine_mg(thickness_nm: ArrayLike, area_cm2: ArrayLike) -> Floats:
    """Return the iodine bound in a coat.

    Parameters
    ----------
    thickness_nm, area_cm2 : array_like
        Coat thickness [nm] and plate area [cm2]; shapes broadcast.

    Returns
    -------
    ndarray
        [mg]

    Raises
    ------
    BadInput
        If a number is negative or not a number.

    Examples
    --------
    >>> round(float(iodine_mg(45.0, 89.11)), 2)  # a quarter plate
    1.23
    """
    h = np.asarray(thickness_nm, dtype=float)
    area = np.asarray(area_cm2, dtype=float)
    if not (np.all(h >= 0) and np.all(area >= 0)):
        raise BadInput(
            "iodine used",
            "thickness or area is negative or not a number",
            "give numbers from 0 upward",
        )
    volume_m3 = h * 1e-9 * area * 1e-4
    moles = volume_m3 / coat_m3_per_mol_iodine()
    return np.asarray(moles * trade.value("iodine", "molar_mass") * 1e3)


def headspace_loss_mg(volume_l: ArrayLike, temperature_c: ArrayLike) -> Floats:
    """Return the iodine lost when the air of a full box is swept out once.

    Parameters
    ----------
    volume_l, temperature_c : array_like
        Air in the box [L] and temperature of the crystals [°C]; shapes broadcast.

    Returns
    -------
    ndarray
        [mg]

    Raises
    ------
    BadInput
        If the volume is negative, or as `sublimation_pressure_pa`.
    """
    volume = np.asarray(volume_l, dtype=float)
    if not np.all(volume >= 0):
        raise BadInput(
            "air in the box", "its volume is negative or not a number", "give litres from 0"
        )
    moles = volume * 1e-3 * saturated_concentration_mol_m3(kelvin(temperature_c))
    return np.asarray(moles * trade.value("iodine", "molar_mass") * 1e3)
