"""Conductivity, hardness and residues against standards.

Sources
-------
ASTM D1125, standard potassium chloride solutions: conductivity at 18 and 25 °C (recalled). ISO
3696:1987, table 1. Definitions of degrees of hardness (10 mg CaO, 10 mg CaCO3, one grain to the
gallon). Solubility arithmetic of chloride on silver by hand.
"""

import pytest

from argentry import trade
from argentry.needs.materials.water import water_uses
from argentry.physics.baths.water import at_25c, hardness_mg_l, residue_ug_cm2


@pytest.mark.parametrize(
    ("at_18", "at_25", "within"),
    [(97838.0, 111342.0, 0.03), (11167.0, 12856.0, 0.02), (1220.5, 1408.8, 0.01)],
)
def test_potassium_chloride_standards(at_18, at_25, within):
    assert at_25c(at_18, 18.0) == pytest.approx(at_25, rel=within)


@pytest.mark.parametrize(("mg_l", "us_cm"), [(745.5, 1408.8), (74.55, 146.9), (7455.0, 12856.0)])
def test_the_factor_for_solids_spans_potassium_chloride(mg_l, us_cm):
    fact = trade.facts("water")["tds_factor"]
    assert fact.low <= mg_l / us_cm <= fact.high


@pytest.mark.parametrize(
    ("unit", "mg_l"),
    [("dH", 17.85), ("fH", 10.0), ("eH", 14.25), ("gpg", 17.12), ("mmol/L", 100.09)],
)
def test_degrees_of_hardness(unit, mg_l):
    assert hardness_mg_l(1.0, unit) == pytest.approx(mg_l, abs=0.01)


def test_the_last_rinse_is_grade_three():
    last = next(use for use in water_uses() if use.key == "last_rinse")
    assert (last.conductivity, last.ph_low, last.ph_high) == (5.0, 5.0, 7.5)
    # its residue on evaporation is 2 mg/kg at most: a hundredth of a microgram on a cm2
    assert residue_ug_cm2(2.0, 50.0) == pytest.approx(0.01)
