"""Constants of nature, exact by definition, and kelvin."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry.arrays import Floats

GAS_CONSTANT = 8.314462618  # J/(mol K), exact in the SI since 2019 (CODATA 2018)
STANDARD_ATMOSPHERE_PA = 101325.0  # exact by definition
ZERO_CELSIUS_K = 273.15  # exact by definition


def kelvin(temperature_c: ArrayLike) -> Floats:
    """Return Celsius as kelvin."""
    return np.asarray(temperature_c, dtype=float) + ZERO_CELSIUS_K
