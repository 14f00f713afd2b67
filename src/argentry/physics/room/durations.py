"""How the room changes the length of a step: by temperature and by damp."""

from __future__ import annotations

import math

from argentry.errors import check_range
from argentry.physics.constants import GAS_CONSTANT, ZERO_CELSIUS_K


def temperature_factor(activation_kj_mol: float, temperature_c: float, reference_c: float) -> float:
    """Return by what factor a step lasts longer at a temperature than at its reference.

    Arrhenius: exp(Ea/R (1/T - 1/T_ref)); meant within about 20 K of the reference.

    Parameters
    ----------
    activation_kj_mol : float
        Apparent activation energy, 0 to 200. [kJ/mol]
    temperature_c, reference_c : float
        0 to 60. [°C]

    Returns
    -------
    float
        Above 1 when colder. [1]

    References
    ----------
    Atkins and de Paula, Physical Chemistry, the Arrhenius equation.

    Examples
    --------
    Diffusion in water, 20 kJ/mol: ten kelvin colder lasts about a third longer.

    >>> round(temperature_factor(20.0, 10.0, 20.0), 2)
    1.34
    """
    check_range("activation energy", activation_kj_mol, 0.0, 200.0, "kJ/mol")
    check_range("temperature", temperature_c, 0.0, 60.0, "°C")
    check_range("reference temperature", reference_c, 0.0, 60.0, "°C")
    inverse = 1.0 / (temperature_c + ZERO_CELSIUS_K) - 1.0 / (reference_c + ZERO_CELSIUS_K)
    return math.exp(activation_kj_mol * 1000.0 / GAS_CONSTANT * inverse)


def drying_factor(relative_humidity_pct: float, reference_pct: float) -> float:
    """Return by what factor a film of water dries slower than at a reference humidity.

    Evaporation goes with the air's distance from saturation at the same temperature (Dalton).

    Parameters
    ----------
    relative_humidity_pct, reference_pct : float
        0 to 98; nearer to saturation nothing dries. [%]

    Returns
    -------
    float
        [1]

    Examples
    --------
    >>> drying_factor(75.0, 50.0)
    2.0
    """
    check_range("relative humidity", relative_humidity_pct, 0.0, 98.0, "%")
    check_range("reference humidity", reference_pct, 0.0, 98.0, "%")
    return (100.0 - reference_pct) / (100.0 - relative_humidity_pct)
