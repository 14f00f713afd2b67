"""Molar masses and contents of salts against another library and printed tables.

Sources
-------
Package `chemicals`, from IUPAC atomic weights. Printed masses: CRC Handbook of Chemistry and
Physics, section 4, physical constants of inorganic compounds (recalled); suppliers' data sheets
of gold salts (HAuCl4.3H2O 393.83).
"""

import pytest
from chemicals.elements import molecular_weight, simple_formula_parser

from argentry.trade.chemistry.substances import (
    atoms,
    families,
    in_place_of,
    mass_share,
    molar_mass_g_mol,
)

FORMS = sorted({form for family in families() for form in family.forms} | {"I2", "SO2", "C3H6O"})


@pytest.mark.parametrize("formula", FORMS)
def test_against_the_other_library(formula):
    flat = "".join(f"{element}{count}" for element, count in atoms(formula).items())
    assert molar_mass_g_mol(formula) == pytest.approx(
        molecular_weight(simple_formula_parser(flat)), rel=2e-4
    )


@pytest.mark.parametrize(
    ("formula", "printed"),
    [
        ("AgNO3", 169.873), ("AgCl", 143.321), ("AgI", 234.773), ("Na2S2O3.5H2O", 248.184),
        ("Na2S2O3", 158.108), ("Na2SO3", 126.043), ("Na2SO3.7H2O", 252.150),
        ("Na2CO3", 105.989), ("Na2CO3.10H2O", 286.142), ("HAuCl4.3H2O", 393.83),
        ("AuCl3", 303.326), ("H2O", 18.015), ("Al2O3", 101.961), ("C2H5OH", 46.068),
        ("I2", 253.809), ("SO2", 64.064), ("C3H6O", 58.079),
    ],
)  # fmt: skip
def test_against_printed_masses(formula, printed):
    assert molar_mass_g_mol(formula) == pytest.approx(printed, rel=2e-4)


@pytest.mark.parametrize(
    ("formula", "element", "share"),
    [
        ("AgNO3", "Ag", 0.6350), ("AgI", "Ag", 0.45946), ("AgCl", "Ag", 0.7526),
        ("HAuCl4.3H2O", "Au", 0.5001), ("HAuCl4.4H2O", "Au", 0.4783), ("AuCl3", "Au", 0.6494),
        ("NaAuCl4.2H2O", "Au", 0.4951), ("KAuCl4", "Au", 0.5213),
        ("Na3Au(S2O3)2.2H2O", "Au", 0.3743),
    ],
)  # fmt: skip
def test_against_printed_contents(formula, element, share):
    assert mass_share(formula, element) == pytest.approx(share, abs=1e-4)


def test_photographers_factor_for_anhydrous_hypo():
    # 1.57 parts of crystals for one of anhydrous: printed with every fixing formula
    assert in_place_of("Na2S2O3", 1.0, "Na2S2O3.5H2O") == pytest.approx(1.570, abs=1e-3)
    assert in_place_of("Na2CO3", 1.0, "Na2CO3.10H2O") == pytest.approx(2.70, abs=0.01)
