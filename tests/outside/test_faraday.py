"""Silver by current against published worked examples and tables.

Sources
-------
OpenStax, Chemistry 2e, section 17.7, example on silver: 10.23 A for one hour, 41.16 g. H. C.
Verma, Concepts of Physics, chapter on chemical effects of current: a plate of 200 cm2 on each
side, 0.10 mm of silver at 15 A, 42 min. The international ampere of 1908: 1.118 mg of silver in a
second. Surface finishers' tables (table of electrochemical equivalents): 4.026 g/Ah and 0.639 um
for an A min/dm2; 5 and 10 A/ft2 give 0.0008 and 0.0016 inch in an hour.
"""

import pytest

from argentry.physics.baths.plating import layer_g, layer_um, minutes_for, silver_g

AMPERE_PER_SQUARE_FOOT = 1.0 / 9.290304  # A/dm2
INCH_UM = 25400.0


def test_openstax_silver_cathode():
    assert silver_g(10.23, 60.0, 1.0) == pytest.approx(41.16, rel=5e-4)


def test_verma_both_sides():
    # he takes 10.5 g/cm3
    seconds = float(minutes_for(100.0, 400.0, 15.0, 1.0)) * 60.0
    assert seconds * 10.5 / 10.49 == pytest.approx(2504.0, rel=1e-3)
    assert seconds / 60.0 == pytest.approx(42.0, abs=0.5)


def test_the_old_international_ampere():
    assert silver_g(1.0, 1.0 / 60.0, 1.0) * 1000.0 == pytest.approx(1.118, abs=1e-4)


def test_grams_for_an_ampere_hour():
    assert silver_g(1.0, 60.0, 1.0) == pytest.approx(4.026, rel=5e-4)


def test_micrometres_for_an_ampere_minute_on_a_square_decimetre():
    assert layer_um(silver_g(1.0, 1.0, 1.0), 100.0) == pytest.approx(0.639, abs=1e-3)


@pytest.mark.parametrize(("asf", "inch"), [(5.0, 0.0008), (10.0, 0.0016)])
def test_inches_in_an_hour(asf, inch):
    layer = layer_um(silver_g(asf * AMPERE_PER_SQUARE_FOOT, 60.0, 1.0), 100.0)
    assert layer == pytest.approx(inch * INCH_UM, rel=0.02)


@pytest.mark.parametrize(
    ("area", "grams"), [(356.5, 3.74), (150.8, 1.58), (89.1, 0.935), (57.7, 0.605), (14.4, 0.151)]
)
def test_silver_on_the_trades_plates_at_ten_micrometres(area, grams):
    assert layer_g(10.0, area) == pytest.approx(area * 1e-3 * 10.49)
    assert layer_g(10.0, area) == pytest.approx(grams, rel=5e-3)


def test_efficiency_multiplies_and_does_not_divide():
    # nickel example on the web divides by it; 95 % of the current puts on 95 % of the metal
    assert silver_g(1.0, 60.0, 0.95) == pytest.approx(0.95 * float(silver_g(1.0, 60.0, 1.0)))
