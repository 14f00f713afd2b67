"""Iodine's diffusion in air against printed tables and gas theory.

Sources: Welty, Wicks and Wilson, Fundamentals of Momentum, Heat and Mass Transfer, 3rd ed. 1984, as
reprinted in Benítez, Appendix A, table A.1; Chapman-Enskog theory with the Lennard-Jones figures
and the collision integral of the `chemicals` package.
"""

import math

import pytest

from argentry.physics.vapour import iodine


def test_iodine_in_air_at_298_k():
    """Table A.1: air-iodine, 298 K, D P = 0.845 m2 Pa/s."""
    assert 101325.0 * iodine.diffusivity_m2_s(298.0) == pytest.approx(0.845, rel=1e-3)


def test_iodine_in_nitrogen_at_273_k():
    """Table A.1: nitrogen-iodine, 273 K, D P = 0.709 m2 Pa/s; air is mostly nitrogen."""
    assert 101325.0 * iodine.diffusivity_m2_s(273.0) == pytest.approx(0.709, rel=0.03)


@pytest.mark.parametrize("kelvin", [273.15, 293.15, 308.15])
def test_chapman_enskog_theory(kelvin):
    """D = 1.858e-7 sqrt(T^3 (1/M1 + 1/M2)) / (p sigma^2 Omega), p in atm, sigma in ångström."""
    jones = pytest.importorskip("chemicals.lennard_jones")

    diameter = jones.molecular_diameter(CASRN="7553-56-2", method="Poling et al. (2001)")
    well = jones.Stockmayer(CASRN="7553-56-2", method="Poling et al. (2001)")
    sigma = 0.5 * (diameter + 3.711)  # air: Poling, Prausnitz and O'Connell, appendix B
    depth = math.sqrt(well * 78.6)
    omega = jones.collision_integral_Neufeld_Janzen_Aziz(kelvin / depth)
    theory = 1.858e-7 * math.sqrt(kelvin**3 * (1 / 253.81 + 1 / 28.96)) / (sigma**2 * omega)
    assert iodine.diffusivity_m2_s(kelvin) == pytest.approx(theory, rel=0.08)
