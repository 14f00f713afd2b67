"""The room's air: dew point, wet bulb, pressure with height, and how it flows."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.physics.constants import STANDARD_ATMOSPHERE_PA
from argentry.physics.ranges import checked, within

AIR_GAS_CONSTANT = 287.05287  # J/(kg K), ISO 2533:1975
AIR_HEAT = 1004.68  # J/(kg K) at constant pressure, 7/2 of the gas constant, ISO 2533:1975


def saturation_pressure_pa(temperature_c: ArrayLike) -> Floats:
    """Return the pressure of water vapour that the air can hold, over water.

    ``e0 exp(a t / (b + t))``.

    Parameters
    ----------
    temperature_c : array_like
        -20 to 50. [°C]

    Returns
    -------
    ndarray
        [Pa]

    References
    ----------
    O. A. Alduchov and R. E. Eskridge, J. Appl. Meteorol. 35 (1996) 601.

    Examples
    --------
    >>> round(float(saturation_pressure_pa(25.0)))
    3162
    """
    t = checked("air temperature", temperature_c, "air", "air_temperature")
    a, b, e0 = (trade.value("air", f"magnus_{k}") for k in ("a", "b", "e0"))
    return np.asarray(e0 * np.exp(a * t / (b + t)))


def dew_point_c(temperature_c: ArrayLike, relative_humidity_pct: ArrayLike) -> Floats:
    """Return the temperature at which the air's water falls out.

    Parameters
    ----------
    temperature_c : array_like
        Air, -20 to 50. [°C]
    relative_humidity_pct : array_like
        1 to 100. [%] Shapes broadcast.

    Returns
    -------
    ndarray
        [°C] Over water, also below 0 °C.

    References
    ----------
    O. A. Alduchov and R. E. Eskridge, J. Appl. Meteorol. 35 (1996) 601.

    Examples
    --------
    >>> round(float(dew_point_c(25.0, 50.0)), 2)
    13.86
    """
    t = checked("air temperature", temperature_c, "air", "air_temperature")
    rh = within("relative humidity", relative_humidity_pct, 1.0, 100.0, "%")
    a, b = trade.value("air", "magnus_a"), trade.value("air", "magnus_b")
    gamma = np.log(rh / 100.0) + a * t / (b + t)
    return np.asarray(b * gamma / (a - gamma))


def relative_humidity_from_wet_bulb(
    temperature_c: ArrayLike,
    wet_bulb_c: ArrayLike,
    pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA,
) -> Floats:
    """Return the relative humidity from a dry and a wet thermometer in moving air.

    ``e = es(wet) - 6.60e-4 (1 + 0.00115 wet) p (dry - wet)``.

    Parameters
    ----------
    temperature_c, wet_bulb_c : array_like
        Dry and wet thermometer; the wet one from 0 °C (below, the wick freezes). [°C]
    pressure_pa : array_like
        Air pressure. [Pa]

    Returns
    -------
    ndarray
        [%]

    Raises
    ------
    BadInput
        If the wet thermometer reads above the dry one, or so far below it that no air is so dry.

    References
    ----------
    American Meteorological Society, Glossary of Meteorology, psychrometric formula.
    """
    dry = checked("air temperature", temperature_c, "air", "air_temperature")
    wet = within("wet bulb", wet_bulb_c, 0.0, 50.0, "°C")
    p = checked("air pressure", pressure_pa, "air", "pressure")
    dry, wet, p = np.broadcast_arrays(dry, wet, p)
    warmer = wet > dry
    if np.any(warmer):
        raise BadInput(
            "wet bulb",
            "{wet:g} °C is above the air at {dry:g} °C",
            "read both again: a wet thermometer is never the warmer",
            wet=wet[warmer][0],
            dry=dry[warmer][0],
        )
    coefficient, slope = (trade.value("air", f"wet_bulb_{k}") for k in ("coefficient", "slope"))
    vapour = saturation_pressure_pa(wet) - coefficient * (1.0 + slope * wet) * p * (dry - wet)
    humidity = np.asarray(100.0 * (vapour / saturation_pressure_pa(dry)))
    dried_out = humidity < 1.0
    if np.any(dried_out):
        raise BadInput(
            "wet bulb",
            "{wet:g} °C in air at {dry:g} °C means no water at all",
            "wet the wick, fan it, and read again",
            wet=wet[dried_out][0],
            dry=dry[dried_out][0],
        )
    return humidity


def dew_margin_k(
    plate_temperature_c: ArrayLike, temperature_c: ArrayLike, relative_humidity_pct: ArrayLike
) -> Floats:
    """Return how far the plate is above the dew point; below zero it fogs.

    Parameters
    ----------
    plate_temperature_c, temperature_c, relative_humidity_pct : array_like
        Plate [°C], air [°C], relative humidity of the air [%]; shapes broadcast.

    Returns
    -------
    ndarray
        [K]
    """
    plate = within("plate temperature", plate_temperature_c, -30.0, 100.0, "°C")
    return np.asarray(plate - dew_point_c(temperature_c, relative_humidity_pct))


def pressure_at_elevation_pa(elevation_m: ArrayLike) -> Floats:
    """Return the usual air pressure at a height: ``101325 (1 - 0.0065 z / 288.15)^5.25588``.

    Parameters
    ----------
    elevation_m : array_like
        -450 to 6000. [m]

    Returns
    -------
    ndarray
        [Pa] Weather moves it by 3 % either way.

    References
    ----------
    ISO 2533:1975, standard atmosphere (the same as US Standard Atmosphere 1976 here).

    Examples
    --------
    >>> round(float(pressure_at_elevation_pa(1000.0)))
    89875
    """
    z = checked("elevation", elevation_m, "air", "elevation")
    # 0.0065 K/m, 288.15 K and g M / (R 0.0065) = 5.25588 are ISO 2533's own numbers
    return np.asarray(STANDARD_ATMOSPHERE_PA * (1.0 - 0.0065 * z / 288.15) ** 5.25588)


def kinematic_viscosity_m2_s(
    temperature_k: ArrayLike, pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA
) -> Floats:
    """Return the kinematic viscosity of air (Sutherland's law).

    Parameters
    ----------
    temperature_k, pressure_pa : array_like
        [K], [Pa]; shapes broadcast.

    Returns
    -------
    ndarray
        [m2/s]

    References
    ----------
    US Standard Atmosphere 1976, equation 51.
    """
    t = np.asarray(temperature_k, dtype=float)
    viscosity = 1.458e-6 * t**1.5 / (t + 110.4)  # Pa s
    return np.asarray(viscosity * AIR_GAS_CONSTANT * t / np.asarray(pressure_pa, dtype=float))


def thermal_diffusivity_m2_s(
    temperature_k: ArrayLike, pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA
) -> Floats:
    """Return the thermal diffusivity of air.

    Parameters
    ----------
    temperature_k, pressure_pa : array_like
        [K], [Pa]; shapes broadcast.

    Returns
    -------
    ndarray
        [m2/s]

    References
    ----------
    Conductivity: US Standard Atmosphere 1976, equation 53.
    """
    t = np.asarray(temperature_k, dtype=float)
    conductivity = 2.64638e-3 * t**1.5 / (t + 245.4 * 10.0 ** (-12.0 / t))  # W/(m K)
    density = np.asarray(pressure_pa, dtype=float) / (AIR_GAS_CONSTANT * t)
    return np.asarray(conductivity / (density * AIR_HEAT))
