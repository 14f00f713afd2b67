"""Iodine's sublimation pressure against published tables, and two wrong tables kept out.

Sources: Landolt-Börnstein sublimation Antoine set and CRC standard thermochemical properties, both
read from the open data of the `chemicals` package; NIST WebBook (heat of formation; Antoine set,
coefficients recalled); CRC "Vapor pressure of the elements" (recalled).
"""

import math

import pytest

from argentry.errors import BadInput
from argentry.physics.vapour import iodine

chemicals = pytest.importorskip("chemicals")
IODINE = "7553-56-2"


def landolt_pa(kelvin):
    from chemicals import vapor_pressure

    assert len(vapor_pressure.Psat_data_AntoinePoling) > 0  # makes the package load its tables
    row = vapor_pressure.Psub_data_Landolt_Antoine.loc[IODINE]
    assert row["Tmin"] <= kelvin <= row["Tmax"]
    return math.exp(row["A"] - row["B"] / (kelvin + row["C"]))


@pytest.mark.parametrize("celsius", [0, 5, 10, 15, 20, 25, 30, 35, 60, 100])
def test_landolt_bornstein_sublimation_table(celsius):
    kelvin = celsius + 273.15
    ours = float(iodine.sublimation_pressure_pa(kelvin))
    assert ours == pytest.approx(landolt_pa(kelvin), rel=0.03)
    if celsius >= 20:
        assert ours == pytest.approx(landolt_pa(kelvin), rel=0.013)


def test_crc_standard_heat_and_entropy_of_iodine():
    """Gibbs energy of crystals to gas at 1 bar from the CRC table; the table prints 19.3 kJ/mol."""
    heat = chemicals.Hfg(IODINE, method="CRC")
    entropy = chemicals.S0g(IODINE, method="CRC") - chemicals.S0s(IODINE, method="CRC")
    for gibbs in (heat - 298.15 * entropy, 19300.0):
        pressure = 1e5 * math.exp(-gibbs / (8.314462618 * 298.15))
        assert iodine.sublimation_pressure_pa(298.15) == pytest.approx(pressure, rel=0.015)


def test_heat_of_sublimation_against_nist_webbook():
    """NIST WebBook (CODATA): 14.92 kcal/mol = 62.43 kJ/mol at 298.15 K, by Clausius-Clapeyron."""
    one, two = (math.log(float(iodine.sublimation_pressure_pa(t))) for t in (298.05, 298.25))
    heat = 8.314462618 * 298.15**2 * (two - one) / 0.2
    assert heat == pytest.approx(14.92 * 4184.0, rel=0.005)


@pytest.mark.parametrize(
    ("pascal", "celsius"), [(1.0, -12.8), (10.0, 9.3), (100.0, 35.9), (1000.0, 68.7)]
)
def test_crc_vapour_pressure_of_the_elements(pascal, celsius):
    """CRC Handbook (recalled): temperatures of 1, 10, 100 and 1000 Pa."""
    below, above = (
        float(iodine.sublimation_pressure_pa(celsius + d + 273.15)) for d in (-0.6, 0.6)
    )
    assert below < pascal < above


def test_nist_antoine_set_is_wrong_at_room_temperature_and_is_not_ours():
    """NIST WebBook set, for 311.9-456 K only (recalled): extrapolated it reads 30 % low."""

    def extrapolated(kelvin):
        return 1e5 * 10 ** (3.36429 - 1039.159 / (kelvin - 146.589))

    assert extrapolated(293.15) / landolt_pa(293.15) == pytest.approx(0.70, abs=0.02)
    assert extrapolated(273.15) / landolt_pa(273.15) == pytest.approx(0.35, abs=0.02)
    for kelvin in (273.15, 283.15, 293.15, 303.15):
        ours = float(iodine.sublimation_pressure_pa(kelvin))
        assert ours > 1.15 * extrapolated(kelvin)


def test_constants_of_the_liquid_are_wrong_below_melting_and_are_not_ours():
    """Poling's Antoine and the VDI heat atlas's Wagner set are of the liquid, above 386.85 K."""
    from chemicals.vapor_pressure import (
        Psat_data_AntoinePoling,
        Psat_data_VDI_PPDS_3,
        Wagner,
    )

    antoine = Psat_data_AntoinePoling.loc[IODINE]
    assert antoine["Tmin"] > 386.0
    of_liquid = [10 ** (antoine["A"] - antoine["B"] / (293.15 + antoine["C"]))]
    wagner = Psat_data_VDI_PPDS_3.loc[IODINE]
    of_liquid.append(Wagner(293.15, *wagner[["Tc", "Pc", "A", "B", "C", "D"]]))
    ours = float(iodine.sublimation_pressure_pa(293.15))
    for pascal in of_liquid:
        assert 3.0 < pascal / ours < 5.5


def test_above_the_melting_point_there_are_no_crystals():
    """Melting point of the CRC Handbook's physical constants: 386.85 K."""
    from chemicals.phase_change import Tm

    melting = Tm(IODINE)
    assert melting == pytest.approx(386.85, abs=0.5)
    with pytest.raises(BadInput):
        iodine.sublimation_pressure_pa(melting + 1.0)


def test_silver_iodide_molar_volume_against_crc():
    """CRC constant solid densities: molar volume of silver iodide, two of them per iodine."""
    from chemicals.volume import rho_data_CRC_inorg_s_const

    volume = rho_data_CRC_inorg_s_const.loc["7783-96-2"]["Vm"]
    assert iodine.coat_m3_per_mol_iodine() == pytest.approx(2 * volume, rel=1e-3)


def test_molar_mass_against_the_nist_webbook():
    """NIST WebBook: 253.80894 g/mol; saturated air 4.2 g/m3 at 25 °C follows from it."""
    grams = iodine.saturated_concentration_mol_m3(298.15) * 253.80894
    assert grams == pytest.approx(4.235, abs=0.01)
