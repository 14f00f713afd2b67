"""Spirit and water against alcohol tables.

Sources
-------
CRC Handbook of Chemistry and Physics, section 8, density of aqueous ethanol by mass at 20 °C
(recalled). Gay-Lussac's table of 1824 as pharmacopoeias print it: water for 100 volumes of
spirit, at 15 °C (recalled).
"""

import pytest

from argentry.physics.baths.solutions import spirit_density_kg_m3, thin_spirit

ETHANOL = 789.24  # kg/m3, 20 °C


@pytest.mark.parametrize(
    ("mass_pct", "density"),
    [
        (10.0, 981.87), (20.0, 968.64), (30.0, 953.82), (40.0, 935.18), (50.0, 913.84),
        (60.0, 891.13), (70.0, 867.66), (80.0, 843.44), (90.0, 817.97), (96.0, 801.38),
    ],
)  # fmt: skip
def test_densities_by_mass(mass_pct, density):
    by_volume = mass_pct * density / ETHANOL
    assert spirit_density_kg_m3(by_volume) == pytest.approx(density, abs=0.8)


@pytest.mark.parametrize(
    ("have", "wanted", "water"),
    [
        (95.0, 90.0, 6.41), (95.0, 80.0, 20.95), (95.0, 70.0, 39.18), (95.0, 60.0, 63.04),
        (95.0, 50.0, 95.89), (90.0, 80.0, 13.79), (90.0, 70.0, 31.05), (90.0, 60.0, 53.65),
        (90.0, 50.0, 84.71),
    ],
)  # fmt: skip
def test_water_for_a_hundred_volumes(have, wanted, water):
    spirit_ml, water_ml = thin_spirit(have, wanted, 100.0)
    assert 100.0 * water_ml / spirit_ml == pytest.approx(water, abs=0.45)


def test_fifty_and_fifty_make_ninety_six():
    # 50 mL of ethanol and 50 mL of water at 20 °C make about 96.5 mL (textbooks)
    spirit_ml, water_ml = thin_spirit(100.0, 51.8, 100.0)
    assert spirit_ml == pytest.approx(water_ml, rel=0.01)
    assert spirit_ml + water_ml == pytest.approx(100.0 / 0.965, rel=3e-3)
