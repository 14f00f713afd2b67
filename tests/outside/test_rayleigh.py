"""Rayleigh optical depth of clean air in the sky table against a formula of another author.

Source: J. E. Hansen and L. D. Travis, "Light scattering in planetary atmospheres", Space Science
Reviews 16 (1974) 527, equation 2.30, at 1013 hPa (recalled):
tau = 0.008569 l^-4 (1 + 0.0113 l^-2 + 0.00013 l^-4), l in micrometres.
"""

import numpy as np
import pytest

from argentry import trade


def hansen_travis(wavelength_nm):
    inverse = (1000.0 / wavelength_nm) ** 2
    return 0.008569 * inverse**2 * (1 + 0.0113 * inverse + 0.00013 * inverse**2)


@pytest.mark.parametrize("wavelength", [380.0, 400.0, 430.0, 500.0, 550.0])
def test_optical_depth_of_clean_air(wavelength):
    table = trade.arrays("sky_bands")
    column = int(np.flatnonzero(table["wavelength_nm"] == wavelength)[0])
    # Two pressures differ by scattering alone; air mass from the haze slope at 500 nm.
    at_500 = int(np.flatnonzero(table["wavelength_nm"] == 500.0)[0])
    mass = -table["beam_ln_per_aod"][20, at_500]
    pressure = table["pressure_pa"]
    lost = table["beam_ln"][0, 20, column] - table["beam_ln"][-1, 20, column]
    depth = lost / mass / (pressure[-1] - pressure[0]) * 101_300.0
    assert depth == pytest.approx(hansen_travis(wavelength), rel=0.015)
