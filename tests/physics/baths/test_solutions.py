"""Thinning spirit, mixing and cooling, by balances of mass and heat."""

import pytest

from argentry.physics.baths.solutions import cooling_k, mixed_temperature_c, thin_spirit


@pytest.mark.parametrize("volume", [100.0, 750.0])
def test_thinned_spirit_weighs_what_went_into_it(volume):
    """Densities of OIML R 22 at 20 °C: water 998.20, 50 % 930.14, 95 % 811.38 kg/m3."""
    spirit_ml, water_ml = thin_spirit(95.0, 50.0, volume)
    assert spirit_ml == pytest.approx(volume * 50.0 / 95.0)
    weight = 998.20 * water_ml + 811.38 * spirit_ml
    assert weight == pytest.approx(930.14 * volume, rel=2e-5)


@pytest.mark.parametrize(("grams", "water_ml"), [(0.0, 500.0), (150.0, 850.0), (400.0, 600.0)])
def test_hypo_cools_its_bath_by_its_heat_of_solution(grams, water_ml):
    """47 kJ/mol of 248.18 g, out of water and salt that hold 4.18 J/(g K)."""
    by_hand = 47_000.0 * grams / 248.18 / (4.18 * (grams + water_ml))
    assert cooling_k("Na2S2O3.5H2O", grams, water_ml) == pytest.approx(by_hand, rel=1e-4)


def test_a_salt_of_unknown_heat_cools_nothing_in_every_bath():
    assert cooling_k("NaCl", [10.0, 20.0], [[100.0], [200.0]]).tolist() == [[0.0, 0.0], [0.0, 0.0]]


def test_what_is_poured_together_shares_its_heat():
    assert mixed_temperature_c([100.0, 300.0], [60.0, 20.0]) == pytest.approx(30.0)
